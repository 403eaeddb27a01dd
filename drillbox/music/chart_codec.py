"""Charts and lines as plain JSON values, for rows: compact, exact and quick to read back.

A fraction is text (``"3/2"``), a name its ASCII spelling (``"Bb"``), a chord
``[root, kind, [[action, number, alter], ...], bass]`` with the trailing parts left out where
they are empty, no chord ``null``, a span ``[start, length, chord]`` with a final ``1`` for the
turnaround, and a note ``[onset, length, pitch]`` with a final ``1`` for a marked target.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from typing import Any

from drillbox.music.charts import Bar, Chart, Meter, Span
from drillbox.music.chords import Chord, Degree
from drillbox.music.phrases import LineNote
from drillbox.music.pitch import Name, Pitch


def chart_json(chart: Chart) -> dict[str, Any]:
    """Return the chart as ``{"meter": "4/4", "bars": [[span, ...], ...]}``."""
    return {
        "meter": chart.meter.text(),
        "bars": [[_span_json(span) for span in bar.spans] for bar in chart.bars],
    }


def chart_from(value: dict[str, Any]) -> Chart:
    """Return the chart that ``chart_json`` wrote; raise ValueError if the value isn't a chart.

    Spans that don't fill their bar, which earlier versions could store, are fitted to it: each
    lasts until the next begins, and one that begins beyond its bar has no place in it.
    """
    meter, bars = _meter_and_bars(value)
    try:
        return Chart(meter, bars)
    except ValueError:
        return Chart(meter, tuple(_fitted(bar, meter.bar) for bar in bars))


def chart_fault(value: dict[str, Any]) -> str:
    """Return what keeps a value from being a chart as it stands; empty where nothing does."""
    try:
        Chart(*_meter_and_bars(value))
    except ValueError as fault:
        return str(fault)
    return ""


def can_be_fitted(value: dict[str, Any]) -> bool:
    """Return whether a value is a chart but for how its chords fill their bars."""
    try:
        chart_from(value)
    except ValueError:
        return False
    return True


def _meter_and_bars(value: dict[str, Any]) -> tuple[Meter, tuple[Bar, ...]]:
    try:
        beats, unit = value["meter"].split("/")
        bars = tuple(Bar(tuple(_span_from(span) for span in bar)) for bar in value["bars"])
        meter = Meter(int(beats), int(unit))
        if meter.bar <= 0:
            raise ValueError(f"no chart: the meter {meter.text():.20}")
        return meter, bars
    except (LookupError, TypeError, AttributeError, ArithmeticError) as error:
        raise ValueError(f"no chart: {error}") from error


def _fitted(bar: Bar, length: Fraction) -> Bar:
    by_start = {span.start: span for span in bar.spans if 0 <= span.start < length}
    kept = [by_start[start] for start in sorted(by_start)]
    edges = [Fraction(0), *(span.start for span in kept[1:]), length]
    return Bar(
        tuple(
            replace(span, start=start, length=end - start)
            for span, (start, end) in zip(kept, pairwise(edges), strict=False)
        )
    )


def line_json(line: Sequence[LineNote]) -> list[list[Any]]:
    """Return the line as a list of notes."""
    return [
        [str(note.onset), str(note.length), note.pitch.text(), *([1] if note.target else [])]
        for note in line
    ]


def line_from(value: Sequence[Sequence[Any]]) -> tuple[LineNote, ...]:
    """Return the line that ``line_json`` wrote; raise ValueError if the value isn't a line."""
    try:
        return tuple(
            LineNote(_fraction(note[0]), _fraction(note[1]), _pitch(note[2]), len(note) > 3)
            for note in value
        )
    except (LookupError, TypeError, AttributeError, ArithmeticError) as error:
        raise ValueError(f"no line: {error}") from error


def _span_json(span: Span) -> list[Any]:
    value: list[Any] = [str(span.start), str(span.length), _chord_json(span.chord)]
    return [*value, 1] if span.turnaround else value


def _span_from(value: list[Any]) -> Span:
    return Span(_fraction(value[0]), _fraction(value[1]), _chord_from(value[2]), len(value) > 3)


def _chord_json(chord: Chord | None) -> list[Any] | None:
    if chord is None:
        return None
    degrees = [[degree.action, degree.number, degree.alter] for degree in chord.degrees]
    if chord.bass:
        return [chord.root.text(), chord.kind, degrees, chord.bass.text()]
    return [chord.root.text(), chord.kind, *([degrees] if degrees else [])]


def _chord_from(value: list[Any] | None) -> Chord | None:
    if value is None:
        return None
    degrees = tuple(Degree(*each) for each in value[2]) if len(value) > 2 else ()
    return Chord(_name(value[0]), value[1], degrees, _name(value[3]) if len(value) > 3 else None)


def _fraction(text: str) -> Fraction:
    # Twice as quick as Fraction(text), and a start-up reads many.
    above, _, below = text.partition("/")
    return Fraction(int(above), int(below or 1))


def _name(text: str) -> Name:
    """Read a spelling of any number of accidentals, which ``parse_name`` would refuse."""
    signs = text[1:]
    flats, sharps = signs.count("b"), signs.count("#")
    if text[:1] not in "CDEFGAB" or not text or flats + sharps != len(signs) or flats * sharps:
        raise ValueError(f"{text!r} isn't a note name")
    return Name(text[0], sharps - flats)


def _pitch(text: str) -> Pitch:
    end = len(text.rstrip("-0123456789"))
    return Pitch(_name(text[:end]), int(text[end:]))
