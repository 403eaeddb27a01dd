"""Charts: their bars, and charts and lines as JSON, exact both ways."""

from __future__ import annotations

import json
from contextlib import suppress
from fractions import Fraction
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.errors import BadInput
from drillbox.music.charts import (
    Bar,
    Chart,
    Meter,
    Span,
    beat_text,
    chart_fault,
    chart_from,
    chart_json,
    place,
)
from drillbox.music.chords import Chord, Degree
from drillbox.music.phrases import LineNote, check_chart, line_from, line_json
from drillbox.music.pitch import Name, Pitch
from tests.music.shorthand import chart, short, symbols
from tests.rows import every_row


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


HALF = Fraction(2)
CHART = Chart(
    Meter(4, 4),
    (
        Bar((
            Span(Fraction(0), HALF, Chord(Name("C"), "minor-seventh")),
            Span(HALF, HALF, Chord(Name("F"), "dominant", (Degree("alter", 9, -1),), Name("A"))),
        )),
        Bar((
            Span(Fraction(0), HALF, None),
            Span(HALF, HALF, Chord(Name("G"), "dominant", (Degree("add", 13, -1),)), True),
        )),
    ),
)  # fmt: skip
CHART_VALUE = {
    "meter": "4/4",
    "bars": [
        [
            ["0", "2", ["C", "minor-seventh"]],
            ["2", "2", ["F", "dominant", [["alter", 9, -1]], "A"]],
        ],
        [["0", "2", None], ["2", "2", ["G", "dominant", [["add", 13, -1]]], 1]],
    ],
}
LINE = (
    LineNote(Fraction(-1, 2), Fraction(1, 2), Pitch(Name("B", -1), 4)),
    LineNote(Fraction(4, 3), Fraction(0), Pitch(Name("F", 2), -1), True),
)
LINE_VALUE = [["-1/2", "1/2", "Bb4"], ["4/3", "0", "F##-1", 1]]

names = st.builds(Name, st.sampled_from("CDEFGAB"), st.integers(-4, 4))
fractions = st.fractions(min_value=-8, max_value=512, max_denominator=96)
chords = st.builds(
    Chord,
    names,
    st.sampled_from(["major", "dominant", "half-diminished", "minor-11th"]),
    st.lists(
        st.builds(
            Degree,
            st.sampled_from(["add", "alter", "subtract"]),
            st.integers(1, 13),
            st.integers(-2, 2),
        ),
        max_size=3,
    ).map(tuple),
    st.none() | names,
)
meters = st.builds(Meter, st.integers(1, 12), st.sampled_from([2, 4, 8]))


@st.composite
def bars(draw: st.DrawFn, meter: Meter) -> Bar:
    """Draw a bar that its spans fill, cut at any places."""
    inside = st.fractions(min_value=0, max_value=meter.bar, max_denominator=96)
    cuts = sorted({Fraction(0), *draw(st.lists(inside, max_size=3)), meter.bar})
    return Bar(
        tuple(
            Span(start, end - start, draw(st.none() | chords), draw(st.booleans()))
            for start, end in pairwise(cuts)
        )
    )


charts = meters.flatmap(
    lambda meter: st.builds(Chart, st.just(meter), st.lists(bars(meter), max_size=4).map(tuple))
)
notes = st.builds(
    LineNote, fractions, fractions, st.builds(Pitch, names, st.integers(-1, 9)), st.booleans()
)


def test_the_stored_form_is_this() -> None:
    """Rows outlive versions of the program, so the form is pinned value by value."""
    assert chart_json(CHART) == CHART_VALUE
    assert line_json(LINE) == LINE_VALUE


def test_the_stored_form_reads_back() -> None:
    """The same values give the chart and the line again."""
    assert chart_from(CHART_VALUE) == CHART
    assert line_from(LINE_VALUE) == LINE


@settings(max_examples=20)
@given(chart=charts, line=st.lists(notes, max_size=8).map(tuple))
def test_through_json_text_nothing_changes(chart: Chart, line: tuple[LineNote, ...]) -> None:
    """A law: exact through real JSON, even for spellings that no symbol could be typed with."""
    assert chart_from(json.loads(json.dumps(chart_json(chart)))) == chart
    assert line_from(json.loads(json.dumps(line_json(line)))) == line


