"""Roots that players write, and chords moved by interval."""

from __future__ import annotations

from dataclasses import replace

from drillbox.music.chords import Chord
from drillbox.music.degrees import family, own_degrees
from drillbox.music.pitch import FOURTH, Interval, Name
from drillbox.music.tones import is_half_diminished, is_minor_quality

_UNWRITTEN = {Name("C", -1), Name("F", -1), Name("E", 1), Name("B", 1)}


def is_written(name: Name) -> bool:
    """Return whether players write a chord on this root (common practice)."""
    return abs(name.alter) < 2 and name not in _UNWRITTEN


def is_written_under(chord: Chord) -> bool:
    """Return whether players write this chord on its root: no D#maj7, G#6 or A#maj7."""
    sharp = chord.root.alter == 1 and chord.root.letter in "DGA"
    own = own_degrees(chord).values()
    coloured = any(number in (6, 7) for number, _ in own)
    return is_written(chord.root) and not (sharp and coloured and family(chord) == "major")


def chord_up(chord: Chord, interval: Interval) -> Chord:
    """Return the chord an interval away, as spelled by its steps."""
    bass = chord.bass.up(interval) if chord.bass else None
    return replace(chord, root=chord.root.up(interval), bass=bass)


def is_ii(chord: Chord, following: Chord) -> bool:
    """Return whether a minor or half-diminished chord lies a fourth below the one after it."""
    minor = is_minor_quality(chord) or is_half_diminished(chord)
    return minor and chord.root.up(FOURTH) == following.root
