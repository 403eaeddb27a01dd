"""A phrase without a line: time and length, and whether chord tones came at the changes.

Nothing is said of the notes themselves, as any of them may be meant.
"""

from __future__ import annotations

from cmath import exp, pi
from dataclasses import dataclass, replace
from itertools import pairwise
from statistics import median

from drillbox.hearing.takes import Take
from drillbox.music.charts import Chart
from drillbox.music.chords import chord_semitones
from drillbox.music.heard import chord_begins, heard_chart
from drillbox.output import counted

NEAR, TOGETHER = 0.75, 0.1
"""Quarters before and after a change within which its chord tone may come, where no other note
comes nearer: an eighth early is an anticipation, three eighths late still an arrival. And quarters
within which two come equally near."""
GRIDS = (2, 3, 4)
"""Notes to a quarter that a line may be made of: eighths, triplets, sixteenths; swing lies between
the first two."""
FEWEST = 8
"""Notes below which nothing is said of time."""
WITH, ASTRAY = 0.6, 0.3
"""How closely notes lie together on the best grid, from 0 to 1: so much is with the beat, less than
so much is not, and between nothing is said. Sixteen notes at random have some 0.3."""
APART = 0.18
"""Seconds between notes, in the median, below which nothing is said to be astray: 25 ms of a
player's own spread would look like it."""


@dataclass(frozen=True, slots=True)
class OverChart:
    """Bars played in of all there are, changes met of all; None without a click to count by.

    ``notes`` are all that were heard; ``together`` tells how they kept to the beat, see
    ``WITH``; ``apart`` are the seconds from one to the next, in the median.
    """

    bars: int
    of_bars: int
    notes: int
    met: int | None = None
    of_changes: int | None = None
    together: float | None = None
    apart: float = 0.0

    def text(self) -> str:
        """Return it as a player reads it."""
        said = ["no line to judge the notes by"]
        if not self.notes:
            said.append("nothing heard")
        elif self.met is None:
            said.append(f"{counted(self.notes, 'note')} heard, play to the beat for the changes")
        else:
            said.append(f"played in {self.bars} of {self.of_bars} bars")
            said.append(f"chord tones at {self.met} of {self.of_changes} changes")
        if self.together is not None and self.together >= WITH:
            said.append("with the beat")
        elif self.together is not None and self.together < ASTRAY and self.apart >= APART:
            said.append("not with the beat")
        return ", ".join(said)


def over_chart(chart: Chart, take: Take) -> OverChart:
    """Return how what was played lies over the chart, in the fullest of its loops.

    Slash chords are met as they are heard, see ``heard``.
    """
    chart, total = heard_chart(chart), len(chart.bars)
    if take.beat is None:
        return OverChart(0, total, len(take.notes))
    onsets = [((n.start - take.beat.start) / take.beat.quarter, n.pitch) for n in take.notes]
    loops = {int(at // float(chart.length)) for at, _ in onsets} or {0}
    best = max(
        (_one_loop(chart, onsets, each * float(chart.length)) for each in loops),
        key=lambda each: (each.bars, each.met or 0),
    )
    steps = [after - at for (at, _), (after, _) in pairwise(onsets)]
    return replace(best, apart=median(steps) * take.beat.quarter if steps else 0.0)


def _one_loop(chart: Chart, onsets: list[tuple[float, int]], shift: float) -> OverChart:
    length, bar = float(chart.length), float(chart.meter.bar)
    here = [(at - shift, pitch) for at, pitch in onsets if -NEAR <= at - shift < length]
    played = {int(at // bar) for at, _ in here if at >= 0}
    met = count = 0
    for (start, span), begins in zip(chart.spans(), chord_begins(chart), strict=True):
        if not begins or span.chord is None or span.turnaround:
            continue
        count += 1
        fits = {(span.chord.root.pitch_class + s) % 12 for s in chord_semitones(span.chord)}
        met += not fits.isdisjoint(_nearest(float(start), here))
    found = _together([at for at, _ in here])
    return OverChart(len(played), len(chart.bars), len(onsets), met, count, found)


def _nearest(change: float, here: list[tuple[float, int]]) -> set[int]:
    """Return the pitch classes of what was played nearest to a change."""
    off = [(abs(at - change), pitch % 12) for at, pitch in here if abs(at - change) <= NEAR]
    least = min(off, default=(0.0, 0))[0]
    return {each for away, each in off if away <= least + TOGETHER}


def _together(onsets: list[float]) -> float | None:
    """Return how closely onsets in quarters lie on the best grid; None where they are few.

    The mean resultant length of their phases (Mardia & Jupp 2000): a steady lag, as when laid
    back, takes nothing from it, and a tempo of one's own all.
    """
    if len(onsets) < FEWEST:
        return None
    return max(abs(sum(exp(2j * pi * each * at) for at in onsets)) / len(onsets) for each in GRIDS)
