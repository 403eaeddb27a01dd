"""Which letters the roots of a moved chart take (common practice).

Each chord may depart by a letter from where the interval brings it. Of all such spellings of a
chart the one is taken that has least of each of these, the first counting most:

1. double accidentals in roots;
2. tonic chords off the letter of their key;
3. fifths torn: a ii and its V, or a dominant and the chord a fifth below it, round the loop
   too, not a fifth apart by letter (Gb7 Bmaj7);
4. what players don't write: Cb, Fb, E#, B#, and D#, G# or A# under a major seventh or sixth,
   each three. One if root and third belong to the key (Cb in Gb), and none where there is a
   line, whose notes would flip from flats to sharps, unless its chord needs a double accidental.
   One, too: the V of the fourth off the tonic's letter, two chords in a row on one root under
   two letters (Gb7 F#m7), a slash bass on tonic or fifth off theirs;
5. a dominant a semitone above its goal on the goal's own letter: Bb7 Amaj7, not A#7 Amaj7;
6. departures.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import pairwise
from operator import add

from drillbox.music.chords import (
    Chord,
    chord_up,
    family_of,
    has_minor_third,
    is_dominant,
    is_written_under,
    tone_above,
    tones,
)
from drillbox.music.keys import SCALES, Key
from drillbox.music.pitch import FOURTH, Interval, Name

_FIFTH = Interval(4, 7)
_Chord = Chord | None
_Cost = tuple[int, ...]  # what the docstring lists, in its order
_Path = tuple[_Cost, tuple[int, ...]]  # which way each chord takes, and what it costs
_NOTHING: _Cost = (0,) * 6


def least_of(
    chords: Sequence[_Chord], ways: Sequence[Interval], key: Key | None, *, lined: bool
) -> list[Interval]:
    """Return which of the ways each chord takes so that all together cost least.

    The first way is the one that doesn't depart. ``key`` is where the chords go, if that is
    known, ``lined`` whether a line goes with them.
    """
    if not chords:
        return []
    moved = [[each and chord_up(each, way) for way in ways] for each in chords]
    strict = [each[0] for each in moved]
    around = zip([None, *strict], moved, [*strict[1:], None], strict=False)
    own = [_own(*each, key, lined) for each in around]
    rows = zip(moved, own, strict=True)
    steps = [_step(here, there, costs) for (here, _), (there, costs) in pairwise(rows)]
    ends: list[_Path] = []
    for first, start in enumerate(moved[0]):
        paths: list[_Path] = [(own[0][first], (first,))]
        for step in steps:
            paths = [
                min((_sum(cost, here[path[-1]]), (*path, way)) for cost, path in paths)
                for way, here in enumerate(step)
            ]
        ends += [(_sum(cost, _seam(moved[-1][path[-1]], start)), path) for cost, path in paths]
    return [ways[way] for way in min(ends)[1]]


def falls(one: Chord, two: Chord) -> bool:
    """Return whether a ii or a dominant leads to a chord whose root sounds a fifth below its own.

    So does any minor chord (vi ii), a suspended dominant and an augmented triad.
    """
    if (two.root.pitch_class - one.root.pitch_class) % 12 != FOURTH.semitones:
        return False
    return family_of(one) in ("minor", "half-diminished", "augmented") or is_dominant(one)


@lru_cache(maxsize=128)
def diatonic(key: Key) -> frozenset[Name]:
    """Return the seven notes of a key."""
    return frozenset(key.tonic.up(Interval(*each)) for each in enumerate(SCALES[key.mode]))


def _step(
    here: Sequence[_Chord], there: Sequence[_Chord], costs: Sequence[_Cost]
) -> list[list[_Cost]]:
    """Return what the second chord costs: a row for each of its ways, by those of the first."""
    return [
        [_sum(cost, _between(one, two)) for one in here]
        for two, cost in zip(there, costs, strict=True)
    ]


def _own(
    before: _Chord, moved: Sequence[_Chord], after: _Chord, key: Key | None, lined: bool
) -> list[_Cost]:
    """Return what a chord costs by itself, moved each way, between two neighbours."""
    chord = moved[0]
    if chord is None:
        return [_NOTHING] * len(moved)
    again = before and before.root == chord.root and family_of(before) == family_of(chord)
    tonic = key and key.tonic.pitch_class == chord.root.pitch_class
    home = tonic and key and _is_home(before, chord, after, key)
    costs: list[_Cost] = []
    for way, there in enumerate(each for each in moved if each):
        awkward = 0 if again else _awkward(there, key, lined)
        off = bool(tonic and key and there.root != key.tonic)
        awkward += off and not home and is_dominant(there)
        doubled = max(0, abs(there.root.alter) - 1)
        costs.append((doubled, int(off and bool(home)), 0, awkward, 0, int(way > 0)))
    return costs


def _awkward(chord: Chord, key: Key | None, lined: bool) -> int:
    """Return how badly a chord reads: its root, and a bass on the key's tonic or fifth."""
    if key is None:
        return 0 if is_written_under(chord) else 3
    ends = (key.tonic, key.tonic.up(_FIFTH))
    bass = int(chord.bass is not None and any(_off(chord.bass, end) for end in ends))
    if is_written_under(chord):
        return bass
    own = diatonic(key)
    if lined and chord.root in own and all(abs(name.alter) < 2 for name in tones(chord)):
        return bass
    third = tone_above(chord.root, 3, -has_minor_third(chord))
    return bass + (1 if {chord.root, third} <= own else 3)


def _is_home(before: _Chord, chord: Chord, after: _Chord, key: Key) -> bool:
    """Return whether a chord on the tonic is its own: not Cm7 in C, nor C7 as V of the fourth."""
    family = family_of(chord)
    if family != "dominant":
        return family in ("major", key.third)
    if before and _is_two(before, chord):
        return False
    return not (after and falls(chord, after) and has_minor_third(after))


def _between(one: _Chord, two: _Chord) -> _Cost:
    """Return what two chords cost in a row."""
    if one is None or two is None:
        return _NOTHING
    here, there = one.root, two.root
    sharp = (here.letter, here.alter, there.alter) == (there.letter, 1, 0)
    same = sharp and family_of(one) == "dominant"
    return 0, 0, _torn(one, two), int(_off(here, there)), int(same), 0


def _seam(last: _Chord, first: _Chord) -> _Cost:
    """Return what the way back costs: the dominant of a turnaround leads to the first chord."""
    torn = _torn(last, first) if last and first and is_dominant(last) else 0
    return 0, 0, torn, 0, 0, 0


def _torn(one: Chord, two: Chord) -> int:
    """Return how badly two chords a fifth apart are torn, a ii and its V worse than others."""
    if not falls(one, two) or one.root.up(FOURTH) == two.root:
        return 0
    return 2 if _is_two(one, two) else 1


def _is_two(one: Chord, two: Chord) -> bool:
    return falls(one, two) and is_dominant(two) and not is_dominant(one)


def _off(name: Name, other: Name) -> bool:
    """Return whether two names sound alike but differ."""
    return name != other and name.pitch_class == other.pitch_class


def _sum(one: _Cost, other: _Cost) -> _Cost:
    return tuple(map(add, one, other))
