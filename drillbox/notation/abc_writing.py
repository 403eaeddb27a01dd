"""Writes a phrase as an ABC 2.1 tune, such that reading it gives the same phrase back."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise

from drillbox.errors import BadInput
from drillbox.music.charts import Span
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import Pitch
from drillbox.music.symbols.printed import symbol_text
from drillbox.notation.abc_fields import read_key, written_text

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


_UNIT = Fraction(1, 2)  # L:1/8, in quarter notes
_SIGNS = {-2: "__", -1: "_", 0: "=", 1: "^", 2: "^^"}
_BARS_A_LINE = 4


def write_abc(phrase: Phrase, number: int = 1) -> str:
    """Return the phrase as one ABC tune, ended by a line feed; ``number`` is its X: field.

    Raises BadInput where the line can't be written: it overlaps itself, goes beyond the chart,
    or has lengths or accidentals that ABC lacks.
    """
    head = [
        f"X:{number}",
        f"T:{written_text(phrase.title)}",
        *(["R:double time"] if phrase.double_time else []),
        f"M:{phrase.chart.meter.text()}",
        "L:1/8",
        f"Q:1/4={phrase.tempo}",
        f"K:{phrase.key.text()} transpose=0",  # lines are kept at concert pitch, and say so
    ]
    signs = _Signs(dict(read_key(phrase.key.text()).signature))
    bars = [_bar(bar, signs) for bar in segments(phrase)]
    lines = [
        " ".join(f"{bar} |" for bar in bars[start : start + _BARS_A_LINE])
        for start in range(0, len(bars), _BARS_A_LINE)
    ]
    lines[-1] += "]"
    return "\n".join([*head, *lines]) + "\n"


@dataclass(slots=True)
class _Signs:
    """Which accidental a reader would take for granted, under either rule of section 11.3."""

    signature: dict[str, int]
    _in_bar: dict[tuple[str, int | None], int] = field(default_factory=dict)

    def text(self, pitch: Pitch) -> str:
        """Return the pitch as ABC, with a sign wherever a reader might want one."""
        name = pitch.name
        if name.alter not in _SIGNS:
            raise BadInput(f"{pitch.text()} has more than two accidentals")
        rules = ((name.letter, None), (name.letter, pitch.octave))
        plain = self.signature.get(name.letter, 0)
        sign = ""
        if any(self._in_bar.get(rule, plain) != name.alter for rule in rules):
            sign = _SIGNS[name.alter]
            self._in_bar.update(dict.fromkeys(rules, name.alter))
        if pitch.octave >= 5:
            return sign + name.letter.lower() + "'" * (pitch.octave - 5)
        return sign + name.letter + "," * (4 - pitch.octave)

    def end_bar(self) -> None:
        """Forget the accidentals of the bar."""
        self._in_bar.clear()


def _bar(bar: list[Segment], signs: _Signs) -> str:
    """Return one bar; a blank before each beat makes the beams."""
    text = ""
    for index, segment in enumerate(bar):
        blank = " " if index and segment.start.denominator == 1 else ""
        text += blank + _symbol(segment.span) + _tuplet(bar, index) + _sound(segment, signs)
    signs.end_bar()
    return text


def _symbol(span: Span | None) -> str:
    if span is None:
        return ""
    text = symbol_text(span.chord)
    return f'"({text})"' if span.turnaround else f'"{text}"'


def _sound(segment: Segment, signs: _Signs) -> str:
    graces = "".join(signs.text(pitch) for pitch in segment.graces)
    pitch = signs.text(segment.pitch) if segment.pitch else "z"
    return (
        (f"{{{graces}}}" if graces else "")
        + ("!accent!" if segment.target else "")
        + pitch
        + _length(segment.length)
        + ("-" if segment.tied else "")
    )


def _odd(length: Fraction) -> int:
    """Return the odd part of a length's denominator: 3 for eighths in a triplet."""
    odd = length.denominator
    while odd % 2 == 0:
        odd //= 2
    return odd


def _time_of(odd: int) -> int:
    """Return in the time of how many so many notes go: the power of two below."""
    return 1 << (odd.bit_length() - 1)


def _tuplet(bar: list[Segment], index: int) -> str:
    """Return ``(p:q:r`` where a run of segments of one tuplet kind begins."""
    odd = _odd(bar[index].length)
    if odd == 1 or (index and _odd(bar[index - 1].length) == odd):
        return ""
    run = 1
    while index + run < len(bar) and _odd(bar[index + run].length) == odd:
        run += 1
    if odd > 999 or run > 999:
        raise BadInput("the line has lengths that ABC can't write")
    return f"({odd}:{_time_of(odd)}:{run}"


def _length(length: Fraction) -> str:
    odd = _odd(length)
    units = length / _UNIT * odd / _time_of(odd)
    if units.numerator > 99_999 or units.denominator > 99_999:
        raise BadInput("the line has lengths that ABC can't write")
    top = "" if units.numerator == 1 else str(units.numerator)
    return top if units.denominator == 1 else f"{top}/{units.denominator}"
