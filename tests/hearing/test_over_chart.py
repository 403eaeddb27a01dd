"""A phrase without a line: bars played in and changes met, counted by hand from a click."""

from __future__ import annotations

import pytest

from drillbox.hearing.over_chart import OverChart, over_chart
from drillbox.hearing.takes import Beat, Played, Take
from drillbox.music.charts import Meter
from drillbox.music.symbols.typed import parse_chart

# Changes at 0, 2 and 4 quarters, and a turnaround at 6.
CHART = parse_chart("Cm7 F7 | Bbmaj7 (G7)", Meter(4, 4))
CLICK = Beat(1.5, 0.5)  # at 120, so that a shift by twice its start is no whole loop
C, EB, F, BB, D = 60, 63, 65, 70, 74


def played(*notes: tuple[float, int], beat: Beat | None = CLICK) -> OverChart:
    """Return what notes come to that were played at so many quarters after the click's first."""
    heard = [Played(CLICK.at(at), CLICK.at(at) + 0.1, pitch) for at, pitch in notes]
    return over_chart(CHART, Take(tuple(heard), "midi", beat))


@pytest.mark.parametrize(
    ("notes", "bars", "met"),
    [
        ([(0, C), (2, F), (4, D)], 2, 3),
        ([(0, EB), (2, EB), (4, BB)], 2, 3),  # a C minor third is F's seventh too
        ([(0, C), (2, BB), (4, F)], 2, 2),  # B flat is the fourth over F7
        ([(0, C), (1, EB), (3, C)], 1, 1),  # nothing came within 0.75 of the second change
        ([(0, C), (1.25, F), (4.75, D)], 2, 3),  # as early and as late as may be
        ([(0, C), (1.2, F), (4.8, D)], 2, 1),
        ([(4, BB)], 1, 1),
        ([(0, C)], 1, 1),
        ([(-0.5, C), (2, F), (4, D)], 2, 3),  # before the click's first, as an anticipation
    ],
)
def test_bars_and_changes_are_counted_from_the_click(notes, bars: int, met: int):
    """A change is met by a chord tone within three eighths; the turnaround isn't asked for."""
    assert played(*notes) == OverChart(bars, 2, len(notes), met, 3)


def test_the_fullest_loop_counts():
    """Of two times through the chart the second had all: it is told, not the sum of both."""
    assert played((0, C), (8, C), (10, F), (12, D)) == OverChart(2, 2, 4, 3, 3)


def test_without_a_click_nothing_is_counted():
    """In the player's own time no beat says where a bar begins: it says what would."""
    found = played((0, C), (2, F), beat=None)
    assert found == OverChart(0, 2, 2)
    heard = "2 notes heard, play to the beat for the changes"
    assert found.text() == f"no line to judge the notes by, {heard}"
    assert played().text() == "no line to judge the notes by, nothing heard"
