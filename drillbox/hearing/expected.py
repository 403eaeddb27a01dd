"""The line as it is listened for: onsets, pitch classes and what each note is to the phrase."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from drillbox.hearing.takes import Played
from drillbox.music.analysis.line_in_chart import subdivision
from drillbox.music.charts import Chart, place
from drillbox.music.heard import heard_chart, heard_with
from drillbox.music.phrases import LineNote


@dataclass(frozen=True, slots=True)
class Expected:
    """One pass of a line without its grace notes, which a player may leave out.

    ``onsets`` are in quarter notes from the first full bar, ``pitches`` sounding MIDI numbers;
    ``targets`` are indices; ``length`` is the whole chart's, ``bar`` one bar's;
    ``smallest`` is the line's subdivision. ``bars`` counts from 1 (a pickup: 0), ``spans`` are
    those of the chart that each note is heard with, from 0.
    """

    onsets: tuple[Fraction, ...]
    pitches: tuple[int, ...]
    targets: frozenset[int]
    bars: tuple[int, ...]
    spans: tuple[int, ...]
    length: Fraction
    bar: Fraction
    smallest: Fraction

    def __len__(self) -> int:
        return len(self.onsets)

    @property
    def classes(self) -> tuple[int, ...]:
        """Return the sounding pitch classes."""
        return tuple(each % 12 for each in self.pitches)

    def has(self, index: int, note: Played) -> bool:
        """Return whether what was played is this note of the line, in whatever octave."""
        return (note.pitch - self.pitches[index]) % 12 == 0

    def transposed(self, semitones: int) -> Expected:
        """Return it in another key."""
        return replace(self, pitches=tuple(each + semitones for each in self.pitches))


def expected(line: Sequence[LineNote], chart: Chart, targets: Collection[int] = ()) -> Expected:
    """Return what to listen for; ``line`` is at concert pitch, in order of onset.

    ``targets`` are the indices of its target notes, as its analysis has them.
    """
    heard, _ = heard_with(line, heard_chart(chart))
    struck = [index for index, note in enumerate(line) if note.length > 0]
    notes = [line[index] for index in struck]
    return Expected(
        tuple(note.onset for note in notes),
        tuple(note.pitch.midi for note in notes),
        frozenset(at for at, index in enumerate(struck) if index in targets),
        tuple(place(chart.meter, note.onset)[0] for note in notes),
        tuple(heard[index] for index in struck),
        chart.length,
        chart.meter.bar,
        subdivision(notes, chart.meter),
    )
