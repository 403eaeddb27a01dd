"""Shell completion: what Tab offers, how soon, and that a real bash takes it."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from drillbox.cli import run
from drillbox.errors import ExitCode
from drillbox.practice.editing import DECLINE, TAKE
from drillbox.practice.library import SORTS
from drillbox.practice.settings import PEDALS
from drillbox.store.glance import place_of, tags_in, titles_in
from tests.conftest import NOW, copied
from tests.player.children import pexpect

DRILLBOX = Path(sys.executable).with_name("drillbox")


@pytest.fixture(scope="module")
def stock(empty: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a store with two phrases, a tag with a blank in it and a retired phrase; it is
    copied, not changed.
    """
    place = copied(empty, tmp_path_factory.mktemp("stock") / "store.sqlite3")
    phrase = ("--key", "C", "--tempo", "120", "--chart")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("DRILLBOX_NOW", NOW)
        for words in (
            *(["add", "--title", title, *phrase, "Dm7 G7 | Cmaj7 (A7)"]
              for title in ("Late kettle", "Blue stairs", "Old hat")),
            ["edit", "late", "--tag", "Friday duo"],
            ["retire", "old"],
            ["tune", "add", "--title", "Corner", *phrase, "Cmaj7 | G7"],
            ["gig", "add", "Friday", "--date", "2026-03-06", "--tunes", "1"],
        ):  # fmt: skip
            assert run(["--store", str(place), *words]) == ExitCode.OK
    return place


@pytest.fixture
def stocked(stock: Path, place: Path) -> Path:
    """Return a copy of that store for one test."""
    return copied(stock, place)


def asked(place: Path, line: str, shell: str = "bash") -> dict[str, str]:
    """Return the variables by which a shell's script asks what may come after a line."""
    words = f"drillbox {line}"
    return {
        "DRILLBOX_STORE": str(place),
        "_DRILLBOX_COMPLETE": f"complete_{shell}",
        "COMP_WORDS": words,
        "COMP_CWORD": str(len(words.replace("\\ ", "_").split(" ")) - 1),
        "_TYPER_COMPLETE_ARGS": words,
        "_TYPER_COMPLETE_FISH_ACTION": "get-args",
    }


@pytest.fixture
def proposed(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Callable:
    """Return what tells what a shell is offered after a line, in this process."""

    def by_run(place: Path, line: str, shell: str = "bash") -> list[str]:
        for name, value in asked(place, line, shell).items():
            monkeypatch.setenv(name, value)
        assert run([]) == ExitCode.OK
        told = capsys.readouterr()
        assert told.err == ""
        return [each for each in told.out.splitlines() if each]

    return by_run


def offered(place: Path, line: str, shell: str = "bash") -> list[str]:
    """Return what a shell is offered after a line by a process of its own."""
    environment = {**os.environ, **asked(place, line, shell)}
    ran = subprocess.run(
        [DRILLBOX], env=environment, capture_output=True, text=True, check=True, timeout=60
    )
    assert ran.stderr == ""
    return [line for line in ran.stdout.splitlines() if line]


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("sho", ["show"]),
        ("phrases --so", ["--sort"]),
        ("show ", ["Blue\\ stairs", "Late\\ kettle"]),
        ("show late", ["late\\ kettle"]),
        ("show Late\\ k", ["Late\\ kettle"]),
        ('show "Late', ["Late kettle"]),
        ("edit late --tag f", ["friday\\ duo"]),
        ("show late --key Eb", ["Eb", "Ebm"]),
        ("settings own_", ["own_order"]),
        ("settings backing ba", ["bass", "bass-and-chords"]),
        ("settings minutes ", []),
        ("drill --backing o", ["off"]),
        ("round late --listen mi", ["midi", "mic"]),
        ("gig show f", ["friday"]),
        ("gig edit f", ["friday"]),
        ("edit late --order semi", ["semitones-up", "semitones-down"]),
        ("phrases --sort w", ["weakest"]),
        ("show nothing", []),
        ("show ol", ["old\\ hat"]),
        ("delete Ol", ["Old\\ hat"]),
        ("edit ol", ["old\\ hat"]),
        ("loop ol", ["old\\ hat"]),
        ("drill ol", []),
        ("retire ", ["Blue\\ stairs", "Late\\ kettle"]),
        ("retire --back ", ["Old\\ hat"]),
        ("retire --back la", []),
        ("loop late --click ", ["every", "2-and-4", "bar", "off"]),
        ("edit late --turnaround ", [TAKE, DECLINE]),
        ("phrases --sort ", [*SORTS]),
        ("settings pedal sta", [f"start\\ {each}" for each in PEDALS]),
        ("settings pedal o", ["off"]),
    ],
)
def test_tab_offers_commands_options_titles_keys_tags_and_settings(
    stocked: Path, line: str, expected: list[str], proposed: Callable
) -> None:
    """Whatever its case is, and quoted where bash needs that; a retired phrase is offered where
    it can be meant and none in practice begins so.
    """
    assert proposed(stocked, line) == expected


