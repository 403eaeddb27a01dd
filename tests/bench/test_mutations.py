"""The changes that the count of noticed faults is made of: where they lie and what they become."""

from __future__ import annotations

from pathlib import Path

from tests.bench.mutations import changes_in

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
