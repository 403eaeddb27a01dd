"""A chart: bars of chord symbols in a meter. Everything the player sees in a drill."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache

from drillbox.music.chords import Chord

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

    def sounding(self) -> tuple[Chord, ...]:
        """Return the chords in order, without the places that have none."""
        return tuple(chord for chord in self.chords() if chord is not None)
