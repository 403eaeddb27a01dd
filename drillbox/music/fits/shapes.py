"""Charts as sequences of changes: root, quality and length, apart from any key."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Literal, NamedTuple

from drillbox.music.charts import Bar, Meter
from drillbox.music.chords import Chord, family_of, intervals
from drillbox.music.heard import heard_as

# Exact, in quarter notes where nothing else is said; whole ones are ints.
Time = Fraction | int

Quality = Literal[
    "major", "minor", "minor-major", "dominant", "half-diminished", "diminished", "augmented",
    "suspended", "open", "none",
]  # fmt: skip


TICKS = 20_160
"""To a quarter note: every length down to 64ths, their triplets, quintuplets and septuplets is
whole in them. Python computes and hashes ints ten times as fast as fractions."""


def ticks(time: Time) -> Time:
    """Return a time in quarter notes as ticks, exactly; an int but for odder lengths."""
    return int_where_whole(time * TICKS)


def int_where_whole(time: Time) -> Time:
    """Return a time as an int where it is whole."""
    return time.numerator if time.denominator == 1 else time


@lru_cache(maxsize=4096)
def root_and_quality(chord: Chord | None) -> tuple[int, Quality]:
    """Return the pitch class of a chord's root and the quality that it works with.

    Chords of one quality do the same and differ in their tensions: 6, maj7 and a plain triad
    are major; m6, m7 and m9 minor; 7, 13, 7alt and 7sus4 dominant; a bass changes nothing
    (common practice).
    """
    if chord is None:
        return 0, "none"
    root, kind = chord.root.pitch_class, family_of(chord)
    tones = intervals(chord)
    if kind == "suspended" and (7, -1) in tones:
        return root, "dominant"
    if kind == "minor" and (7, 0) in tones:
        return root, "minor-major"
    return root, kind


class ChordAt(NamedTuple):
    """A chord (None: no chord) and when it begins, in quarter notes."""

    start: Time
    chord: Chord | None


class Change(NamedTuple):
    """One root and quality held for a length from a start, in quarter notes."""

    root: int
    quality: Quality
    start: Time
    length: Time

    @property
    def end(self) -> Time:
        """Return when the next change comes."""
        return self.start + self.length


@dataclass(frozen=True, slots=True)
class Shape:
    """Bars as changes; ``chords`` holds every symbol of them as it is heard, for a closer look."""

    changes: tuple[Change, ...]
    chords: tuple[ChordAt, ...]
    starts: tuple[Time, ...]

    @property
    def end(self) -> Time:
        """Return when the last change is over."""
        return self.changes[-1].end if self.changes else 0


def shape_of(bars: Sequence[Bar], meter: Meter, *, turnaround: bool = True) -> Shape:
    """Return the shape of bars; without the ``turnaround`` its spans are left out.

    Slash chords that are suspended dominants are taken as such: see ``heard.heard_as``.
    Neighbours of one root and quality make one change, whatever bar lines lie between them.
    """
    full = int_where_whole(meter.bar)
    placed = [
        (
            full * index + int_where_whole(span.start),
            int_where_whole(span.length),
            span.chord and heard_as(span.chord),
        )
        for index, bar in enumerate(bars)
        for span in bar.spans
        if turnaround or not span.turnaround
    ]
    chords = tuple(ChordAt(start, chord) for start, _, chord in placed)
    return Shape(tuple(_changes(placed)), chords, tuple(each.start for each in chords))


def _changes(placed: Iterable[tuple[Time, Time, Chord | None]]) -> list[Change]:
    found: list[Change] = []
    for start, length, chord in placed:
        root, quality = root_and_quality(chord)
        last = found[-1] if found else None
        if last and chord is None:
            root = last.root  # so that silence moves with the rest
        if last and (last.root, last.quality) == (root, quality) and last.end == start:
            found[-1] = last._replace(length=last.length + length)
        else:
            found.append(Change(root, quality, start, length))
    return found


@lru_cache(maxsize=256)
def strong_beat_distance(meter: Meter) -> Time:
    """Return how far apart a meter's strong beats lie, in quarter notes.

    Half a bar of 4/4, 2/2, 12/8 and the like, otherwise a bar: where a phrase may begin as
    well as on the bar line (common practice).
    """
    half = meter.bar / 2
    halved = meter.beats % 2 == 0 and half >= 2 and half % meter.beat == 0
    return int_where_whole(half if halved else meter.bar)