@every_row(
    "value",
    [
        {},
        {"meter": "4", "bars": []},
        {"meter": "4/x", "bars": []},
        {"meter": None, "bars": []},
        {"meter": "4/4", "bars": [[["0"]]]},
        {"meter": "4/4", "bars": [[["0", "1/0", None]]]},
        {"meter": "4/4", "bars": [[["0", "4", ["H", "major"]]]]},
        {"meter": "4/4", "bars": [[["0", "4", ["C#b", "major"]]]]},
        {"meter": "4/4", "bars": [[["0", "4", ["", "major"]]]]},
        {"meter": "4/4", "bars": [[["0", "4", ["C", "minor-seventy"]]]]},
        {"meter": "4/4", "bars": [[["0", "4", ["C", "none"]]]]},
        {"meter": "4/4", "bars": [[["0", "4", ["C", "major", [["add"]]]]]]},
    ],
)
def test_what_is_no_chart_is_refused(value: dict[str, object]) -> None:
    """A damaged row raises ValueError, never something else and never a wrong chart."""
    with pytest.raises(ValueError, match=r"."):
        chart_from(value)


@pytest.mark.parametrize(
    "value", [[["0", "1"]], [["0", "1", "H4"]], [["0", "1", "C"]], [["0", 1, "C4"]], [None]]
)
def test_what_is_no_line_is_refused(value: list[list[object]]) -> None:
    """A damaged line raises ValueError too."""
    with pytest.raises(ValueError, match=r"."):
        line_from(value)


C, F = ["C", "major"], ["F", "major"]


@pytest.mark.parametrize(
    ("bar", "fitted", "fault"),
    [
        ([["0", "6", C], ["6", "-2", F]], [["0", "4", C]], "a chord of -2 quarter notes"),
        ([["0", "4", C], ["4", "0", F]], [["0", "4", C]], "a chord of 0 quarter notes"),
        ([["0", "0", C], ["0", "4", F]], [["0", "4", F]], "a chord of 0 quarter notes"),
        ([["0", "1", C], ["2", "2", F]], [["0", "2", C], ["2", "2", F]], "don't follow"),
        ([["1", "3", C]], [["0", "4", C]], "don't follow"),
        ([["0", "4", C]], [["0", "4", C]], ""),
    ],
)
def test_spans_of_an_old_row_are_fitted_to_their_bar(
    bar: list[object], fitted: list[object], fault: str
) -> None:
    """What an earlier version could store is played as its symbols stand, and told as a fault."""
    value = {"meter": "4/4", "bars": [bar]}
    assert chart_json(chart_from(value)) == {"meter": "4/4", "bars": [fitted]}
    assert fault in chart_fault(value)
    assert bool(chart_fault(value)) is bool(fault)


def test_a_bar_without_any_place_for_a_chord_is_refused() -> None:
    """There is nothing to fit."""
    for bar in ([], [["5", "1", C]]):
        with pytest.raises(ValueError, match="don't fill it"):
            chart_from({"meter": "4/4", "bars": [bar]})


ODD: tuple[Any, ...] = (
    None, True, 0, 10**400, 0.5, "", "x", [], {}, [[]], [None], ["x"], [1, 2, 3], {"a": 1},
)  # fmt: skip
PLACES = [
    ("bars", 0, 0, 2, 1), ("bars", 0, 0, 2, 0), ("bars", 0, 0, 2, 2, 0, 0), ("bars", 0, 0, 2, 3),
    ("bars", 0, 0, 2, 2, 0, 1), ("bars", 0, 0, 2, 2, 0), ("bars", 0, 0, 2, 2), ("bars", 0, 0, 2),
    ("bars", 0, 0, 1), ("bars", 0, 0, 0), ("bars", 0, 0), ("bars", 0), ("bars",), ("meter",),
]  # fmt: skip


@every_row("place", PLACES)
def test_whatever_stands_in_a_chart_is_a_chart_or_a_value_error(place: tuple[Any, ...]) -> None:
    """A list for a chord's kind, say: a document is refused in a line, and nothing fails."""
    for odd in ODD:
        whole = {"meter": "4/4", "bars": [[["0", "4", ["D", "dominant", [["add", 9, 0]], "A"]]]]}
        inner: Any = whole
        for step in place[:-1]:
            inner = inner[step]
        inner[place[-1]] = odd
        with suppress(ValueError, BadInput):
            check_chart(chart_from(whole))


def test_places_are_counted_from_one() -> None:
    """Beat 1 of bar 1 is onset 0; a pickup lies in bar 0; 6/8 counts in two."""
    four, six = Meter(4, 4), Meter(6, 8)
    assert place(four, Fraction(0)) == (1, 1)
    assert place(four, Fraction(13, 2)) == (2, Fraction(7, 2))
    assert place(four, Fraction(-1, 2)) == (0, Fraction(9, 2))
    assert place(six, Fraction(9, 2)) == (2, 2)


def test_beats_are_counted_aloud() -> None:
    """Sixteenths are e & a; a triplet says its share of the beat."""
    said = [beat_text(Fraction(text)) for text in ("1", "5/4", "5/2", "15/4", "7/3")]
    assert said == ["1", "1e", "2&", "3a", "2+1/3"]
