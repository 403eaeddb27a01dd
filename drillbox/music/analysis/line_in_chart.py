"""How a line lies in its chart: beats, pulses, and the chord that each note is heard with."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate, pairwise

from drillbox.music.analysis.functions import chord_begins
from drillbox.music.charts import Chart, Meter, counted_beat, is_compound
from drillbox.music.chords import Chord, chord_semitones, sound_alike
from drillbox.music.degrees import above_root
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


def is_chord_tone(chord: Chord | None, note: LineNote) -> bool:
    """Return whether a note sounds one of the chord tones; see ``chords.chord_semitones``."""
    return chord is not None and above_root(chord, note.pitch.name) in chord_semitones(chord)


def line_over(notes: Sequence[LineNote], chart: Chart) -> Line:
    """Lay a line over its chart; the notes are in order of onset.

    A note is heard with the chord that sounds where it begins, a pickup with the first chord,
    which it leads to (common practice). An early arrival, the last note within a beat before a
    change, nothing being struck on the change itself, is heard with the coming chord

    - if it sounds across the change and is a chord tone of the coming chord, or is none of
      either chord and sounds for longer after the change than before it;
    - if it ends before the change and is a chord tone of the coming chord only;

    but a chord tone that is struck on the change to its own chord, or a whole beat before the
    coming one, belongs to its own.
    Of a pickup only a last note that sounds into the first bar is such an arrival.
    """
    spans = tuple((at, at + span.length, span.chord) for at, span in chart.spans())
    begins = chord_begins(chart)
    heard: list[int] = []
    pickup: list[int] = []
    for index, note in enumerate(notes):
        span, early = _heard_with(notes, index, chart, spans, begins)
        if note.onset < 0 and not (early and note.onset + note.length > 0):
            pickup.append(index)
        heard.append(0 if note.onset < 0 else span)
    smallest = subdivision(notes, chart.meter)
    strong = strong_distance(chart.meter, smallest)
    following = _following(notes, chart.length)
    return Line(
        tuple(notes),
        chart,
        spans,
        begins,
        tuple(heard),
        frozenset(pickup),
        following,
        smallest,
        strong,
    )


def _heard_with(
    notes: Sequence[LineNote],
    index: int,
    chart: Chart,
    spans: Sequence[Placed],
    begins: Sequence[bool],
) -> tuple[int, bool]:
    """Return the span that a note is heard with, and whether it is early there."""
    note, within = notes[index], notes[index].onset % chart.length
    now = bisect_right([start for start, _, _ in spans], within) - 1
    coming = (now + 1) % len(spans)
    change = spans[now][1] - within
    changing = begins[coming] and not sound_alike(spans[coming][2], spans[now][2])
    last = changing and _until_next(notes, index, chart) > change
    beat = counted_beat(chart.meter)
    struck = (begins[now] and spans[now][0] == within) or change == beat
    own = struck and is_chord_tone(spans[now][2], note)
    near = note.length > 0 and change <= beat
    early = last and near and not own and _belongs(note, change, spans, now)
    return (coming if early else now), early


def _belongs(note: LineNote, change: Fraction, spans: Sequence[Placed], now: int) -> bool:
    """Return whether a note before a change, ``change`` quarter notes away, belongs behind it."""
    fits_now = is_chord_tone(spans[now][2], note)
    fits_coming = is_chord_tone(spans[(now + 1) % len(spans)][2], note)
    if note.length <= change:
        return fits_coming and not fits_now
    return fits_coming or (not fits_now and note.length > 2 * change)


def _until_next(notes: Sequence[LineNote], index: int, chart: Chart) -> Fraction:
    """Return the time to the next onset, in the next pass for the last note."""
    onset = notes[index].onset
    for after in range(index + 1, len(notes)):
        if notes[after].onset > onset:
            return notes[after].onset - onset
    return notes[0].onset + chart.length - onset


def _following(notes: Sequence[LineNote], length: Fraction) -> tuple[tuple[int, Fraction], ...]:
    found = []
    after, again = next((i for i, each in enumerate(notes) if each.length > 0), 0), length
    for index in reversed(range(len(notes))):
        found.append((after, again))
        if notes[index].length > 0:
            after, again = index, Fraction(0)
    return tuple(reversed(found))
