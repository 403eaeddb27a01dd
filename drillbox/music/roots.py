"""Roots that players write, and chords moved by interval."""

from __future__ import annotations

from dataclasses import replace

from drillbox.music.chords import Chord
from drillbox.music.pitch import Interval, Name

_UNWRITTEN = {Name("C", -1), Name("F", -1), Name("E", 1), Name("B", 1)}


def is_written(name: Name) -> bool:
    """Return whether players write a chord on this root (common practice)."""
    return abs(name.alter) < 2 and name not in _UNWRITTEN


def chord_up(chord: Chord, interval: Interval) -> Chord:
    """Return the chord an interval away, as spelled by its steps."""
    bass = chord.bass.up(interval) if chord.bass else None
    return replace(chord, root=chord.root.up(interval), bass=bass)
