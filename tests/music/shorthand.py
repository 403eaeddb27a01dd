"""Charts and lines in a few letters, built without the reader under test."""

from __future__ import annotations

import re
from fractions import Fraction

from drillbox.music.charts import Bar, Chart, Meter, Span
from drillbox.music.chords import Chord
from drillbox.music.phrases import LineNote
from drillbox.music.pitch import NAME, parse_name, parse_pitch

KINDS = {
    "": "major", "m": "minor", "7": "dominant", "maj7": "major-seventh", "m7": "minor-seventh",
    "m7b5": "half-diminished", "dim7": "diminished-seventh", "6": "major-sixth",
    "m6": "minor-sixth",
}  # fmt: skip
_SUFFIX = {kind: suffix for suffix, kind in KINDS.items()}


def chord(text: str) -> Chord | None:
    """``Bbm7``, ``C/E`` or ``NC``."""
    if text == "NC":
        return None
    above, _, bass = text.partition("/")
    match = re.match(NAME, above)
    assert match
    kind = KINDS[above[match.end() :]]
    return Chord(parse_name(match[0]), kind, (), parse_name(bass) if bass else None)


def sounding(text: str) -> Chord:
    """Return a chord that is one."""
    found = chord(text)
    assert found
    return found


def chart(text: str, meter: Meter = Meter(4, 4)) -> Chart:  # noqa: B008 - frozen
    """Bars at ``|``, chords share a bar equally, ``_`` holds, ``*`` marks the turnaround."""
    bars = []
    for words in (each.split() for each in text.split("|")):
        share = meter.bar / len(words)
        spans: list[Span] = []
        for place, word in enumerate(words):
            if word == "_":
                spans[-1] = Span(
                    spans[-1].start,
                    spans[-1].length + share,
                    spans[-1].chord,
                    spans[-1].turnaround,
                )
            else:
                name, mark = word.rstrip("*"), word.endswith("*")
                spans.append(Span(place * share, share, chord(name), mark))
        bars.append(Bar(tuple(spans)))
    return Chart(meter, tuple(bars))


def short(read: Chord | None) -> str:
    """Print a chord as ``chord`` reads it."""
    if read is None:
        return "NC"
    bass = f"/{read.bass.text()}" if read.bass else ""
    return read.root.text() + _SUFFIX[read.kind] + bass


def symbols(read: Chart) -> str:
    """Print a chart's symbols, without lengths: ``Dm7 G7 | Cmaj7 A7*``."""
    return " | ".join(
        " ".join(short(span.chord) + "*" * span.turnaround for span in bar.spans)
        for bar in read.bars
    )


def line(
    text: str, start: Fraction = Fraction(0), length: Fraction = Fraction(1, 2)
) -> tuple[LineNote, ...]:
    """Notes of one length from ``start``; ``-`` is a rest."""
    return tuple(
        LineNote(start + place * length, length, parse_pitch(word))
        for place, word in enumerate(text.split())
        if word != "-"
    )
