"""The command line: all commands for help, and what is asked for alone where that is plain."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from drillbox.cli import MODULES, build
from tests.conftest import Ran

SHOWS_MODULES = """
import sys
from drillbox.cli import run
run(sys.argv[1:])
print(*sorted(each for each in sys.modules if each.startswith("drillbox.cli.commands.")))
"""


@pytest.mark.parametrize("module", MODULES)
def test_each_module_has_the_commands_that_it_is_listed_with(module: str) -> None:
    """What a module registers is what leads to it."""
    assert tuple(build((module,)).commands) == MODULES[module]


def test_help_has_them_all() -> None:
    """Whole, the command line has each command once."""
    assert sorted(build().commands) == sorted(sum(MODULES.values(), ()))


@pytest.mark.parametrize(
    ("words", "modules"),
    [
        (["phrases"], ["phrases"]),
        (["--plain", "--ascii", "show", "1"], ["phrases"]),
        (["--store", "drill", "settings"], ["settings"]),
        (["--demo", "fit", "--help"], ["fit"]),
    ],
)
def test_a_command_loads_no_other(words: list[str], modules: list[str], tmp_path: Path) -> None:
    """A module of another command isn't loaded; a store's path is no command."""
    found = subprocess.run(
        [sys.executable, "-c", SHOWS_MODULES, *words],
        capture_output=True, text=True, check=True, cwd=tmp_path,
    )  # fmt: skip
    assert found.stdout.splitlines()[-1].split() == [
        f"drillbox.cli.commands.{each}" for each in modules
    ]


@pytest.mark.parametrize("words", [["--help"], ["--help", "drill"], ["dril"], []])
def test_help_and_slips_know_every_command(words: list[str], drillbox: Callable[..., Ran]) -> None:
    """Help names them all, and a slip is told what it may have been."""
    found = drillbox(*words)
    told = found.out + found.err
    assert "drill" in told
    assert ("  gig " in told) is (words != ["dril"])
    assert found.code == (2 if words == ["dril"] else 0)
