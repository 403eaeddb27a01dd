"""The line as it is listened for: onsets, pitch classes and what each note is to the phrase."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from drillbox.music.analysis.line_in_chart import line_over
from drillbox.music.analysis.targets import targets
from drillbox.music.charts import Chart, place
from drillbox.music.phrases import LineNote


@dataclass(frozen=True, slots=True)
class Expected:
    """One pass of a line without its grace notes, which a player may leave out.

    ``onsets`` are in quarter notes from the first full bar, ``classes`` sounding pitch
    classes; ``targets`` are indices; ``length`` is the whole chart's, ``bar`` one bar's;
    ``smallest`` is the line's subdivision. ``bars`` counts from 1 (a pickup: 0).
    """

    onsets: tuple[Fraction, ...]
    classes: tuple[int, ...]
    targets: frozenset[int]
    bars: tuple[int, ...]
    length: Fraction
    bar: Fraction
    smallest: Fraction

    def __len__(self) -> int:
        return len(self.onsets)

    def transposed(self, semitones: int) -> Expected:
        """Return it in another key."""
        return replace(self, classes=tuple((each + semitones) % 12 for each in self.classes))


def expected(line: Sequence[LineNote], chart: Chart) -> Expected:
    """Return what to listen for; ``line`` is at concert pitch, in order of onset."""
    struck = [note for note in line if note.length > 0]
    over = line_over(struck, chart)
    return Expected(
        tuple(note.onset for note in struck),
        tuple(note.pitch.name.pitch_class for note in struck),
        targets(over),
        tuple(place(chart.meter, note.onset)[0] for note in struck),
        chart.length,
        chart.meter.bar,
        over.smallest,
    )
