"""How a line lies in its chart: beats, pulses, and the chord that each note is heard with."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate, pairwise

from drillbox.music.charts import Chart, Meter, counted_beat, is_compound
from drillbox.music.chords import Chord
from drillbox.music.heard import chord_begins, heard_with
from drillbox.music.phrases import LineNote

Placed = tuple[Fraction, Fraction, Chord | None]
Scales = Sequence[tuple[frozenset[int], ...]]
"""For each span of the chart the scales that are diatonic there, in semitones above its root."""


def subdivision(line: Sequence[LineNote], meter: Meter) -> Fraction:
    """Return the line's smallest common note value in quarter notes.

    The shortest time from one note to the next (the last one: its length) that at least a
    quarter of the notes have; where none is so common, the shortest of the commonest. Grace
    notes don't count. Without notes it is the beat.
    """
    values = struck_values(line)
    if not values:
        return counted_beat(meter)
    counts = Counter(values)
    common = [each for each in counts if counts[each] * 4 >= len(values)]
    return min(common or [each for each in counts if counts[each] == max(counts.values())])


def struck_values(line: Sequence[LineNote]) -> tuple[Fraction, ...]:
    """Return each note's value in quarter notes: to the next note or to its own end.

    Grace notes don't count.
    """
    struck = [note for note in line if note.length > 0]
    gaps = [after.onset - note.onset for note, after in pairwise(struck)]
    values = [
        min(gap, note.length) if gap > 0 else note.length
        for note, gap in zip(struck, gaps, strict=False)
    ]
    return (*values, struck[-1].length) if struck else ()


def strong_distance(meter: Meter, smallest: Fraction) -> Fraction:
    """Return the distance of the strong places, in quarter notes.

    The beat; in double time, where the subdivision is a quarter of a beat or less, two
    subdivisions; in 6/8, 9/8 and 12/8 the dotted quarter.
    """
    beat = counted_beat(meter)
    return smallest * 2 if not is_compound(meter) and smallest * 4 <= beat else beat


@dataclass(frozen=True, slots=True)
class Line:
    """A line over its looping chart.

    ``spans`` are (start, end, chord) in quarter notes; ``heard`` gives the index of the span
    that each note is heard with; ``begins`` tells which spans begin a chord; ``pickup`` are the
    notes before the first bar that lead into it; ``following`` the struck note after each note,
    and the length of the chart where that is in the next pass.
    """

    notes: tuple[LineNote, ...]
    chart: Chart
    spans: tuple[Placed, ...]
    begins: tuple[bool, ...]
    heard: tuple[int, ...]
    pickup: frozenset[int]
    following: tuple[tuple[int, Fraction], ...]
    smallest: Fraction
    pulse: Fraction

    @property
    def beat(self) -> Fraction:
        """Return the length of a counted beat in quarter notes."""
        return counted_beat(self.chart.meter)

    @property
    def chord_starts(self) -> tuple[int, ...]:
        """Return for each span the one in which its chord begins: its own unless it holds it."""
        begun = (index if begins else 0 for index, begins in enumerate(self.begins))
        return tuple(accumulate(begun, max))

    def chord(self, note: int) -> Chord | None:
        """Return the chord that a note is heard with."""
        return self.spans[self.heard[note]][2]

    def offset(self, note: int) -> Fraction:
        """Return how far a note begins after its span's start; before it: negative."""
        start, end, _ = self.spans[self.heard[note]]
        if self.notes[note].onset < 0:
            return self.notes[note].onset
        after = self.notes[note].onset % self.chart.length - start
        return after - self.chart.length if start + after >= end else after

    def in_time(self, note: int) -> bool:
        """Return whether a note begins no later than the middle of its span; a pickup is before."""
        if note in self.pickup:
            return False
        start, end, _ = self.spans[self.heard[note]]
        return self.offset(note) * 2 <= end - start

    def strong(self, note: int) -> bool:
        """Return whether a note is on a pulse, or is the early arrival of a chord."""
        early = self.offset(note) < 0 and note not in self.pickup
        return early or self.notes[note].onset % self.chart.meter.bar % self.pulse == 0

    def short(self, note: int) -> bool:
        """Return whether a note only moves: shorter than a beat, or no longer than its kind."""
        length = self.notes[note].length
        return length < self.beat or length <= self.smallest

    def next(self, note: int) -> int | None:
        """Return the note that one leads to, round the loop; None before a beat of silence."""
        after, again = self.following[note]
        end = self.notes[note].onset + self.notes[note].length
        rest = self.notes[after].onset + again - end
        return after if after != note and rest < self.beat else None

    def move(self, note: int, after: int) -> int:
        """Return the semitones from one note to another, upward positive."""
        return self.notes[after].pitch.midi - self.notes[note].pitch.midi


def line_over(notes: Sequence[LineNote], chart: Chart) -> Line:
    """Lay a line over its chart; the notes are in order of onset. See ``heard.heard_with``."""
    heard, pickup = heard_with(notes, chart)
    smallest = subdivision(notes, chart.meter)
    return Line(
        tuple(notes),
        chart,
        tuple((at, at + span.length, span.chord) for at, span in chart.spans()),
        chord_begins(chart),
        heard,
        pickup,
        _following(notes, chart.length),
        smallest,
        strong_distance(chart.meter, smallest),
    )


def _following(notes: Sequence[LineNote], length: Fraction) -> tuple[tuple[int, Fraction], ...]:
    found = []
    after, again = next((i for i, each in enumerate(notes) if each.length > 0), 0), length
    for index in reversed(range(len(notes))):
        found.append((after, again))
        if notes[index].length > 0:
            after, again = index, Fraction(0)
    return tuple(reversed(found))
