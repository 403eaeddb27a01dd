"""Spelled pitch: note names, pitches and intervals, exact under transposition."""

from __future__ import annotations

import re
from dataclasses import dataclass

LETTERS = "CDEFGAB"
FIFTHS = "FCGDAEB"
MAJOR_SCALE = (0, 2, 4, 5, 7, 9, 11)
"""Semitones of its seven degrees above the tonic; with C for it, those of the letters."""
SEMITONES = dict(zip(LETTERS, MAJOR_SCALE, strict=True))
# Steps that go with 0 to 11 semitones, as players name the interval.
_STEPS = (0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)
_ASCII = {-2: "bb", -1: "b", 0: "", 1: "#", 2: "##"}
_UNICODE = {-2: "𝄫", -1: "♭", 0: "", 1: "♯", 2: "𝄪"}
_ALTER = {"": 0, "b": -1, "♭": -1, "bb": -2, "♭♭": -2, "𝄫": -2,
          "#": 1, "♯": 1, "##": 2, "♯♯": 2, "x": 2, "𝄪": 2}  # fmt: skip
NAME = re.compile(r"([A-G])(𝄫|𝄪|♭♭|♯♯|bb|##|x|b|♭|#|♯|)")


def accidental(alter: int, *, ascii: bool = True) -> str:
    """Return the sign for an alteration of -2..2 semitones.

    Beyond two the single signs are repeated, so that no spelling fails to print.
    """
    table = _ASCII if ascii else _UNICODE
    if alter in table:
        return table[alter]
    return table[1 if alter > 0 else -1] * abs(alter)


@dataclass(frozen=True, slots=True)
class Interval:
    """A signed interval: diatonic ``steps`` (a third is 2) and ``semitones``."""

    steps: int
    semitones: int

    def __neg__(self) -> Interval:
        return Interval(-self.steps, -self.semitones)

    def __add__(self, other: Interval) -> Interval:
        return Interval(self.steps + other.steps, self.semitones + other.semitones)

    def spanning(self, semitones: int) -> Interval:
        """Return the interval in the octave in which it spans so many semitones."""
        octaves = (semitones - self.semitones) // 12
        return self + Interval(7 * octaves, 12 * octaves)


UNISON, FOURTH, FIFTH = Interval(0, 0), Interval(3, 5), Interval(4, 7)
LETTER_UP, LETTER_DOWN = Interval(1, 0), Interval(-1, 0)  # diminished seconds: E# to F, and back


def interval_of(semitones: int) -> Interval:
    """Return so many semitones, up or down, as the interval that players call them by."""
    octaves, rest = divmod(abs(semitones), 12)
    sign = -1 if semitones < 0 else 1
    return Interval(sign * (7 * octaves + _STEPS[rest]), semitones)


@dataclass(frozen=True, slots=True)
class Name:
    """A spelled note name without octave: a letter and an alteration in semitones."""

    letter: str
    alter: int = 0

    @property
    def pitch_class(self) -> int:
        """Return the sounding pitch class, 0 (C) to 11."""
        return (SEMITONES[self.letter] + self.alter) % 12

    @property
    def fifths(self) -> int:
        """Return how many fifths it lies above C; flats count down."""
        return FIFTHS.index(self.letter) - 1 + 7 * self.alter

    def text(self, *, ascii: bool = True) -> str:
        """Return the name as players write it: ``Bb`` or ``B♭``."""
        return self.letter + accidental(self.alter, ascii=ascii)

    def up(self, interval: Interval) -> Name:
        """Return the name an interval away, spelled by its steps."""
        return Pitch(self, 4).up(interval).name

    def interval_to(self, other: Name) -> Interval:
        """Return the ascending interval to ``other``, of 0 to 6 steps."""
        steps = (LETTERS.index(other.letter) - LETTERS.index(self.letter)) % 7
        natural = (SEMITONES[other.letter] - SEMITONES[self.letter]) % 12
        return Interval(steps, natural + other.alter - self.alter)


@dataclass(frozen=True, slots=True)
class Pitch:
    """A spelled pitch; octave 4 begins at middle C (C4 = MIDI note 60)."""

    name: Name
    octave: int

    @property
    def midi(self) -> int:
        """Return the MIDI note number."""
        return 12 * (self.octave + 1) + SEMITONES[self.name.letter] + self.name.alter

    def text(self, *, ascii: bool = True) -> str:
        """Return name and octave: ``Bb4``."""
        return f"{self.name.text(ascii=ascii)}{self.octave}"

    def up(self, interval: Interval) -> Pitch:
        """Return the pitch an interval away, spelled by its steps."""
        index = LETTERS.index(self.name.letter) + interval.steps
        letter, octave = LETTERS[index % 7], self.octave + index // 7
        natural = 12 * (octave + 1) + SEMITONES[letter]
        return Pitch(Name(letter, self.midi + interval.semitones - natural), octave)


def spellings(pitch: Pitch) -> tuple[Pitch, ...]:
    """Return a pitch as it is spelled, and by the letters above and below: Fb, Gbbb, E."""
    return pitch, pitch.up(LETTER_UP), pitch.up(LETTER_DOWN)


def plain_pitch(pitch: Pitch) -> Pitch:
    """Return the plain name of the same sound where a pitch has a double accidental or more."""
    while abs(pitch.name.alter) > 1:
        pitch = pitch.up(LETTER_UP if pitch.name.alter > 0 else LETTER_DOWN)
    return pitch


def name_at(fifths: int) -> Name:
    """Return the name so many fifths above C (below: negative)."""
    return Name(FIFTHS[(fifths + 1) % 7], (fifths + 1) // 7)


def _twelve(first: int) -> tuple[Name, ...]:
    names = (name_at(fifths) for fifths in range(first, first + 12))
    return tuple(sorted(names, key=lambda name: name.pitch_class))


FLATS, SHARPS = _twelve(-6), _twelve(-1)
"""The twelve pitch classes from C by name: C Db D ... with Gb, and C C# D ... with A#."""


def parse_name(text: str) -> Name:
    """Read a note name such as ``Bb``, ``F♯`` or ``Gx``; raise ValueError if it isn't one."""
    match = NAME.fullmatch(text)
    if not match:
        raise ValueError(f"{text!r} isn't a note name")
    return Name(match[1], _ALTER[match[2]])


def parse_pitch(text: str) -> Pitch:
    """Read a pitch such as ``Bb4``; raise ValueError if it isn't one."""
    match = re.fullmatch(rf"({NAME.pattern})(-?\d+)", text)
    if not match:
        raise ValueError(f"{text!r} isn't a pitch")
    return Pitch(parse_name(match[1]), int(match[4]))


def name_from(text: str) -> Name:
    """Read a spelling of any number of accidentals, which ``parse_name`` would refuse."""
    signs = text[1:]
    flats, sharps = signs.count("b"), signs.count("#")
    if text[:1] not in "CDEFGAB" or not text or flats + sharps != len(signs) or flats * sharps:
        raise ValueError(f"{text!r} isn't a note name")
    return Name(text[0], sharps - flats)


def pitch_from(text: str) -> Pitch:
    """Read a pitch spelled with any number of accidentals, as ``Pitch.text`` writes it."""
    end = len(text.rstrip("-0123456789"))
    return Pitch(name_from(text[:end]), int(text[end:]))
