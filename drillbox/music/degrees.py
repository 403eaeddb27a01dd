"""A note against a chord: its degree as players name it, what kind of tone it is; and roots.

Everything here goes by sounding pitch, so a line spelled G# over C7 gets the same degree
(b13) as one spelled Ab, and an analysis is the same in all twelve keys. Last come the roots that
players write, and chords moved by interval.
"""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache
from typing import Literal

from drillbox.music.chords import (
    Chord,
    degree_text,
    guide_tones,
    intervals,
    is_half_diminished,
    is_minor_quality,
)
from drillbox.music.pitch import FOURTH, MAJOR_SCALE, Interval, Name

Family = Literal[
    "major",
    "minor",
    "dominant",
    "half-diminished",
    "diminished",
    "augmented",
    "suspended",
    "open",
]
_SIGN = re.compile(r"(?<![A-Za-z])(bb|b|#)(?=[0-9IViv])")
_SIGNS = {"bb": "𝄫", "b": "♭", "#": "♯"}
_ALWAYS = {0: "1", 1: "b9", 2: "9", 4: "3", 7: "5", 10: "b7", 11: "7"}


def semitones(degree: tuple[int, int]) -> int:
    """Return how far a degree (number, alteration) lies above the root, 0..11 semitones."""
    number, alter = degree
    return (MAJOR_SCALE[(number - 1) % 7] + alter) % 12


def above_root(chord: Chord, name: Name) -> int:
    """Return how far a note sounds above the chord's root, 0..11 semitones."""
    return (name.pitch_class - chord.root.pitch_class) % 12


@lru_cache(maxsize=1024)
def own_degrees(chord: Chord) -> dict[int, tuple[int, int]]:
    """Return the tones that the symbol itself names: semitones above the root → degree.

    Where two degrees sound alike (the #9 and a minor third), the lower number wins.
    """
    return {semitones(each): each for each in sorted(intervals(chord), reverse=True)}


@lru_cache(maxsize=1024)
def chord_semitones(chord: Chord) -> frozenset[int]:
    """Return the chord tones: the symbol's degrees below the octave (1 3 5 7, or 2 4 6).

    What a symbol adds above the octave (9, 11, 13 and their alterations) is a tension.
    """
    return frozenset(at for at, (number, _) in own_degrees(chord).items() if number < 8)


@lru_cache(maxsize=1024)
def guide_semitones(chord: Chord) -> frozenset[int]:
    """Return the guide tones in semitones above the root; see ``tones.guide_tones``."""
    return frozenset(above_root(chord, each) for each in guide_tones(chord))


def alike(chord: Chord | None, other: Chord | None) -> bool:
    """Return whether two chords sound the same, however they're spelled."""
    if chord is None or other is None:
        return chord is other
    return _sound(chord) == _sound(other)


def _sound(chord: Chord) -> tuple[int, frozenset[tuple[int, int]], int]:
    bass = chord.bass or chord.root
    return chord.root.pitch_class, frozenset(intervals(chord)), bass.pitch_class


def degree(chord: Chord, name: Name) -> str:
    """Return the degree of a note against a chord as players name it, in ASCII.

    A tone of the symbol keeps the symbol's own name (b5 in a half-diminished chord, #5 in
    an augmented one, bb7 in a diminished one, 4 in a sus chord, 6 in a sixth chord). Other
    notes are named by the chord's quality, never by their spelling:

    ====  =====================================================================
    1     b9, never #1
    2     9
    3     #9 over a major third, else b3
    5     11; 4 if the chord has no seventh
    6     b5 over a minor third, else #11
    8, 9  b13 and 13; b6 and 6 if the chord has no seventh
    ====  =====================================================================

    (left: semitones above the root). The third of a minor chord is called b3.
    """
    at = above_root(chord, name)
    own = own_degrees(chord)
    if at in own:
        return degree_text(*own[at])
    if at in _ALWAYS:
        return _ALWAYS[at]
    if at == 3:
        return "#9" if (3, 0) in own.values() else "b3"
    if at == 6:
        return "b5" if (3, -1) in own.values() else "#11"
    seventh = any(number == 7 for number, _ in own.values())
    with_seventh, without = {5: ("11", "4"), 8: ("b13", "b6"), 9: ("13", "6")}[at]
    return with_seventh if seventh else without


def signs(text: str, *, ascii: bool) -> str:
    """Return text with its b and # before numbers and numerals as they are, or in Unicode.

    ``bb7`` becomes ``𝄫7`` and ``sub V/bIII`` becomes ``sub V/♭III``.
    """
    if ascii:
        return text
    return _SIGN.sub(lambda sign: _SIGNS[sign[0]], text)


@lru_cache(maxsize=1024)
def family(chord: Chord) -> Family:
    """Return the family that decides how a chord functions, by its third, fifth and seventh.

    ``open`` is a chord with neither third nor fourth, such as C5.
    """
    own = set(own_degrees(chord).values())
    if (3, 0) in own:
        if (7, -1) in own:
            return "dominant"
        plain = not any(number in (6, 7) for number, _ in own)
        return "augmented" if plain and (5, 1) in own else "major"
    if (3, -1) in own:
        if (5, -1) not in own:
            return "minor"
        return "half-diminished" if (7, -1) in own else "diminished"
    return "suspended" if own & {(4, 0), (2, 0)} else "open"


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
