"""How many small faults the tests notice: the code is changed by hand's breadth, one at a time.

Run: ``nice python -m tests.bench.mutations --changes 20 --seed 1``. Each change is made in a copy
of the tree under the temporary folder, in a room drawn in turn (all but ``screen/``, which golden
screens hold); then the test files of that room run until one fails, those first that name the
module most, those last that start servers or many processes. With ``--near 4`` only the first four
of them: minutes rather than hours, and a count that is too low rather than too high. A test that
fails without the change as well tells nothing and isn't counted. What wasn't noticed is printed,
to be judged by hand: some changes alter nothing that anybody could see.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).parents[2]
ROOMS = ("cli", "player", "terminal", "practice", "store", "notation", "sound", "hearing",
         "memory", "music")  # fmt: skip
HEAVY = re.compile(r"pexpect|tests\.store\.serving|killing|hardship")
"""What test files name that start servers or many processes: they come last."""
LIMIT = 1800  # seconds for a room's tests; a change that makes one of them endless is noticed
TURNED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq, ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
SWAPPED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.FloorDiv, ast.FloorDiv: ast.Mult,
    ast.Div: ast.Mult, ast.Mod: ast.FloorDiv,
}  # fmt: skip


class Change(NamedTuple):
    """One change: in which file and line, which text is replaced by which, and where."""

    path: Path
    line: int
    start: int
    end: int
    before: str
    after: str

    def __str__(self) -> str:
        return f"{self.path}:{self.line}: {self.before}  ->  {self.after}"

    def applied(self, data: bytes) -> bytes:
        """Return the file's bytes with the change made."""
        return data[: self.start] + self.after.encode() + data[self.end :]


def changes_in(path: Path, data: bytes) -> list[Change]:
    """Return every change that can be made in a module."""
    lines = [0]
    for text in data.splitlines(keepends=True):
        lines.append(lines[-1] + len(text))
    found = []
    for node, after in _changed(ast.parse(data)):
        start = lines[node.lineno - 1] + node.col_offset
        assert node.end_lineno is not None
        assert node.end_col_offset is not None
        end = lines[node.end_lineno - 1] + node.end_col_offset
        before = data[start:end].decode()
        found.append(Change(path, node.lineno, start, end, before, after))
    return found


def _changed(tree: ast.AST) -> Iterator[tuple[ast.expr | ast.stmt, str]]:
    """Give each expression or statement of a tree that can be changed, and what it becomes."""
    for node in _walked(tree):
        match node:
            case ast.Compare(left, [operator, *more], others) if type(operator) in TURNED:
                turned = ast.Compare(left, [TURNED[type(operator)](), *more], others)
                yield node, f"({ast.unparse(turned)})"
            case ast.BoolOp(operator, values):
                other = ast.Or() if isinstance(operator, ast.And) else ast.And()
                yield node, f"({ast.unparse(ast.BoolOp(other, values))})"
            case ast.BinOp(left, operator, right) if type(operator) in SWAPPED:
                swapped = ast.BinOp(left, SWAPPED[type(operator)](), right)
                yield node, f"({ast.unparse(swapped)})"
            case ast.UnaryOp(ast.Not(), operand):
                yield node, f"({ast.unparse(operand)})"
            case ast.Expr(ast.Call()):
                yield node, "pass"
            case ast.Constant(bool(value)):
                yield node, str(not value)
            case ast.Constant(int(value) | float(value)):
                yield node, f"({value + 1})"


def _walked(node: ast.AST) -> Iterator[ast.AST]:
    """Give what runs: no annotations, no text made of parts, no imports for the type checker."""
    if isinstance(node, ast.JoinedStr) or (
        isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"
    ):
        return
    yield node
    for name, field in ast.iter_fields(node):
        if name not in {"annotation", "returns", "decorator_list"}:
            for each in field if isinstance(field, list) else [field]:
                if isinstance(each, ast.AST):
                    yield from _walked(each)


def drawn(root: Path, count: int, seed: int) -> list[Change]:
    """Return so many changes of a tree by chance, the rooms in turn."""
    dice = random.Random(seed)
    found = []
    for room in (ROOMS[number % len(ROOMS)] for number in range(count)):
        modules = sorted((root / "drillbox" / room).rglob("*.py"))
        sites = [
            change
            for module in modules
            for change in changes_in(module.relative_to(root), module.read_bytes())
        ]
        found.append(dice.choice(sites))
    return found


def failed(copy: Path, tests: list[str]) -> str | None:
    """Return the first test that fails in a copy of the tree, None where all pass."""
    try:
        ran = subprocess.run(
            [sys.executable, "-B", "-m", "pytest", "-n0", "-x", "-rfE", "-p", "no:cacheprovider",
             "--tb=no", *tests],
            cwd=copy, env=os.environ | {"PYTHONPATH": str(copy)},
            capture_output=True, text=True, check=False, timeout=LIMIT,
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        return "endless"
    if ran.returncode == 0:
        return None
    named = re.search(r"^(?:FAILED|ERROR) (tests/[^\s\[]+)", ran.stdout, re.MULTILINE)
    return named[1] if named else "every test"


def tests_for(change: Change, root: Path) -> list[str]:
    """Return the changed room's test files, and others that name the module; the nearest first."""
    place = change.path.with_suffix("")
    module, package = ".".join(place.parts), ".".join(place.parent.parts)
    said = {}
    for file in sorted((root / "tests").rglob("test_*.py")):
        text, inside = file.read_text("utf-8"), file.relative_to(root / "tests")
        own = inside.parts[0] == place.parts[1]
        if own or module in text:
            named = (text.count(module), text.count(package), text.count(place.name), own)
            nearest = own and place.name[:5] in file.stem
            said[str("tests" / inside)] = (not HEAVY.search(text), nearest, *named)
    return sorted(said, key=lambda name: said[name], reverse=True)


def noticed(change: Change, copy: Path, near: int | None) -> str | None:
    """Make a change in the copy, run its room's tests, take it back; return which test saw it."""
    place, tests = copy / change.path, tests_for(change, copy)[:near]
    whole = place.read_bytes()
    while tests:
        place.write_bytes(change.applied(whole))
        found = failed(copy, tests)
        place.write_bytes(whole)
        file = (found or "").partition("::")[0]
        if found is None or file not in tests or failed(copy, [found]) is None:
            return found
        tests.remove(file)  # it fails by itself here
    return None


def main() -> None:
    """Make the changes and say how many were noticed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--changes", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--near", type=int, help="so many test files for each change, not all")
    parser.add_argument("--list", action="store_true", help="print the changes, run nothing")
    asked = parser.parse_args()
    missed = 0
    with tempfile.TemporaryDirectory(prefix="mutations-") as folder:
        copy = Path(folder) / "tree"
        left = shutil.ignore_patterns(".git", ".venv", "__pycache__", ".*_cache", ".hypothesis")
        shutil.copytree(ROOT, copy, ignore=left)
        for change in drawn(copy, asked.changes, asked.seed):
            seen = "listed" if asked.list else noticed(change, copy, asked.near)
            missed += seen is None
            print(f"{seen or 'NOT NOTICED'}\n    {change}", flush=True)
    if not asked.list:
        print(f"{asked.changes - missed} of {asked.changes} noticed (seed {asked.seed})")


if __name__ == "__main__":
    main()
