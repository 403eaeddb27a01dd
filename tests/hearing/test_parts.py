"""Of a recording's parts the one that the line is in, whatever sounds beside it."""

from __future__ import annotations

import time

import pytest

from drillbox.hearing.parts import best_part
from drillbox.hearing.takes import Beat, Take
from tests.hearing.rail import CLICK, LINE, LOOP, RAIL, Sounded, in_seconds, later, transposed

BASS: Sounded = [(float(n), 0.9, 38 + (n * 5) % 12) for n in range(16)]
WRONG = [(at, long, pitch + (n == 9)) for n, (at, long, pitch) in enumerate(RAIL)]
FEW = [transposed(BASS[n : n + 5], n % 12) for n in range(8)] * 20


@pytest.mark.parametrize("beat", [CLICK, None], ids=["click", "own time"])
@pytest.mark.parametrize(
    "line",
    [
        RAIL,
        WRONG,
        RAIL + later(RAIL, LOOP),
        WRONG + later(RAIL, LOOP),
        transposed(RAIL, 3),
        RAIL[:9],
    ],
    ids=["all", "one wrong", "twice", "the first wrong", "another key", "stopped"],
)
def test_the_line_is_found_beside_a_bass(line: Sounded, beat: Beat | None):
    """All of both comes first, as in a file; then a bass, the line, and many parts of few notes."""
    parts = [line + BASS, BASS + later(BASS, LOOP), line, *FEW]
    takes = [Take(in_seconds(part), "midi", beat) for part in parts]
    before = time.process_time()
    assert best_part(LINE, takes) is takes[2]
    assert time.process_time() - before < 2


def test_a_line_parted_among_channels_is_judged_whole():
    """As a keyboard writes it that gives each note a channel of its own."""
    takes = [Take(in_seconds(part), "midi", None) for part in (RAIL, RAIL[::2], RAIL[1::2])]
    assert best_part(LINE, takes) is takes[0]
