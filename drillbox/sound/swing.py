"""Swing: how a line's eighths are laid in time. Eighths alone swing; everything else is as written.

A swung beat is long-short. The ratio of the two is set by name, and the tempo bounds it: at fast
tempos the short note stays at about a tenth of a second, so that eighths come out ever more even
(Friberg & Sundström, "Swing Ratios and Ensemble Timing in Jazz Performance", 2002).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Literal

from drillbox.music.charts import Meter
from drillbox.music.phrases import LineNote

Swing = Literal["even", "light", "triplet"]
RATIOS: dict[str, Fraction] = {
    "even": Fraction(1),
    "light": Fraction(3, 2),
    "triplet": Fraction(2),
}
"""Long over short: 1:1, 3:2 and the written-out triplet 2:1 (common practice)."""
SHORTEST = Fraction(1, 10)  # seconds
_HALF = Fraction(1, 2)


def swing_ratio(swing: Swing, tempo: int, meter: Meter, *, double_time: bool = False) -> Fraction:
    """Return long over short at a tempo in quarter notes a minute, 1 or more.

    1 (even) in double time and in meters whose beat isn't a quarter note.
    """
    if double_time or meter.beat != 1:
        return Fraction(1)
    most = Fraction(60, tempo) / SHORTEST - 1
    return max(Fraction(1), min(RATIOS[swing], most))


def swung(line: Sequence[LineNote], ratio: Fraction) -> list[LineNote]:
    """Return the line with its off-beat eighths moved; a beat with other divisions stays."""
    straight = set(_divided(line))
    late = ratio / (1 + ratio)

    def moved(at: Fraction) -> Fraction:
        beat, within = divmod(at, 1)
        return beat + late if within == _HALF and beat not in straight else at

    found = []
    for note in line:
        onset, end = moved(note.onset), moved(note.onset + note.length)
        found.append(replace(note, onset=onset, length=end - onset))
    return found


def _divided(line: Iterable[LineNote]) -> Iterable[int]:
    """Yield the beats in which a note begins anywhere but on the beat or half-way to the next."""
    for note in line:
        beat, within = divmod(note.onset, 1)
        if within not in {0, _HALF}:
            yield int(beat)
