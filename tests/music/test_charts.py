"""Charts and meters: lengths, places, what sounds when."""

from __future__ import annotations

from fractions import Fraction

import pytest

from drillbox.music.charts import Bar, Chart, Meter, Span
from tests.music.shorthand import chart, short, symbols


@pytest.mark.parametrize(
    ("meter", "beat", "bar", "text"),
    [
        (Meter(4, 4), Fraction(1), 4, "4/4"),
        (Meter(6, 8), Fraction(1, 2), 3, "6/8"),
        (Meter(2, 2), Fraction(2), 4, "2/2"),
        (Meter(5, 4), Fraction(1), 5, "5/4"),
    ],
)
def test_meters_count_in_quarter_notes(meter: Meter, beat: Fraction, bar: int, text: str) -> None:
    """An eighth is half a quarter, a half note two."""
    assert meter.beat == beat
    assert meter.bar == bar
    assert meter.text() == text


def test_spans_know_their_place_in_the_chart() -> None:
    """Starts are counted from the beginning of the chart."""
    read = chart("Dm7 G7 | Cmaj7 _ _ A7*")
    assert [int(start) for start, _ in read.spans()] == [0, 2, 4, 7]
    assert read.length == 8


@pytest.mark.parametrize(
    ("onset", "expected"),
    [("0", "Dm7"), ("7/4", "Dm7"), ("2", "G7"), ("4", "Cmaj7"), ("27/4", "Cmaj7"), ("7", "A7"),
     ("-1/2", "A7"), ("-3/2", "Cmaj7"), ("8", "Dm7"), ("21/2", "G7")],
)  # fmt: skip
def test_what_sounds_at_an_onset(onset: str, expected: str) -> None:
    """The chart loops: a pickup lies over its end, a late note over its beginning."""
    span = chart("Dm7 G7 | Cmaj7 _ _ A7*").span_at(Fraction(onset))
    assert span
    assert short(span.chord) == expected


def test_nothing_sounds_in_a_chart_without_bars() -> None:
    """There is no span to find and no chord."""
    empty = Chart(Meter(4, 4), ())
    assert empty.span_at(Fraction(0)) is None
    assert empty.sounding() == ()
    assert empty.length == 0


def test_sounding_chords_leave_out_no_chord() -> None:
    """In order, one for each span that has a chord."""
    read = chart("NC Dm7 | G7 Dm7")
    assert [short(chord) for chord in read.sounding()] == ["Dm7", "G7", "Dm7"]
    assert symbols(read) == "NC Dm7 | G7 Dm7"


@pytest.mark.parametrize(
    ("pieces", "fault"),
    [
        ([(0, 4), (4, 0)], "bar 2 has a chord of 0 quarter notes"),
        ([(0, 6), (6, -2)], "bar 2 has a chord of -2 quarter notes"),
        ([(0, 2), (3, 1)], "the chords of bar 2 don't follow one another"),
        ([(1, 3)], "the chords of bar 2 don't follow one another"),
        ([(0, 3)], "the chords of bar 2 don't fill it"),
        ([(0, 5)], "the chords of bar 2 don't fill it"),
        ([], "the chords of bar 2 don't fill it"),
    ],
)
def test_no_chart_is_made_of_spans_that_do_not_fill_its_bars(
    pieces: list[tuple[int, int]], fault: str
) -> None:
    """A span of no length or less, a gap, a bar too short or too long: none of them is a chart."""
    whole = Bar((Span(Fraction(0), Fraction(4), None),))
    wrong = Bar(tuple(Span(Fraction(start), Fraction(length), None) for start, length in pieces))
    with pytest.raises(ValueError, match=fault):
        Chart(Meter(4, 4), (whole, wrong))
