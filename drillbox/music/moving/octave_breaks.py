"""Break a line's octave where it is wider than an instrument, and keep most of its contour.

The rule: each note stays where it is or moves by whole octaves into the range. Of all ways that
one is taken in which the fewest intervals from note to note turn round (up becomes down or the
other way), then the one with the fewest breaks, then the one with the fewest notes moved, by as
few octaves as can be. Common practice among horn players: a line that runs out at the bottom
goes on an octave up.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple

from drillbox.music.keys import Key
from drillbox.music.moving.transposition import Fit, Range, phrase_to
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import Pitch


class Break(NamedTuple):
    """From the note at ``onset`` on the line lies so many octaves higher than before."""

    onset: Fraction
    octaves: int


Breaks = tuple[tuple[Key, tuple[Break, ...]], ...]
"""Keys as the player reads them, each with the places where its line breaks the octave."""

Cost = tuple[int, int, int]
"""Intervals that turn round, breaks, octaves that notes are moved, all notes together."""


def range_fit(line: Sequence[LineNote], sounding_range: Range) -> Fit:
    """Return by how much a line, as it lies, sticks out of a range."""
    midis = [note.pitch.midi for note in line]
    if not midis:
        return Fit(0)
    low, high = (pitch.midi for pitch in sounding_range)
    return Fit(0, max(0, max(midis) - high), max(0, low - min(midis)))


def broken(line: Sequence[LineNote], sounding_range: Range) -> tuple[LineNote, ...]:
    """Return the line with octaves broken so that it lies in the range.

    It comes back as it is where it fits, and where a note fits in no octave.
    """
    low, high = (pitch.midi for pitch in sounding_range)
    choices = [
        [octaves for octaves in range(-9, 10) if low <= note.pitch.midi + 12 * octaves <= high]
        for note in line
    ]
    if range_fit(line, sounding_range).fits or not all(choices):
        return tuple(line)
    ways: dict[int, tuple[Cost, tuple[int, ...]]] = {
        octaves: ((0, 0, abs(octaves)), (octaves,)) for octaves in choices[0]
    }
    for before, note, here in zip(line, line[1:], choices[1:], strict=False):
        step = note.pitch.midi - before.pitch.midi
        ways = {
            octaves: min(
                (_sum(cost, _cost(step, octaves - way[-1], octaves)), (*way, octaves))
                for cost, way in ways.values()
            )
            for octaves in here
        }
    _, best = min(ways.values())
    return tuple(_up(note, octaves) for note, octaves in zip(line, best, strict=True))


def breaks(plain: Sequence[LineNote], laid: Sequence[LineNote]) -> tuple[Break, ...]:
    """Return where a line as laid breaks the octaves of the plain one; none where it doesn't."""
    shifts = [
        (there.pitch.midi - here.pitch.midi) // 12 for here, there in zip(plain, laid, strict=False)
    ]
    return tuple(
        Break(note.onset, now - before)
        for note, before, now in zip(laid[1:], shifts, shifts[1:], strict=False)
        if now != before
    )


def breaks_anywhere(phrase: Phrase, laid: Iterable[tuple[Key, Sequence[LineNote]]]) -> bool:
    """Return whether a phrase's line, as laid in some of its keys, breaks an octave in one."""
    return any(breaks(phrase_to(phrase, key).line, line) for key, line in laid if line)


def line_laid(
    phrase: Phrase, key: Key, sounding_range: Range | None, *, breaking: bool
) -> tuple[LineNote, ...]:
    """Return a phrase's line in a key for a range, with octaves broken where that is wanted."""
    line = phrase_to(phrase, key, sounding_range=sounding_range).line
    return broken(line, sounding_range) if breaking and sounding_range else line


def _cost(step: int, change: int, octaves: int) -> Cost:
    moved = step + 12 * change
    return int(_sign(moved) != _sign(step)), int(change != 0), abs(octaves)


def _sum(one: Cost, other: Cost) -> Cost:
    return one[0] + other[0], one[1] + other[1], one[2] + other[2]


def _sign(step: int) -> int:
    return (step > 0) - (step < 0)


def _up(note: LineNote, octaves: int) -> LineNote:
    return replace(note, pitch=Pitch(note.pitch.name, note.pitch.octave + octaves))