@pytest.mark.parametrize("shell", ["zsh", "fish"])
def test_other_shells_get_the_same_titles(stocked: Path, shell: str) -> None:
    """fish quotes by itself; zsh evaluates what it is given."""
    told = (each.replace("\\ ", " ") for each in offered(stocked, "show La", shell))
    assert any("Late kettle" in each for each in told)


def test_fish_gets_each_description_behind_a_tab(stocked: Path) -> None:
    """Else it would put the description on the line with the word."""
    assert offered(stocked, "ph", "fish") == ["phrases\tList your phrases."]


HOSTILE = (
    r"Line \$(touch gone) a", "Line `touch gone` b", "Line 'c' \"c\"", "Line \\`touch gone` d",
    "Line; touch gone; e", "Line: f (g) [h] {i} * ~", "Line ends on \\",
)  # fmt: skip
AS_ZSH = r"""
_arguments() {
    action=${1#\*: :((}; action=${action%%))}
    action=$(printf '%s' "$action" | sed 's/\\:/:/g')
    eval "ws=( $action )"; printf '%s\n' "${ws[@]}"
}
eval "$(cat)"
"""


def test_a_title_is_text_to_the_shell_and_no_more(
    drillbox, stocked: Path, tmp_path: Path, proposed: Callable
) -> None:
    """What zsh is given, evaluated twice as there, are the titles; nothing in them is run.

    Nor is anything of what bash puts on the line, bare or within quotes that were begun.
    """
    given = ("--key", "C", "--tempo", "120", "--chart", "Dm7 G7 | Cmaj7 (A7)")
    for title in HOSTILE:
        assert drillbox("add", "--title", title, *given).code == ExitCode.OK
    told = "\n".join(proposed(stocked, "show Line", "zsh"))
    ran = subprocess.run(
        ["bash", "-c", AS_ZSH], input=told, capture_output=True, text=True, check=True, cwd=tmp_path
    )
    marked = {each.replace("\\", r"\\").replace(":", r"\:") for each in HOSTILE}
    assert set(ran.stdout.splitlines()) == marked
    for quote in ("", '"', "'"):
        words = (f"{quote}{each}{quote}" for each in proposed(stocked, f"show {quote}Line"))
        ran = subprocess.run(
            ["bash", "-c", "printf '%s\\n' " + " ".join(words)],
            capture_output=True, text=True, check=True, cwd=tmp_path,
        )  # fmt: skip
        assert set(ran.stdout.splitlines()) == set(HOSTILE)
    assert not (tmp_path / "gone").exists()


def test_without_a_store_nothing_is_offered_and_none_is_made(tmp_path: Path) -> None:
    """Tab leaves no file behind, and says nothing."""
    assert offered(tmp_path / "none.sqlite3", "show ") == []
    assert list(tmp_path.glob("none*")) == []


