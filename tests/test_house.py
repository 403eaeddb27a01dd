"""The house: rooms import downwards only, and no command loads what it doesn't need."""

from __future__ import annotations

import json
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest

from drillbox.memory.learning import UNLEARNT, learn
from drillbox.store.attempts import latest_firsts
from drillbox.store.cards import candidates
from drillbox.store.opening import open_store

ROOT = Path(__file__).parent.parent
TOP = {"README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE", "drillbox", "tests",
       "migrations", "seeds_demo"}  # fmt: skip


def test_the_import_contracts_hold():
    """Every contract in pyproject.toml is kept; importlinter reads them."""
    ran = subprocess.run(
        [sys.executable, "-c", "from importlinter.cli import lint_imports_command as c; c()",
         "--no-cache"],
        cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert "0 broken" in ran.stdout


def modules_after(place: Path, *arguments: str) -> set[str]:
    """Run a command in a process of its own and return the top-level modules that it loaded."""
    words = ["--store", str(place), *arguments]
    code = (
        "import sys, json; from drillbox.cli import run; code = run(json.loads(sys.argv[1]));"
        "print('\\n@' + json.dumps([code, sorted({m.split('.')[0] for m in sys.modules})]))"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code, json.dumps(words)],
        input="c\n", capture_output=True, text=True, check=True,
    )  # fmt: skip
    exit_code, modules = json.loads(ran.stdout.rsplit("@", 1)[1])
    assert exit_code == 0, ran.stderr
    return set(modules)


@pytest.mark.parametrize(
    ("command", "absent"),
    [
        (["--help"], {"sqlmodel", "sqlalchemy", "music21", "rich", "numpy", "fsrs", "alembic"}),
        (["drill"], {"music21", "alembic", "matplotlib", "numpy"}),
        (["round", "1", "--all"], {"music21", "alembic", "matplotlib", "numpy", "mido"}),
        (["summary"], {"music21", "alembic", "matplotlib"}),
        (["phrases"], {"music21", "alembic", "matplotlib", "numpy", "fsrs"}),
    ],
)
def test_a_command_loads_no_more_than_it_needs(kettle, place: Path, command, absent):
    """``sys.modules`` of a real process shows what a player would wait for."""
    assert not modules_after(place, *command) & absent


def test_a_drill_with_much_to_learn_from_loads_no_numpy(kettle, drillbox, place: Path):
    """The fit before the first screen must take less time than numpy takes to load."""
    for day in (2, 4, 6):
        drillbox("drill", keys="clean\n" * 12, now=f"2026-03-0{day}T18:00:00Z")
    with open_store(place, now=datetime(2026, 3, 7, tzinfo=UTC), backups=False) as store:
        assert learn(latest_firsts(store, 100), candidates(store)) is not UNLEARNT
    assert not modules_after(place, "drill") & {"numpy"}


def test_the_top_level_is_what_the_owner_fixed():
    """Nothing but the fixed names, and dotfiles, stands at the top of the repository."""
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    if listed.returncode:
        pytest.skip("not a git checkout")
    top = {line.split("/")[0] for line in listed.stdout.splitlines()}
    assert {name for name in top if not name.startswith(".")} <= TOP
