"""The documents are true: the README short and complete, and all that they name is there."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from drillbox.cli import build
from drillbox.errors import ExitCode
from drillbox.memory.rules import SETTINGS
from drillbox.player.controls import CONTROLS
from drillbox.practice.settings import OWN
from tests.rows import every_row

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
MOST_WORDS = 2500


def commands() -> dict[str, set[str]]:
    """Return every command's full name with its options, read from the application itself."""
    found: dict[str, set[str]] = {}

    def visit(command, name: str) -> None:
        params = [param for param in command.params if getattr(param, "opts", None)]
        names = {opt for param in params for opt in (*param.opts, *param.secondary_opts)}
        found[name] = {opt for opt in names if opt.startswith("--")} | {"--help"}
        for child_name, child in getattr(command, "commands", {}).items():
            visit(child, f"{name} {child_name}")

    visit(build(), "drillbox")
    return found


COMMANDS = commands()


def options_named(text: str) -> list[tuple[str, str]]:
    """Return each option that a README names, with the command that it is said to be of.

    In code that begins with ``drillbox`` that is the command named there; an option alone is
    one of the section's command, or of ``drillbox`` itself outside of such a section.
    """
    found = []
    for section in re.split(r"^##", text, flags=re.MULTILINE):
        heading = re.match(r"# `(drillbox \w+)`", section)
        own = heading.group(1) if heading else "drillbox"
        for code in re.findall(r"`([^`\n]+)`|^((?:\$ )?drillbox .+)$", section, re.MULTILINE):
            said = re.sub(r"\s#\s.*|\"[^\"]*\"", "", "".join(code).removeprefix("$ "))
            of = command_in(said) if "drillbox " in said else own
            found += [(of, option) for option in re.findall(r"(?<!\S)--[a-z][a-z-]*", said)]
    return found


def command_in(code: str) -> str:
    """Return the longest full name of a command that code runs; its options may stand between."""
    words = ["drillbox"]
    for word in code.split("drillbox ", 1)[1].split():
        if " ".join([*words, word]) in COMMANDS:
            words.append(word)
        elif not word.startswith("--"):
            break
    return " ".join(words)


def exists(command: str, option: str) -> bool:
    """Return whether a command, one below it or ``drillbox`` itself takes an option."""
    takers = [name for name in COMMANDS if name == command or name.startswith(f"{command} ")]
    return any(option in COMMANDS[name] for name in (*takers, "drillbox"))


def test_the_readme_is_short():
    """A player reads it in ten minutes; all else stands in each command's help."""
    assert len(README.split()) <= MOST_WORDS


@every_row("name", [name for name in COMMANDS if name != "drillbox"])
def test_every_command_is_documented(name: str):
    """A command that the README doesn't name is one that a newcomer never finds."""
    if name.count(" ") == 1:
        assert f"\n### `{name}`\n" in README
    else:
        assert re.search(rf"`{name}\b", README)


def test_every_option_named_is_in_the_help_of_its_command():
    """What the README tells a player to type works; the command's help lists the rest."""
    named = options_named(README)
    assert len(named) > 50
    assert [each for each in named if not exists(*each)] == []


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("`--demo`", [("drillbox", "--demo")]),
        ("### `drillbox drill`\n`--weak`", [("drillbox drill", "--weak")]),
        ("### `drillbox drill`\n`drillbox loop X --out F`", [("drillbox loop", "--out")]),
        ("$ drillbox --demo tune add --form AABA\n", [("drillbox tune add", "--demo"),
                                                      ("drillbox tune add", "--form")]),
        ("### `drillbox edit`\n## Last\n`--goal 3`", [("drillbox", "--goal")]),
    ],
)  # fmt: skip
def test_options_are_found_with_their_commands(text: str, named: list[tuple[str, str]]):
    """The check above sees options in lists, in text and in what is shown to be typed."""
    assert options_named(text) == named


def test_an_option_of_another_command_is_noticed():
    """Weak keys are drilled, not looped: the check above would say so."""
    assert exists("drillbox drill", "--weak")
    assert not exists("drillbox loop", "--weak")
    assert exists("drillbox tune", "--form")


@every_row("name", COMMANDS)
def test_every_command_has_help(name: str):
    """Each says in a sentence what it does."""
    command = build()
    for word in name.split()[1:]:
        command = command.commands[word]
    assert (command.help or "").strip().endswith(".")


def test_the_first_example_prints_what_the_readme_says(tmp_path: Path):
    """A newcomer who types it sees the same; an ellipsis stands for lines left out."""
    block = README.split("\n$ drillbox add ")[1].split("\n```")[0]
    command, *shown = block.splitlines()
    options = re.findall(r'"([^"]*)"|(\S+)', command)
    ran = subprocess.run(
        [sys.executable, "-m", "drillbox", "add", *("".join(option) for option in options)],
        env=os.environ | {"DRILLBOX_STORE": str(tmp_path / "x.sqlite3"), "PYTHONUTF8": "1"},
        capture_output=True, encoding="utf-8", check=True,
    )  # fmt: skip
    printed = iter(ran.stdout.splitlines())
    assert [line for line in shown if line != "…" and line not in printed] == []
    assert len(shown) > 5


def test_the_presses_named_are_those_of_the_drill():
    """Its table lists the controls that there are, and no other."""
    table = README.split("| press | what it does |\n|---|---|\n")[1].split("\n\n")[0]
    cells = [line.split("|")[1] for line in table.splitlines()]
    named = {word.strip("`,").lower() for cell in cells for word in cell.split()} - {"ctrl-c"}
    while_listening = {"accept", "replay", "heard"}
    assert named == {each.shown for each in CONTROLS if each.action not in while_listening}


def test_settings_named_are_there():
    """Each setting that the README shows how to change can be changed."""
    named = re.findall(r"drillbox settings ([a-z_]+)", README)
    named += re.findall(r"setting `([a-z_]+)`", README)
    assert named
    assert set(named) <= {each.name for each in (*SETTINGS, *OWN)}


def test_the_exit_codes_stand_in_the_readme():
    """Scripts rely on them."""
    for code in ExitCode:
        assert f"| {int(code)} |" in README


def place(named: str) -> Path | None:
    """Return the file or folder that a developer is sent to: ``memory/choose.next_go``."""
    module = re.sub(r"\.(?!py$)\w+$", ".py", named)
    places = [top / name for name in (named, module) for top in (ROOT, ROOT / "drillbox")]
    return next((each for each in places if each.exists()), None)


def test_places_named_for_developers_are_there():
    """Recipes lead to files that exist, and to what they name in them."""
    named = re.findall(r"`([\w.]+/[\w./]*)`", DEVELOPERS)
    assert len(named) > 50
    assert [each for each in named if place(each) is None] == []
    modules = [each for each in named if place(each).name != each.rpartition("/")[2] != ""]
    lost = [each for each in modules if each.rpartition(".")[2] not in place(each).read_text()]
    assert "memory/choose.next_go" in modules
    assert lost == []
    for module in re.findall(r"python -m (tests[\w.]+)", DEVELOPERS):
        path = ROOT / module.replace(".", "/")
        assert path.with_suffix(".py").exists() or (path / "__main__.py").exists(), module


def test_developers_learn_why_each_package_is_there():
    """Whoever wonders whether a dependency can go finds its reason."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    asked = [project["dependencies"], *project["optional-dependencies"].values()]
    names = {re.split(r"[\[<>=;]", each)[0] for group in asked for each in group}
    section = DEVELOPERS.split("## Dependencies, and why\n")[1].split("\n## ")[0]
    assert {name for name in names if not re.search(rf"\b{name}\b", section)} == set()
