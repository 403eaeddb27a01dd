"""The alignment is the cheapest there is, and quick enough on the longest lines."""

from __future__ import annotations

import time

from hypothesis import given
from hypothesis import strategies as st

from drillbox.hearing.alignment import EXTRA, MISSED, WRONG, align
from drillbox.hearing.takes import Beat, Played

CLASSES = st.lists(st.integers(0, 4), min_size=1, max_size=9)


def played(classes: list[int], quarter: float = 0.5) -> list[Played]:
    """Return notes of an eighth each."""
    return [
        Played(i * quarter / 2, (i + 1) * quarter / 2, 60 + each) for i, each in enumerate(classes)
    ]


def edit_cost(line: list[int], heard: list[int]) -> float:
    """Return the least cost by the textbook recursion over pairs, one cell at a time."""
    table = {(0, 0): 0.0}
    for i in range(len(line) + 1):
        for j in range(len(heard) + 1):
            ways = [table[i, j]] if (i, j) in table else []
            if i:
                ways.append(table[i - 1, j] + MISSED)
            if j:
                ways.append(table[i, j - 1] + EXTRA)
            if i and j:
                ways.append(table[i - 1, j - 1] + (0 if line[i - 1] == heard[j - 1] else WRONG))
            table[i, j] = min(ways)
    return table[len(line), len(heard)]


@given(CLASSES, CLASSES)
def test_the_cost_is_the_least(line: list[int], heard: list[int]):
    """Rows done at once come to what one cell after another comes to (Wagner & Fischer 1974)."""
    found = align([i / 2 for i in range(len(line))], line, played(heard), None)
    assert abs(found.cost - edit_cost(line, heard)) < 1e-9


@given(CLASSES, CLASSES)
def test_pairs_go_forward_and_add_up_to_the_cost(line: list[int], heard: list[int]):
    """No note is used twice, none crosses another, and the pairs account for the whole cost."""
    found = align([i / 2 for i in range(len(line))], line, played(heard), None)
    lines, notes = [i for i, _ in found.pairs], [j for _, j in found.pairs]
    assert lines == sorted(set(lines))
    assert notes == sorted(set(notes))
    wrong = sum(line[i] != heard[j] for i, j in found.pairs)
    rest = len(line) + len(heard) - 2 * len(found.pairs)
    assert abs(found.cost - (wrong * WRONG + rest * MISSED)) < 1e-9


@given(CLASSES)
def test_a_line_in_any_octave_costs_nothing(line: list[int]):
    """Octaves are free, and so is a quarter of a beat behind."""
    notes = [
        Played(n.start + 0.1, n.end, n.pitch + 12 * (i % 3)) for i, n in enumerate(played(line))
    ]
    found = align([i / 2 for i in range(len(line))], line, notes, Beat(0.0, 0.5))
    assert found.cost == 0
    assert len(found.pairs) == len(line)


def test_128_bars_take_no_more_than_300_ms():
    """A thousand eighths against as many played, the longest chart there may be."""
    line = [(i * 7 + i // 5) % 12 for i in range(1024)]
    notes = played(line)
    began = time.process_time()
    found = align([i / 2 for i in range(1024)], line, notes, Beat(0.0, 0.5))
    assert time.process_time() - began < 0.3
    assert found.cost == 0