def test_a_glance_at_what_cannot_be_read_finds_nothing(blue_stairs: Path, place: Path) -> None:
    """A row of tags that is damaged, and a store in the home of nobody: no fault reaches Tab."""
    with closing(sqlite3.connect(copied(blue_stairs, place))) as raw, raw:
        raw.execute("""UPDATE phrase SET tags = '["quartet", 3'""")
    assert tags_in(place, "phrase") == []
    home = place_of("~nosuchuser/x.sqlite3")
    assert home is not None
    assert titles_in(home, "phrase") == []


def test_a_thousand_phrases_hardly_slow_tab_down(stocked: Path) -> None:
    """It takes less than twice as long as with a few: what takes time is to start at all."""
    few = least_processor(stocked, "show Late", 1)
    with closing(sqlite3.connect(stocked)) as raw:
        columns = [row[1] for row in raw.execute("PRAGMA table_info(phrase)")]
        kept = [name for name in columns if name not in {"id", "uid", "title", "folded"}]
        for number in range(1000):
            raw.execute(
                f"INSERT INTO phrase (uid, title, folded, {', '.join(kept)}) SELECT ?, ?, ?,"
                f" {', '.join(kept)} FROM phrase WHERE id = 1",
                (f"{number}", f"Line {number}", f"line {number}"),
            )
        raw.commit()
    assert least_processor(stocked, "show Line", 1000) < 2 * few


def least_processor(store: Path, words: str, offers: int) -> float:
    """Return the seconds of processor that offering so many takes, at the least of two runs."""
    spent = []
    for _ in range(2):
        before = os.times().children_user
        assert len(offered(store, words)) == offers
        spent.append(os.times().children_user - before)
    return min(spent)


def test_one_command_alone_installs_it(drillbox) -> None:
    """The library's own options, which would install a script that fits no title, aren't there."""
    assert "completion" in drillbox("--help").out
    for option in ("--install-completion", "--show-completion"):
        assert option not in drillbox("--help").out
        assert drillbox(option).code == ExitCode.USAGE


def test_installing_writes_the_script_where_the_shell_looks(drillbox, tmp_path: Path, monkeypatch):
    """For the shell that is in use, or the one that is named."""
    monkeypatch.setenv("SHELL", "/usr/bin/fish")
    ran = drillbox("completion")
    assert "Completion for fish is installed" in ran.out
    assert "drillbox" in (tmp_path / ".config/fish/completions/drillbox.fish").read_text()
    assert drillbox("completion", "zsh").code == ExitCode.OK
    script = (tmp_path / ".zfunc" / "_drillbox").read_text()
    assert script.endswith('\n_drillbox_completion "$@"\n')
    assert "complete_bash" in drillbox("completion", "bash", "--show").out


def test_an_unknown_shell_is_refused(drillbox, monkeypatch):
    """One line that names those there are."""
    monkeypatch.setenv("SHELL", "/bin/tcsh")
    ran = drillbox("completion")
    assert (ran.code, ran.err.count("\n")) == (ExitCode.BAD_INPUT, 1)
    assert "bash, zsh, fish" in ran.err


@pytest.mark.skipif(shutil.which("bash") is None, reason="there is no bash")
def test_a_real_bash_completes_a_title(drillbox, stocked: Path, tmp_path: Path):
    """Installed by the one command, Tab puts the title in, its blank escaped."""
    assert drillbox("completion", "bash").code == ExitCode.OK
    environment = {
        **os.environ,
        "DRILLBOX_STORE": str(stocked),
        "PATH": f"{DRILLBOX.parent}:{os.environ['PATH']}",
    }
    child = pexpect.spawn(
        "bash", ["--rcfile", str(tmp_path / ".bashrc"), "-i"], env=environment, encoding="utf-8",
        timeout=20,
    )  # fmt: skip
    child.send("PS1='ready'\r")
    child.expect("ready'.*ready")
    child.send("drillbox show La\t")
    child.expect(r"Late\\ kettle ")
    child.close(force=True)
