"""The command line: all commands for help, and what is asked for alone where that is plain."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from drillbox.cli import MODULES, build
from tests.conftest import Ran, copied
from tests.rows import every_row

SHOWS_MODULES = """
import sys
from drillbox.cli import run
for line in sys.argv[1:]:
    before = set(sys.modules)
    run(line.split())
    new = sys.modules.keys() - before
    print("loaded", *sorted(each for each in new if each.startswith("drillbox.cli.commands.")))
"""


@every_row("module", MODULES)
def test_each_module_has_the_commands_that_it_is_listed_with(module: str) -> None:
    """What a module registers is what leads to it."""
    assert tuple(build((module,)).commands) == MODULES[module]


def test_help_has_them_all() -> None:
    """Whole, the command line has each command once."""
    assert sorted(build().commands) == sorted(sum(MODULES.values(), ()))


def test_a_command_loads_no_other(made: Path, tmp_path: Path, monkeypatch) -> None:
    """Of a command's modules only its own is new; a store's path is no command."""
    monkeypatch.setenv("DRILLBOX_STORE", str(copied(made, tmp_path / "drill")))
    loaded = {
        "phrases": ["phrases"],
        "--plain --ascii show 1": [],  # of the same module
        "--store drill settings": ["settings"],
        "--demo fit --help": ["fit"],
    }
    found = subprocess.run(
        [sys.executable, "-c", SHOWS_MODULES, *loaded],
        capture_output=True, text=True, check=True, cwd=tmp_path,
    )  # fmt: skip
    told = [line.split()[1:] for line in found.stdout.splitlines() if line.startswith("loaded")]
    assert told == [
        [f"drillbox.cli.commands.{each}" for each in modules] for modules in loaded.values()
    ]


def helped(words: list[str], drillbox: Callable[..., Ran], columns: str) -> list[str]:
    """Return the lines of a command's help on a terminal of so many columns."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("COLUMNS", columns)
        return drillbox(*words, "--help").out.splitlines()


def pieces(lines: list[str]) -> list[str]:
    """Return the words and parts of hyphenated words in lines, sorted."""
    return sorted(filter(None, re.split(r"\s+|(?<=-)", "\n".join(lines))))


EVERY = [[]] + [[name] for name in sum(MODULES.values(), ())]
ALL = EVERY + [
    [name, each]
    for name, command in build().commands.items()
    for each in getattr(command, "commands", ())
]


@pytest.mark.parametrize("words", [*EVERY, ["tune", "add"], ["store", "export"]])
@pytest.mark.parametrize("columns", ["40", "80"])
def test_help_fits_and_breaks_no_word(
    drillbox: Callable[..., Ran], words: list[str], columns: str
) -> None:
    """Its words are those of the widest terminal, broken at hyphens at most."""
    lines = helped(words, drillbox, columns)
    assert max(map(len, lines)) < int(columns)
    assert not [line for line in lines if re.search(r"[a-z]\.\.\.$", line)]
    wide = helped(words, drillbox, "200")
    assert pieces(lines) == pieces(wide)


@pytest.mark.parametrize("words", ALL)
def test_help_has_no_words_of_a_programming_language(
    drillbox: Callable[..., Ran], words: list[str]
) -> None:
    """No types and comparisons; what has to be given stands in capitals, without brackets."""
    told = "\n".join(helped(words, drillbox, "80"))
    assert not re.search(r"<(str|int|float|path|list|file)|<=|>=|[{}]", told)
    assert not re.search(r"^  [a-z_]+  ", told.partition("Commands:")[0], re.MULTILINE)


def test_help_says_ranges_and_defaults_in_words(drillbox: Callable[..., Ran]) -> None:
    """As a player would read them out."""
    assert "see 'settings'. (1 to 240)" in "\n".join(helped(["drill"], drillbox, "80"))
    assert "(default: 14; 1 to 366)" in "\n".join(helped(["upcoming"], drillbox, "80"))
    assert "tune). (1 or more)" in "\n".join(helped(["loop"], drillbox, "80"))
    assert "Usage: drillbox show [OPTIONS] PHRASE" in helped(["show"], drillbox, "80")


def test_every_command_is_told_in_a_line_on_eighty_columns(drillbox: Callable[..., Ran]) -> None:
    """Its first sentence has room beside its name."""
    lines = helped([], drillbox, "80")
    assert len(lines[lines.index("Commands:") + 1 :]) == len(EVERY) - 1


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["loop", "1"], "Missing option '--out'. Add it; see: drillbox loop --help"),
        (["show"], "Missing argument 'PHRASE'. Add it; see: drillbox show --help"),
        (["add", "--foo"], "No such option: --foo. See: drillbox add --help"),
        (["dril"], "No such command 'dril'. Did you mean 'drill'? See: drillbox --help"),
        (["tune", "x"], "No such command 'x'. See: drillbox tune --help"),
        (["drill", "--key"], "--key needs a value after it. See: drillbox drill --help"),
        (["gig", "add", "--date"], "--date needs a value after it. See: drillbox gig add --help"),
        (["--store"], "--store needs a value after it. See: drillbox --help"),
        (["drill", "--weak=3"], "--weak takes no value. See: drillbox drill --help"),
        (["drill", "--minutes", "x"], "--minutes must be a whole number from 1 to 240. See: "),
        (["drill", "--minutes", "0"], "--minutes must be a whole number from 1 to 240. See: "),
        (["loop", "1", "--loops", "0"], "--loops must be a whole number, 1 or more. See: "),
        (["listen", "--start", "x"], "--start must be a number. See: drillbox listen --help"),
        (["fit", "Corner shop"], "'Corner shop' is too much here. See: drillbox fit --help"),
        (["show", "late", "kettle"], "'kettle' is too much here; put quotes around words that"),
        (
            ["add", "--titl", "x"],
            "No such option: --titl (Possible options: --details, --title). See: ",
        ),
    ],
)
def test_a_line_that_cant_be_read_is_told_in_one(
    drillbox: Callable[..., Ran], words: list[str], said: str
) -> None:
    """As every other refusal: what is wrong, then what to do."""
    ran = drillbox(*words)
    assert (ran.code, ran.out, ran.err.count("\n")) == (2, "", 1)
    assert ran.err.startswith(f"drillbox: {said}")
    assert ran.err.endswith(" --help\n")


@pytest.mark.parametrize("words", [["--help"], ["--help", "drill"], ["dril"], []])
def test_help_and_slips_know_every_command(words: list[str], drillbox: Callable[..., Ran]) -> None:
    """Help names them all, and a slip is told what it may have been."""
    found = drillbox(*words)
    told = found.out + found.err
    assert "drill" in told
    assert ("  gig " in told) is (words != ["dril"])
    assert found.code == (2 if words == ["dril"] else 0)
