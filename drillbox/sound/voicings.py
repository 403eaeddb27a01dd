"""Held chords: guide tones in the middle register, moving as little as they can."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

from drillbox.music.chords import Chord, guide_tones, intervals, tone

LOWEST, HIGHEST = 52, 72
"""E3 to C5 as MIDI notes: above the bass, below most lines."""
_MIDDLE = 61
_WIDEST = 14


def voicing(chord: Chord, before: Sequence[int] = ()) -> tuple[int, ...]:
    """Return MIDI notes, low to high: the guide tones, or two tones where there is but one.

    Of all ways to lay them they take the one that moves least from ``before`` (the middle of
    the register at first).
    """
    classes = _classes(chord)
    places = [[n for n in range(LOWEST, HIGHEST + 1) if n % 12 == each] for each in classes]
    ways = [tuple(sorted(way)) for way in product(*places)]
    close = [way for way in ways if way[-1] - way[0] <= _WIDEST]
    return min(close, key=lambda way: (_movement(before, way), _off_middle(way), way))


def _classes(chord: Chord) -> list[int]:
    """Return two or more pitch classes, without doubles, where the chord has as many."""
    root_and_fifth = [each for each in intervals(chord) if each[0] in {5, 1}]
    spare = [tone(chord.root, *each) for each in sorted(root_and_fifth, reverse=True)]
    found: list[int] = []
    for name in guide_tones(chord):
        if name.pitch_class not in found:
            found.append(name.pitch_class)
    for name in spare:
        if len(found) < 2 and name.pitch_class not in found:
            found.append(name.pitch_class)
    return found or [chord.root.pitch_class]


def _movement(before: Sequence[int], way: Sequence[int]) -> int:
    """Return by how many semitones the notes move, each to its nearest neighbour."""
    if not before:
        return 0
    there = sum(min(abs(note - old) for old in before) for note in way)
    back = sum(min(abs(note - old) for note in way) for old in before)
    return there + back


def _off_middle(way: Sequence[int]) -> int:
    return sum(abs(note - _MIDDLE) for note in way)
