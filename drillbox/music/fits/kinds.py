"""The ways in which a phrase may fit, in order of how much each asks of the ear."""

from __future__ import annotations

from enum import IntEnum
from typing import Literal

Part = Literal["whole", "beginning", "end"]


class Kind(IntEnum):
    """How a phrase fits; a greater one asks more of the ear. ``REASONS`` says why it does."""

    EXACT = 0
    TENSIONS = 1
    DOUBLE_TIME = 2
    HALF_TIME = 3
    FIVE = 4
    TWO = 5
    DIMINISHED = 6
    TONIC = 7
    TRITONE = 8
    BACKDOOR = 9
    MODE = 10

    @property
    def words(self) -> str:
        """Return the name that a player knows it by."""
        return _WORDS[self]

    @property
    def ascii_words(self) -> str:
        """Return that name in ASCII."""
        return "ii and iim7b5" if self is Kind.TWO else _WORDS[self]

    @property
    def reason(self) -> str:
        """Return why a phrase that fits so isn't nonsense, and who says so."""
        return REASONS[self]


_WORDS = {
    Kind.EXACT: "exact",
    Kind.TENSIONS: "tensions",
    Kind.DOUBLE_TIME: "double time",
    Kind.HALF_TIME: "half time",
    Kind.FIVE: "V and ii-V",
    Kind.TWO: "ii and iiø",
    Kind.DIMINISHED: "diminished for V",
    Kind.TONIC: "iii or vi for I",
    Kind.TRITONE: "tritone substitute",
    Kind.BACKDOOR: "backdoor",
    Kind.MODE: "minor for major",
}

# What isn't here isn't offered. Left out on purpose, as players don't hear it so: a major
# seventh for a dominant on I, an augmented triad as a dominant, the beginning or end of a
# phrase that is one chord only (of a pilot's finds these were the ones that made no sense).
REASONS = {
    Kind.EXACT: "The same chords for as long, whatever the key.",
    Kind.TENSIONS: "6, maj7 and 9 serve one function, and so do m7 and m6, or 7, 9, 13, 7alt and "
    "7sus; a plain triad on V is a dominant (common practice).",
    Kind.DOUBLE_TIME: "The same chords at twice the pace: the line is played twice as fast.",
    Kind.HALF_TIME: "The same chords at half the pace: the line is played half as fast.",
    Kind.FIVE: "A dominant may be preceded by its ii, and a ii-V played as its V alone "
    "(common practice).",
    Kind.TWO: "The ii before a dominant may be borrowed from the other mode while the tonic keeps "
    "its own (common practice).",
    Kind.DIMINISHED: "A diminished seventh chord is a V7b9 without its root "
    "(the tones are the same; common practice).",
    Kind.TONIC: "iii and vi share three tones with Imaj7 or I6, and stand for I after its V, or "
    "before VI (common practice).",
    Kind.TRITONE: "Two dominants a tritone apart have the same third and seventh "
    "(the tones are the same; common practice).",
    Kind.BACKDOOR: "bVII7, with or without the iv before it, leads to I as V7 does "
    "(common practice).",
    Kind.MODE: "A cadence to minor for one to major, or the other way: the line keeps its shape "
    "and changes its thirds and sixths (common practice).",
}
