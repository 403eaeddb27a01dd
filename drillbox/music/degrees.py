"""A note against a chord: its degree as players name it, and what kind of tone it is.

Everything here goes by sounding pitch, so a line spelled G# over C7 gets the same degree
(b13) as one spelled Ab, and an analysis is the same in all twelve keys.
"""

from __future__ import annotations

import re
from functools import lru_cache

from drillbox.music.chords import (
    Chord,
    degree_text,
    guide_tones,
    own_degrees,
)
from drillbox.music.pitch import Name

_SIGN = re.compile(r"(?<![A-Za-z])(bb|b|#)(?=[0-9IViv])")
_SIGNS = {"bb": "𝄫", "b": "♭", "#": "♯"}
_ALWAYS = {0: "1", 1: "b9", 2: "9", 4: "3", 7: "5", 10: "b7", 11: "7"}


def above_root(chord: Chord, name: Name) -> int:
    """Return how far a note sounds above the chord's root, 0..11 semitones."""
    return (name.pitch_class - chord.root.pitch_class) % 12


@lru_cache(maxsize=1024)
def guide_semitones(chord: Chord) -> frozenset[int]:
    """Return the guide tones in semitones above the root; see ``chords.guide_tones``."""
    return frozenset(above_root(chord, each) for each in guide_tones(chord))


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


def with_signs(text: str, *, ascii: bool) -> str:
    """Return text with its b and # before numbers and numerals as they are, or in Unicode.

    ``bb7`` becomes ``𝄫7`` and ``sub V/bIII`` becomes ``sub V/♭III``.
    """
    if ascii:
        return text
    return _SIGN.sub(lambda sign: _SIGNS[sign[0]], text)
