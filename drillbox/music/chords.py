"""A chord symbol as one value, and what sounds in it: degrees, spelled tones, its quality.

Last come the families by which chords function, the roots that players write, and chords moved by
interval. Reading and printing symbols is the business of ``symbols/``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType
from typing import Literal

from drillbox.music.pitch import (
    MAJOR_SCALE,
    Interval,
    Name,
    Pitch,
    accidental,
    plain_pitch,
    spellings,
)

Action = Literal["add", "alter", "subtract"]


@dataclass(frozen=True, slots=True)
class Degree:
    """One ``<degree>`` of MusicXML 4.0: what is done to which degree, altered by how much."""

    action: Action
    number: int
    alter: int = 0


@dataclass(frozen=True, slots=True)
class Chord:
    """One chord symbol. ``kind`` is a kind-value of the W3C MusicXML 4.0 schema."""

    root: Name
    kind: str
    degrees: tuple[Degree, ...] = ()
    bass: Name | None = None


Tones = tuple[tuple[int, int], ...]

# The tones of every kind-value of the W3C MusicXML 4.0 schema, as (degree, alteration of the
# major scale). The schema states them for all but the last seven below. Of those, "pedal" is
# its root, "other" is its root and what its degrees add, "none" is silence. The functional
# sixths are the textbook ones with the root as tonic (the Neapolitan a major triad on b2; the
# augmented sixths on b6); the Tristan chord stands above its root as F B D# G# above F.
KINDS: Mapping[str, Tones] = MappingProxyType(
    {
        "major": ((1, 0), (3, 0), (5, 0)),
        "minor": ((1, 0), (3, -1), (5, 0)),
        "augmented": ((1, 0), (3, 0), (5, 1)),
        "diminished": ((1, 0), (3, -1), (5, -1)),
        "dominant": ((1, 0), (3, 0), (5, 0), (7, -1)),
        "major-seventh": ((1, 0), (3, 0), (5, 0), (7, 0)),
        "minor-seventh": ((1, 0), (3, -1), (5, 0), (7, -1)),
        "diminished-seventh": ((1, 0), (3, -1), (5, -1), (7, -2)),
        "augmented-seventh": ((1, 0), (3, 0), (5, 1), (7, -1)),
        "half-diminished": ((1, 0), (3, -1), (5, -1), (7, -1)),
        "major-minor": ((1, 0), (3, -1), (5, 0), (7, 0)),
        "major-sixth": ((1, 0), (3, 0), (5, 0), (6, 0)),
        "minor-sixth": ((1, 0), (3, -1), (5, 0), (6, 0)),
        "dominant-ninth": ((1, 0), (3, 0), (5, 0), (7, -1), (9, 0)),
        "major-ninth": ((1, 0), (3, 0), (5, 0), (7, 0), (9, 0)),
        "minor-ninth": ((1, 0), (3, -1), (5, 0), (7, -1), (9, 0)),
        "dominant-11th": ((1, 0), (3, 0), (5, 0), (7, -1), (9, 0), (11, 0)),
        "major-11th": ((1, 0), (3, 0), (5, 0), (7, 0), (9, 0), (11, 0)),
        "minor-11th": ((1, 0), (3, -1), (5, 0), (7, -1), (9, 0), (11, 0)),
        "dominant-13th": ((1, 0), (3, 0), (5, 0), (7, -1), (9, 0), (11, 0), (13, 0)),
        "major-13th": ((1, 0), (3, 0), (5, 0), (7, 0), (9, 0), (11, 0), (13, 0)),
        "minor-13th": ((1, 0), (3, -1), (5, 0), (7, -1), (9, 0), (11, 0), (13, 0)),
        "suspended-second": ((1, 0), (2, 0), (5, 0)),
        "suspended-fourth": ((1, 0), (4, 0), (5, 0)),
        "power": ((1, 0), (5, 0)),
        "pedal": ((1, 0),),
        "Neapolitan": ((2, -1), (4, 0), (6, -1)),
        "Italian": ((1, 0), (4, 1), (6, -1)),
        "French": ((1, 0), (2, 0), (4, 1), (6, -1)),
        "German": ((1, 0), (3, -1), (4, 1), (6, -1)),
        "Tristan": ((1, 0), (4, 1), (6, 1), (9, 1)),
        "other": ((1, 0),),
        "none": (),
    }
)


def folded_degree(number: int) -> int:
    """Return a degree number as players name it: 1 to 7, 9, 11 or 13 (a tenth is a 3)."""
    return number if number in {9, 11, 13} else (number - 1) % 7 + 1


def added_alter(degree: Degree) -> int:
    """Return the alteration of the major scale that an added degree means.

    MusicXML 4.0, ``degree-alter``: an addition is relative to a dominant chord (major and
    perfect intervals except for a minor seventh), so an added 7 with alter 0 is minor.
    """
    return degree.alter - (folded_degree(degree.number) == 7)


@lru_cache(maxsize=1024)
def kind_intervals(kind: str, degrees: tuple[Degree, ...]) -> Tones:
    """Return what sounds in a MusicXML kind with its degrees, as ``intervals`` does.

    MusicXML 4.0, ``degree-alter``: alter and subtract are relative to the degree that the
    kind has. An alteration of a degree that the kind lacks is taken as an addition (files
    write tensions so), a subtraction of one as nothing. ValueError on an unknown kind.
    """
    if kind not in KINDS:
        raise ValueError(f"{kind!r} isn't a kind-value of MusicXML 4.0")
    own = dict(KINDS[kind])
    sounding = set(KINDS[kind])
    for degree in degrees:
        number = folded_degree(degree.number)
        if degree.action == "add" or (degree.action == "alter" and number not in own):
            sounding.add((number, added_alter(degree)))
        elif number in own:
            sounding.discard((number, own[number]))
    sounding.update(
        (folded_degree(each.number), own[folded_degree(each.number)] + each.alter)
        for each in degrees
        if each.action == "alter" and folded_degree(each.number) in own
    )
    return tuple(sorted(sounding))


def intervals(chord: Chord) -> Tones:
    """Return the chord's tones as (degree 1..7, 9, 11, 13; alteration of the major scale).

    They are in order of degree; a slash bass isn't among them unless the chord has it.
    """
    return kind_intervals(chord.kind, chord.degrees)


def played_degrees(chord: Chord) -> Tones:
    """Return the chord's tones as players play them, as ``intervals`` does.

    They leave out the 11 that a 13th has by its kind over a major third (common practice).
    """
    found = intervals(chord)
    if chord.kind in ("dominant-13th", "major-13th"):
        return tuple(each for each in found if each != (11, 0))
    return found


def tone_above(root: Name, number: int, alter: int) -> Name:
    """Return the spelled name of a degree above a root: 3, -1 above C is Eb."""
    octaves, step = divmod(number - 1, 7)
    return root.up(Interval(number - 1, 12 * octaves + MAJOR_SCALE[step] + alter))


def tones(chord: Chord) -> tuple[Name, ...]:
    """Return the sounding tones, spelled, from the root up; a slash bass comes first."""
    names = tuple(tone_above(chord.root, number, alter) for number, alter in intervals(chord))
    if chord.bass is None:
        return names
    return (chord.bass, *(name for name in names if name != chord.bass))


def lettered_tones(chord: Chord) -> tuple[Name, ...]:
    """Return the chord tones that keep their letter at any price: no altered fifth is one."""
    fifths = {(5, 1), (5, -1)} if family_of(chord) != "half-diminished" else set()
    own = (each for each in intervals(chord) if each[0] < 8 and each not in fifths)
    return tuple(tone_above(chord.root, *each) for each in own)


def tone_name(chord: Chord, number: int, alter: int) -> Name:
    """Return a chord's tone by the name that players read it by.

    That is ``tone_above``, but C Eb Gb A for Cdim7, and no double accidental save in one of
    ``lettered_tones`` (common practice).
    """
    pitch = Pitch(tone_above(chord.root, number, alter), 4)
    if family_of(chord) == "diminished":
        return written_pitch(pitch).name
    return pitch.name if pitch.name in lettered_tones(chord) else plain_pitch(pitch).name


def guide_tones(chord: Chord) -> tuple[Name, ...]:
    """Return the spelled tones that tell the chord's quality and lead to the next chord.

    The third and the seventh; where there is no seventh the sixth (6, m6, 69), and where
    there is no third the suspended fourth or second. A triad has its third, and beside it
    its fifth only if that is altered (dim, aug). A fifth, a root or a tension is none: 5
    and a pedal have no guide tones.

    Sources: third and seventh, of a plain triad the third (guitar-chord.org, "Guide
    tones"; thejazzpianosite.com, "Guide Tones"); the sixth of a sixth chord and the altered
    fifth of a triad (muzician.com, "Complete Saxophone", on guide tones); fourth and
    seventh of a 7sus4 (common practice), from which the other suspended chords follow.
    """
    return tuple(tone_above(chord.root, *each) for each in guide_degrees(chord))


def guide_degrees(chord: Chord) -> Tones:
    """Return the guide tones as (degree, alteration): see ``guide_tones``."""
    found = intervals(chord)

    def first(*numbers: int) -> Tones:
        for number in numbers:
            if those := tuple(each for each in found if each[0] == number):
                return those
        return ()

    colour = first(3, 4, 2)
    upper = first(7, 6)
    if colour and not upper:
        upper = tuple(each for each in found if each[0] == 5 and each[1] != 0)
    return colour + upper


def degree_text(number: int, alter: int, ascii: bool = True) -> str:
    """Return a degree as players name it: ``b3``, ``7`` (major), ``b7``, ``#11``, ``b13``."""
    return accidental(alter, ascii=ascii) + str(number)


def bass_above(chord: Chord) -> int:
    """Return how far the bass lies above the root, 0..11 semitones: 0 without a slash bass."""
    return (chord.bass.pitch_class - chord.root.pitch_class) % 12 if chord.bass else 0


def has_minor_third(chord: Chord) -> bool:
    """Return whether a minor third sounds."""
    return (3, -1) in intervals(chord)


def is_dominant(chord: Chord) -> bool:
    """Return whether the chord works as a dominant: minor seventh over a major third or a sus4."""
    found = intervals(chord)
    numbers = {number for number, _ in found}
    return (7, -1) in found and ((3, 0) in found or ((4, 0) in found and 3 not in numbers))


def is_minor_quality(chord: Chord) -> bool:
    """Return whether the chord is minor, not diminished: a minor third, the fifth not flat."""
    return has_minor_third(chord) and not has_flat_fifth(chord)


def is_half_diminished(chord: Chord) -> bool:
    """Return whether minor third, flat fifth and minor seventh sound, tensions or none."""
    found = intervals(chord)
    return has_flat_fifth(chord) and (3, -1) in found and (7, -1) in found


def is_diminished(chord: Chord) -> bool:
    """Return whether minor third and flat fifth sound without a minor seventh: dim and dim7."""
    found = intervals(chord)
    return has_flat_fifth(chord) and (3, -1) in found and (7, -1) not in found


def has_flat_fifth(chord: Chord) -> bool:
    """Return whether a flat fifth sounds and no perfect one does."""
    found = intervals(chord)
    return (5, -1) in found and (5, 0) not in found


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


def degree_semitones(degree: tuple[int, int]) -> int:
    """Return how far a degree (number, alteration) lies above the root, 0..11 semitones."""
    number, alter = degree
    return (MAJOR_SCALE[(number - 1) % 7] + alter) % 12


@lru_cache(maxsize=1024)
def own_degrees(chord: Chord) -> dict[int, tuple[int, int]]:
    """Return the tones that the symbol itself names: semitones above the root → degree.

    Where two degrees sound alike (the #9 and a minor third), the lower number wins.
    """
    return {degree_semitones(each): each for each in sorted(intervals(chord), reverse=True)}


@lru_cache(maxsize=1024)
def chord_semitones(chord: Chord) -> frozenset[int]:
    """Return the chord tones: the symbol's degrees below the octave (1 3 5 7, or 2 4 6).

    What a symbol adds above the octave (9, 11, 13 and their alterations) is a tension.
    """
    return frozenset(at for at, (number, _) in own_degrees(chord).items() if number < 8)


def sound_alike(chord: Chord | None, other: Chord | None) -> bool:
    """Return whether two chords sound the same, however they're spelled."""
    if chord is None or other is None:
        return chord is other
    return _sound(chord) == _sound(other)


def _sound(chord: Chord) -> tuple[int, frozenset[tuple[int, int]], int]:
    bass = chord.bass or chord.root
    return chord.root.pitch_class, frozenset(intervals(chord)), bass.pitch_class


@lru_cache(maxsize=1024)
def family_of(chord: Chord) -> Family:
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


def written_pitch(pitch: Pitch) -> Pitch:
    """Return a pitch by a name that players write a chord on, where it has one: A for Bbb."""
    return next((way for way in spellings(pitch) if is_written(way.name)), pitch)


def is_written_under(chord: Chord) -> bool:
    """Return whether players write this chord on its root: no C#maj7, D#6 or A#maj7."""
    sharp = chord.root.alter == 1 and chord.root.letter in "CDGA"
    own = own_degrees(chord).values()
    coloured = any(number in (6, 7) for number, _ in own)
    return is_written(chord.root) and not (sharp and coloured and family_of(chord) == "major")


def chord_up(chord: Chord, interval: Interval) -> Chord:
    """Return the chord an interval away, as spelled by its steps."""
    bass = chord.bass.up(interval) if chord.bass else None
    return replace(chord, root=chord.root.up(interval), bass=bass)
