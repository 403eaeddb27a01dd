"""The changes that the count of noticed faults is made of: where they lie and what they become."""

from __future__ import annotations

import ast
from pathlib import Path

from tests.bench.mutations import changes_in
from tests.bench.mutations_tests import statement

SOURCE = '''"""1 < 2"""
def least(ü: tuple[int, 2], low=3) -> bool:
    tell(f"{low + 1}")
    return "é" in ü and not low
'''.encode()


def test_every_change_is_a_valid_one_of_what_runs():
    """Worked by hand: no text, no annotation; bytes, not letters, are counted."""
    found = changes_in(Path("least.py"), SOURCE)
    assert sorted((each.line, each.before, each.after) for each in found) == [
        (2, "3", "(4)"),
        (3, 'tell(f"{low + 1}")', "pass"),
        (4, '"é" in ü', "('é' not in ü)"),
        (4, '"é" in ü and not low', "('é' in ü or not low)"),
        (4, "not low", "(low)"),
    ]
    for each in found:
        changed = each.applied(SOURCE)
        assert changed != SOURCE
        compile(changed, "least.py", "exec")


RUN_ONCE = """\
LIMIT = (
    3
)

class Low:
    floor: int = 1

@cache
def least():
    return min(
        LIMIT,
        2,
    )

def most():
    if (LIMIT
            > 4):
        return 5
    return 6
"""


def test_the_tests_of_a_statement_are_found_by_its_lines_or_by_what_it_makes():
    """Worked by hand: whole statements, of an ``if`` its head; names where a line runs but once."""
    module = ast.parse(RUN_ONCE)
    found = {line: statement(module, line) for line in (2, 6, 12, 16, 17)}
    assert {
        line: (lines.start, lines.stop - 1, names) for line, (lines, names) in found.items()
    } == {
        2: (1, 3, ["LIMIT"]),
        6: (6, 6, ["floor"]),
        12: (10, 13, ["least"]),
        16: (16, 17, []),
        17: (16, 17, []),
    }
