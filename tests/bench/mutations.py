"""How many small faults the tests notice: the code is changed by hand's breadth, one at a time.

Run: ``nice python -m tests.bench.mutations --changes 20 --seed 1``. Each change is made in a copy
of the tree under the temporary folder, in a room drawn in turn (all but ``screen/``, which golden
screens hold). Then the tests that run the changed statement are run until one fails, those of its
room first, the quickest first; after them others that run its module, a tenth of all tests at
most (``mutations_tests.py``). Which tests run what is noted first, by one run of all tests under
coverage, and kept for the next seed until a file changes. A test that fails without the change as
well isn't counted. What wasn't noticed is printed, to be judged by hand: some changes alter
nothing that anybody could see.
"""

from __future__ import annotations

import argparse
import ast
import random
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from tests.bench.mutations_tests import Tests

ROOT = Path(__file__).parents[2]
ROOMS = ("cli", "player", "terminal", "practice", "store", "notation", "sound", "hearing",
         "memory", "music")  # fmt: skip
FIRST = 100
"""So many tests are tried before the next are even collected."""
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


def noticed(change: Change, tests: Tests) -> str | None:
    """Make a change in the copy, run the tests that could see it, take it back; return which did.

    A test that fails without the change as well tells nothing.
    """
    place, chosen = tests.tree / change.path, tests.running(change.path, change.line)
    whole = place.read_bytes()
    while portion := chosen[:FIRST]:
        place.write_bytes(change.applied(whole))
        found = tests.failed(portion)
        place.write_bytes(whole)
        if found is None:
            chosen = chosen[FIRST:]
        elif found not in portion or tests.failed([found]) is None:
            return found
        else:
            chosen.remove(found)
    return None


def main() -> None:
    """Make the changes and say how many were noticed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--changes", type=int, default=20)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--list", action="store_true", help="print the changes, run nothing")
    asked = parser.parse_args()
    changes = drawn(ROOT, asked.changes, asked.seed)
    if asked.list:
        print(*changes, sep="\n")
        return
    tests, missed = Tests(ROOT), 0
    for change in changes:
        seen = noticed(change, tests)
        missed += seen is None
        print(f"{seen or 'NOT NOTICED'}\n    {change}", flush=True)
    print(f"{asked.changes - missed} of {asked.changes} noticed (seed {asked.seed})")


if __name__ == "__main__":
    main()
