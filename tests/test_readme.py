"""The README is complete: every command and option that there is stands in it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from typer.main import get_command

from drillbox.cli.app import build
from drillbox.errors import ExitCode

README = (Path(__file__).parent.parent / "README.md").read_text(encoding="utf-8")


def commands() -> dict[str, list[str]]:
    """Return every command's full name with its options, read from the application itself."""
    found: dict[str, list[str]] = {}

    def visit(command, name: str) -> None:
        options = [opt for p in command.params for opt in p.opts if opt.startswith("--")]
        found[name] = [option for option in options if option != "--help"]
        for child_name, child in getattr(command, "commands", {}).items():
            visit(child, f"{name} {child_name}")

    visit(get_command(build()), "drillbox")
    return found


@pytest.mark.parametrize(("name", "options"), commands().items())
def test_every_command_and_option_is_documented(name: str, options: list[str]):
    """A command that the README doesn't name is one that a newcomer never finds."""
    assert f"`{name}" in README or f"\n{name}" in README
    missing = [option for option in options if not re.search(rf"{option}\b", README)]
    assert not missing


@pytest.mark.parametrize(("name", "options"), commands().items())
def test_every_command_has_help(name: str, options: list[str]):
    """Each says in a sentence what it does."""
    command = get_command(build())
    for word in name.split()[1:]:
        command = command.commands[word]
    assert (command.help or "").strip().endswith(".")


def test_the_exit_codes_stand_in_the_readme():
    """Scripts rely on them."""
    for code in ExitCode:
        assert f"| {int(code)} |" in README
