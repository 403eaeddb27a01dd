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
        ([(-0.5, C), (0.02, D), (2, BB), (2.5, F), (4, C), (4.75, D)], 2, 0),  # others are nearer
        ([(0, D), (0.05, C), (2, F - 5), (2, F), (4, EB), (4.02, D)], 2, 3),  # with others
    ],
)
def test_bars_and_changes_are_counted_from_the_click(notes, bars: int, met: int):
    """A change is met by a chord tone within three eighths, where nothing else comes nearer; the
    turnaround isn't asked for."""
    found = played(*notes)
    assert (found.bars, found.of_bars, found.notes) == (bars, 2, len(notes))
    assert (found.met, found.of_changes, found.together) == (met, 3, None)


@pytest.mark.parametrize(("pitch", "met"), [(67, 1), (60, 1), (65, 1), (69, 0), (71, 0)])
def test_a_slash_chord_is_met_as_it_is_heard(pitch: int, met: int):
    """F/G sounds as G9sus4: its root G and its fourth C are chord tones, A is its ninth."""
    chart = parse_chart("F/G | N.C.", Meter(4, 4))
    take = Take((Played(CLICK.at(0), CLICK.at(1), pitch),), "midi", CLICK)
    assert over_chart(chart, take).met == met


def test_a_chromatic_run_meets_no_more_than_it_must():
    """Eighths from C up: C over Cm7, then E at F7 and G sharp at Bbmaj7, though theirs are near."""
    assert played(*((n / 2, C + n) for n in range(16))).met == 1


def test_the_fullest_loop_counts():
    """Of two times through the chart the second had all: it is told, not the sum of both."""
    found = played((0, C), (8, C), (10, F), (12, D))
    assert (found.bars, found.notes, found.met) == (2, 4, 3)


def test_without_a_click_nothing_is_counted():
    """In the player's own time no beat says where a bar begins: it says what would."""
    found = played((0, C), (2, F), beat=None)
    assert found == OverChart(0, 2, 2)
    heard = "2 notes heard, play to the beat for the changes"
    assert found.text() == f"no line to judge the notes by, {heard}"
    assert played().text() == "no line to judge the notes by, nothing heard"


def at_eighths(count: int, ratio: float = 0.5, share: float = 1.0, lag: float = 0.0) -> OverChart:
    """Return what so many eighths come to: swung, at a share of the click's tempo, and late."""
    places = [number // 2 + (ratio if number % 2 else 0.0) for number in range(count)]
    return played(*((place / share + lag, C) for place in places))


@pytest.mark.parametrize(
    ("ratio", "share", "lag"),
    [(0.5, 1.0, 0.0), (2 / 3, 1.0, 0.0), (0.6, 1.0, 0.0), (0.5, 1.0, 0.1), (0.5, 0.99, 0.0)],
)
def test_even_swung_and_laid_back_eighths_are_with_the_beat(ratio, share, lag):
    """Neither is a fault; nor is a tempo that differs by a hundredth over two bars."""
    assert at_eighths(16, ratio, share, lag).text().endswith(", with the beat")


@pytest.mark.parametrize("share", [0.9, 1.12])
def test_a_tempo_of_ones_own_is_not_with_the_beat(share):
    """A tenth slower or faster goes through every place of the beat within two bars."""
    assert at_eighths(16, share=share).text().endswith(", not with the beat")


def test_fast_notes_are_not_said_to_be_astray():
    """Sixteenths at 120 with a player's own spread can't be told from another tempo's."""
    fast = played(*((place * 0.22, C) for place in range(30)))
    assert fast.together < 0.3
    assert fast.apart == pytest.approx(0.11)
    assert fast.text().endswith("chord tones at 2 of 3 changes")


def test_of_few_notes_no_time_is_told():
    """Seven may lie anywhere by chance."""
    assert at_eighths(7).together is None
    assert at_eighths(8).together == pytest.approx(1)


def test_how_close_notes_lie_by_hand():
    """Half of them on the beat and half a quarter of an eighth after it: a right angle apart, so
    the root of a half together; on the grids of triplets and sixteenths they lie farther apart."""
    found = played(*((number + (number % 2) * 0.125, C) for number in range(8)))
    assert found.together == pytest.approx(0.5**0.5)
