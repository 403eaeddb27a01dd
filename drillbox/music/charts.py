"""A chart: bars of chord symbols in a meter. Everything the player sees in a drill.

A chart is kept as plain JSON values, for rows: compact, exact and quick to read back. A fraction
is text (``"3/2"``), a name its ASCII spelling (``"Bb"``), a chord
``[root, kind, [[action, number, alter], ...], bass]`` with the trailing parts left out where
they are empty, no chord ``null``, and a span ``[start, length, chord]`` with a final ``1`` for
the turnaround.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise, takewhile
from typing import Any

from drillbox.music.chords import KINDS, Chord, Degree
from drillbox.music.pitch import name_from

MOST_BARS = 128


@dataclass(frozen=True, slots=True)
class Meter:
    """A time signature; ``beats`` over ``unit``, as in 4/4 or 6/8."""

    beats: int
    unit: int

    @property
    def beat(self) -> Fraction:
        """Return the length of one beat in quarter notes."""
        return Fraction(4, self.unit)

    @property
    def bar(self) -> Fraction:
        """Return the length of one bar in quarter notes."""
        return _bar(self.beats, self.unit)

    def text(self) -> str:
        """Return the meter as written: ``4/4``."""
        return f"{self.beats}/{self.unit}"


@lru_cache(maxsize=256)  # asked for with every chord of every key
def _bar(beats: int, unit: int) -> Fraction:
    return Fraction(4 * beats, unit)


@dataclass(frozen=True, slots=True)
class Span:
    """One chord (None: no chord) held for ``length`` from ``start`` within its bar.

    Both are exact and in quarter notes. ``turnaround`` marks the chord that leads the
    last bar back to the first; it is printed in parentheses.
    """

    start: Fraction
    length: Fraction
    chord: Chord | None
    turnaround: bool = False


@dataclass(frozen=True, slots=True)
class Bar:
    """One full bar; its spans follow one another and fill it."""

    spans: tuple[Span, ...]


@dataclass(frozen=True, slots=True)
class Chart:
    """Full bars in one meter. A line's pickup notes lie before beat 0 and have no bar here.

    ValueError where the spans of a bar don't follow one another, each longer than nothing, to
    its end: such a chart can't be played.
    """

    meter: Meter
    bars: tuple[Bar, ...]

    def __post_init__(self) -> None:
        """Refuse bars that their spans don't fill."""
        for number, bar in enumerate(self.bars, start=1):
            end = Fraction(0)
            for span in bar.spans:
                if span.length <= 0:
                    raise ValueError(f"bar {number} has a chord of {span.length} quarter notes")
                if span.start != end:
                    raise ValueError(f"the chords of bar {number} don't follow one another")
                end += span.length
            if end != self.meter.bar:
                raise ValueError(f"the chords of bar {number} don't fill it")

    @property
    def length(self) -> Fraction:
        """Return the length of the whole chart in quarter notes."""
        return self.meter.bar * len(self.bars)

    def spans(self) -> tuple[tuple[Fraction, Span], ...]:
        """Return every span with its start from the beginning of the chart, in quarter notes."""
        bar = self.meter.bar
        return tuple(
            (bar * index + span.start, span)
            for index, each in enumerate(self.bars)
            for span in each.spans
        )

    def span_at(self, onset: Fraction) -> Span | None:
        """Return the span that sounds ``onset`` quarter notes from the first full bar.

        The chart loops: a pickup lies over its end, and what comes after it over its
        beginning. None where there are no bars.
        """
        if not self.bars:
            return None
        index, within = divmod(onset % self.length, self.meter.bar)
        spans = self.bars[index].spans
        return next((span for span in reversed(spans) if span.start <= within), None)

    def chords(self) -> list[Chord | None]:
        """Return the chord of every span in order, None where it has none."""
        return [span.chord for _, span in self.spans()]

    def with_chords(self, chords: Iterable[Chord | None]) -> Chart:
        """Return the chart with other chords, one for each of its spans in order."""
        coming = iter(chords)
        bars = (
            Bar(tuple(replace(span, chord=next(coming)) for span in bar.spans)) for bar in self.bars
        )
        return replace(self, bars=tuple(bars))

    @property
    def turnaround(self) -> tuple[Span, ...]:
        """Return the spans that are marked as the turnaround; () where there are none."""
        return tuple(span for _, span in self.spans() if span.turnaround)

    def sounding(self) -> tuple[Chord, ...]:
        """Return the chords in order, without the places that have none."""
        return tuple(chord for chord in self.chords() if chord is not None)


def turnaround_at_end(spans: Sequence[Span]) -> int:
    """Return how many spans at the end of a chart are its turnaround, by their marks.

    It consists of chords, and others come before it.
    """
    ending = takewhile(lambda span: span.turnaround and span.chord, reversed(spans))
    count = sum(1 for _ in ending)
    return count if count < len(spans) else 0


def is_compound(meter: Meter) -> bool:
    """Return whether three written beats make one that is counted: 6/8, 9/8, 12/8 and the like.

    The unit is an eighth or shorter, and there are six of them, nine, twelve ... (common
    practice); 3/8 is counted in eighths.
    """
    return meter.unit >= 8 and meter.beats > 3 and meter.beats % 3 == 0


def counted_beat(meter: Meter) -> Fraction:
    """Return the beat as counted aloud, in quarter notes: a dotted quarter in 12/8."""
    return meter.beat * (3 if is_compound(meter) else 1)


def counted_beats(meter: Meter) -> int:
    """Return how many beats are counted in a bar: four in 12/8."""
    return meter.beats // (3 if is_compound(meter) else 1)


_SIXTEENTHS = {Fraction(0): "", Fraction(1, 4): "e", Fraction(1, 2): "&", Fraction(3, 4): "a"}


def place(meter: Meter, onset: Fraction) -> tuple[int, Fraction]:
    """Return bar and beat as players count, both from 1; a pickup lies in bar 0 or before.

    ``onset`` is in quarter notes, the beat in counted beats (2.5: the and of 2 in 4/4).
    """
    bar, within = divmod(onset, meter.bar)
    return int(bar) + 1, within / counted_beat(meter) + 1


def beat_text(beat: Fraction) -> str:
    """Return a beat as counted aloud: 1, 1e, 1&, 1a; other places as 2+1/3."""
    whole, rest = divmod(beat, 1)
    return f"{whole}{_SIXTEENTHS[rest]}" if rest in _SIXTEENTHS else f"{whole}+{rest}"


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


def _span_json(span: Span) -> list[Any]:
    value: list[Any] = [str(span.start), str(span.length), _chord_json(span.chord)]
    return [*value, 1] if span.turnaround else value


def _span_from(value: list[Any]) -> Span:
    return Span(
        fraction_from(value[0]), fraction_from(value[1]), _chord_from(value[2]), len(value) > 3
    )


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
    if value[1] not in KINDS or value[1] == "none":
        raise ValueError(f"{value[1]!r:.40} isn't a chord kind of MusicXML")
    return Chord(
        name_from(value[0]), value[1], degrees, name_from(value[3]) if len(value) > 3 else None
    )


def fraction_from(text: str) -> Fraction:
    """Return the fraction that its text stands for: ``3/2``, ``2``."""
    # Twice as quick as Fraction(text), and a start-up reads many.
    above, _, below = text.partition("/")
    return Fraction(int(above), int(below or 1))
