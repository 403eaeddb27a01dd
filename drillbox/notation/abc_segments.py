"""Cuts a phrase into what ABC can write: pieces of notes and rests within bars."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from drillbox.errors import BadInput
from drillbox.music.charts import Span
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import Pitch

ZERO = Fraction(0)


@dataclass(frozen=True, slots=True)
class Segment:
    """A note (or a rest, pitch None) or the part of it that no bar line or symbol divides.

    ``start`` and ``length`` in quarter notes from the first full bar; ``tied``: the note goes
    on in the next segment; ``span``: the chord that begins here.
    """

    start: Fraction
    length: Fraction
    pitch: Pitch | None
    tied: bool
    target: bool
    graces: tuple[Pitch, ...]
    span: Span | None


def segments(phrase: Phrase) -> list[list[Segment]]:
    """Return the segments bar by bar, the pickup's (where there is one) first.

    Raises BadInput where the line overlaps itself or leaves the chart.
    """
    bar, end = phrase.chart.meter.bar, phrase.chart.length
    notes = [note for note in phrase.line if note.length]
    first = min([note.onset for note in phrase.line], default=ZERO)
    _check(phrase.line, notes, bar, end)
    spans = dict(phrase.chart.spans())
    begins = min(first, ZERO)
    cuts = {begins, ZERO, end, *spans, *(note.onset for note in phrase.line)}
    cuts |= {note.onset + note.length for note in notes}
    cuts |= {bar * index for index in range(len(phrase.chart.bars))}
    starts = sorted(cuts)
    whole = [_segment(phrase.line, spans, start, stop) for start, stop in pairwise(starts)]
    bars = range(-1 if begins else 0, len(phrase.chart.bars))
    return [[each for each in whole if each.start // bar == index] for index in bars]


def _check(line: tuple[LineNote, ...], notes: list[LineNote], bar: Fraction, end: Fraction) -> None:
    for one, other in pairwise(notes):
        if one.onset + one.length > other.onset:
            raise BadInput(f"two notes sound at once at {other.onset}", "A line has one voice.")
    inside = all(-bar < note.onset < end and note.onset + note.length <= end for note in line)
    if not inside:
        raise BadInput("the line goes beyond its chart by a note, or its pickup by a bar")


def _segment(
    line: tuple[LineNote, ...], spans: dict[Fraction, Span], start: Fraction, stop: Fraction
) -> Segment:
    sounding = next((note for note in line if note.onset <= start < note.onset + note.length), None)
    graces = tuple(note.pitch for note in line if not note.length and note.onset == start)
    if sounding is None:
        return Segment(start, stop - start, None, False, False, graces, spans.get(start))
    return Segment(
        start,
        stop - start,
        sounding.pitch,
        sounding.onset + sounding.length > stop,
        sounding.target and sounding.onset == start,
        graces,
        spans.get(start),
    )
