"""The house: rooms import downwards only, and no command loads what it doesn't need."""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from collections.abc import Set
from datetime import UTC, datetime
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

from drillbox.memory.learning import UNLEARNT, learn
from drillbox.store.card_rows import candidates
from drillbox.store.log import latest_firsts
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


def imports_in(source: str, modules: Set[str]) -> set[str]:
    """Return those of the modules that a text imports anywhere, within functions too."""
    found = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Import):
            found |= {each.name for each in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.module
            assert not node.level, "imports are absolute, so that circles show"
            named = {f"{node.module}.{each.name}" for each in node.names}
            found |= named & modules | ({node.module} if named - modules else set())
    return found & modules


def circle_among(sources: dict[str, str]) -> list[str]:
    """Return the modules along an import circle, given the text of each; none where all is well."""
    needs = {name: imports_in(text, sources.keys()) - {name} for name, text in sources.items()}
    try:
        TopologicalSorter(needs).prepare()
    except CycleError as problem:
        return list(problem.args[1])
    return []


def test_no_modules_import_each_other_in_a_circle():
    """Imports inside functions and for the type checker count too: each hides a circle."""
    modules = (ROOT / "drillbox").rglob("*.py")
    dotted = {".".join(each.relative_to(ROOT).with_suffix("").parts): each for each in modules}
    names = {name.removesuffix(".__init__"): each for name, each in dotted.items()}
    assert len(names) > 100
    assert circle_among({name: each.read_text("utf-8") for name, each in names.items()}) == []


def test_a_circle_is_found_though_an_import_is_deferred():
    """Three modules lead round, one of them by an import within a function."""
    deferred = "def late():\n    from room import first\n"
    sources = {
        "room.first": "import room.second",
        "room.second": "from room.third import late",
        "room.third": deferred,
        "room.fourth": "import room.first",
    }
    assert {"room.first", "room.second", "room.third"} == set(circle_among(sources))
    assert circle_among(sources | {"room.third": ""}) == []


def modules_after(place: Path, *lines: str) -> list[set[str]]:
    """Run commands in a process of their own; return the top-level modules loaded after each."""
    code = (
        "import io, json, sys; from drillbox.cli import run\n"
        "for line in sys.argv[2:]:\n"
        "    sys.stdin = io.StringIO('c\\n')\n"
        "    code = run(['--store', sys.argv[1], *line.split()])\n"
        "    print('\\n@' + json.dumps([code, sorted({m.split('.')[0] for m in sys.modules})]))\n"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code, place, *lines], capture_output=True, text=True, check=True
    )
    told = [json.loads(line[1:]) for line in ran.stdout.splitlines() if line.startswith("@")]
    assert [exit_code for exit_code, _ in told] == [0] * len(lines), ran.stderr
    return [set(modules) for _, modules in told]


def test_a_command_loads_no_more_than_it_needs(kettle, place: Path):
    """``sys.modules`` of a real process shows what a player would wait for.

    It runs one after the other, those that may load less before those that may load more.
    """
    absent = {
        "--help": {"sqlmodel", "sqlalchemy", "rich", "numpy", "fsrs", "music21", "alembic"},
        "phrases": {"music21", "alembic", "matplotlib", "numpy", "fsrs"},
        "round 1 --all": {"music21", "alembic", "matplotlib", "numpy", "mido"},
        "drill": {"music21", "alembic", "matplotlib", "numpy"},
    }
    loaded = modules_after(place, *absent)
    found = {line: sorted(each & absent[line]) for line, each in zip(absent, loaded, strict=True)}
    assert found == {line: [] for line in absent}


def test_a_drill_with_much_to_learn_from_loads_no_numpy(kettle, drillbox, place: Path):
    """The fit before the first screen must take less time than numpy takes to load."""
    for day in (2, 4, 6):
        drillbox("drill", keys="fluent\n" * 60, now=f"2026-03-0{day}T18:00:00Z")
    with open_store(place, now=datetime(2026, 3, 7, tzinfo=UTC), backups=False) as store:
        assert learn(latest_firsts(store, 100), candidates(store)) is not UNLEARNT
    (loaded,) = modules_after(place, "drill")
    assert "numpy" not in loaded


def test_the_top_level_is_what_the_owner_fixed():
    """Nothing but the fixed names, and dotfiles, stands at the top of the repository."""
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    if listed.returncode:
        pytest.skip("not a git checkout")
    top = {line.split("/")[0] for line in listed.stdout.splitlines()}
    assert {name for name in top if not name.startswith(".")} <= TOP
