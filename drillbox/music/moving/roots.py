"""Which letters the roots of a moved chart take (common practice).

Each chord may depart by a letter from where the interval brings it. Of all such spellings of a
chart the one is taken that has least of each of these, the first counting most:

1. double accidentals in roots;
2. tonic chords off the letter of their key. A major key whose tonic chords are all minor counts
   as a minor one, on whichever letter costs least: F#m7 Bm7 in Gb;
3. fifths torn: a ii and its V, or a dominant and the chord a fifth below it, not a fifth apart by
   letter (Gb7 Bmaj7), round the loop too where that leads to the tonic chord; two chords in a row
   on one root under two letters of which one isn't written (Cb6 Bm6), or both dominants (Db7sus4
   C#7); a minor chord with a double accidental on such a root (Cbm6);
4. what players don't write: Cb, Fb, E#, B#, and C#, D#, G# or A# under a major seventh or sixth;
   the bass of a suspended dominant counts as its root: F#m7/B in Db, not Gbm7/Cb. A third as bad:
   minor chords of the key (ii, iii, vi), its V, and its IV at rest, off their letters: A#m7 in Gb;
5. any of these: what players don't write, if root and major third belong to the key (Cb in Gb);
   fifths torn round the loop, or before a ii on the key's tonic or fifth (Db7 F#m7 B7 in Gb), and
   a double accidental in such a ii or in a tonic chord (Gbm7); the V of the fourth off the tonic's
   letter; two chords in a row on one root under two letters (Gb7 F#m7); a slash bass on tonic or
   fifth off theirs, but that of a pedal, which ``spelling`` names by itself, save under a suspended
   dominant (Cb/Db, not B/Db);
6. a dominant a semitone above its goal on the goal's own letter: Bb7 Amaj7, not A#7 Amaj7;
7. departures.

Where there is a line, whose notes would flip from flats to sharps, a root of the key counts as
one that players write, unless its chord needs a double accidental.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from itertools import groupby, pairwise
from operator import add

from drillbox.music.chords import (
    Chord,
    chord_up,
    family_of,
    has_minor_third,
    is_dominant,
    is_written,
    is_written_under,
    tone_above,
    tones,
)
from drillbox.music.heard import heard_as
from drillbox.music.keys import SCALES, Key
from drillbox.music.pitch import FIFTH, FOURTH, Interval, Name

_Chord = Chord | None
_Cost = tuple[int, ...]  # what the docstring lists, in its order
_Path = tuple[_Cost, tuple[int, ...]]  # which way each chord takes, and what it costs
_NOTHING: _Cost = (0,) * 7


def least_of(
    chords: Sequence[_Chord], ways: Sequence[Interval], key: Key | None, *, lined: bool
) -> list[Interval]:
    """Return which of the ways each chord takes so that all together cost least.

    The first way is the one that doesn't depart. ``key`` is where the chords go, if that is
    known, ``lined`` whether a line goes with them.
    """
    return list(_least_of(tuple(chords), tuple(ways), key, lined)) if chords else []


@lru_cache(maxsize=1024)  # of a phrase much is asked for chart and line, and again in each key
def _least_of(
    chords: tuple[_Chord, ...], ways: tuple[Interval, ...], key: Key | None, lined: bool
) -> tuple[Interval, ...]:
    moved = [[each and chord_up(each, way) for way in ways] for each in chords]
    strict = [each[0] for each in moved]
    letters = [way + -ways[0] for way in ways]
    keys = _minor_keys(strict, key, letters) if key and key.mode == "major" else [key]
    return tuple(ways[way] for way in min(_path(moved, strict, each, lined) for each in keys)[1])


def _minor_keys(chords: Sequence[_Chord], key: Key, letters: Sequence[Interval]) -> list[Key]:
    """Return the minor keys that a chart may be in if all its tonic chords are minor, or its key.

    A ii on the tonic isn't a tonic chord.
    """
    runs = [chord for chord, _ in groupby(filter(None, chords))]
    tonics = {
        family_of(one)
        for one, two in zip(runs, [*runs[1:], *runs[:1]], strict=True)
        if one.root.pitch_class == key.tonic.pitch_class and not _is_two(one, two)
    }
    if tonics != {"minor"}:
        return [key]
    return [Key(key.tonic.up(letter), "minor") for letter in letters]


def _path(
    moved: Sequence[Sequence[_Chord]], strict: Sequence[_Chord], key: Key | None, lined: bool
) -> _Path:
    """Return the ways that cost least in a key; ``strict`` holds the first way of each chord."""
    ahead = [*strict[1:], None]
    around = zip([None, *strict], moved, ahead, strict=False)
    own = [_own(*each, key, lined) for each in around]
    anew = [_begins_anew(*each, key) for each in zip(strict, ahead, strict=True)]
    rows = zip(moved, own, anew, strict=True)
    steps = [_step(here, *there) for (here, *_), there in pairwise(rows)]
    home = strict[0] is not None and _is_home(None, strict[0], ahead[0], key)
    ends: list[_Path] = []
    for first, start in enumerate(moved[0]):
        paths: list[_Path] = [(own[0][first], (first,))]
        for step in steps:
            paths = [
                min((_sum(cost, here[path[-1]]), (*path, way)) for cost, path in paths)
                for way, here in enumerate(step)
            ]
        ends += [
            (_sum(cost, _seam(moved[-1][path[-1]], start, home)), path) for cost, path in paths
        ]
    return min(ends)


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
    here: Sequence[_Chord], there: Sequence[_Chord], costs: Sequence[_Cost], anew: bool
) -> list[list[_Cost]]:
    """Return what the second chord costs: a row for each of its ways, by those of the first.

    ``anew`` tells whether it is a ii on the key's tonic or fifth.
    """
    return [
        [_sum(cost, _between(one, two, anew)) for one in here]
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
    home = _is_home(before, chord, after, key)
    letter = key and _letter_in(chord, key)
    pedal = is_pedal(before, chord) or is_pedal(chord, after)
    named = pedal and not _is_suspended(chord)
    anew = _begins_anew(chord, after, key)
    costs: list[_Cost] = []
    for way, there in enumerate(each for each in moved if each):
        unwritten, awkward = (0, 0) if again else _awkward(there, key, lined)
        unwritten += _is_suspended(there) and not (again or is_written(heard_as(there).root))
        awkward += not (again or named) and key is not None and _off_ends(there, key)
        off = key is not None and _off(there.root, key.tonic)
        awkward += off and not home and is_dominant(there)
        awkward += (anew or home) and _has_double(there)
        doubled = max(0, abs(there.root.alter) - 1)
        far = has_minor_third(there) and not is_written(there.root) and _has_double(there)
        strayed = int(letter is not None and there.root != letter and not again)
        against = 3 * unwritten + strayed
        costs.append((doubled, int(off and home), int(far), against, awkward, 0, int(way > 0)))
    return costs


def _letter_in(chord: Chord, key: Key) -> Name | None:
    """Return the root that a minor chord of the key has there, its V, or its IV at rest; else None.

    At rest is a major chord without a minor seventh.
    """
    own = {name.pitch_class: name for name in diatonic(key)}
    root = own.get(chord.root.pitch_class)
    if root is None or not is_written(root):
        return None
    if has_minor_third(chord):
        return root if tone_above(root, 3, -1) in own.values() else None
    at_rest = family_of(chord) == "major" and root == key.tonic.up(FOURTH)
    return root if at_rest or root == key.tonic.up(FIFTH) else None


def _awkward(chord: Chord, key: Key | None, lined: bool) -> tuple[int, int]:
    """Return whether players don't write a chord, and how badly it reads if they may in the key."""
    written = is_written_under(chord)
    if key is None or written:
        return int(not written), 0
    own = diatonic(key)
    if lined and chord.root in own and not _has_double(chord):
        return 0, 0
    of_key = {chord.root, tone_above(chord.root, 3, 0)} <= own and not has_minor_third(chord)
    return (0, 1) if of_key else (1, 0)


def _has_double(chord: Chord) -> bool:
    """Return whether a tone of a chord has a double accidental."""
    return any(abs(name.alter) > 1 for name in tones(chord))


def _is_home(before: _Chord, chord: Chord, after: _Chord, key: Key | None) -> bool:
    """Return whether a chord is the key's tonic chord: not Cm7 in C, nor C7 as V of the fourth."""
    if key is None or chord.root.pitch_class != key.tonic.pitch_class:
        return False
    family = family_of(chord)
    if family != "dominant":
        return family in ("major", key.third)
    if before and _is_two(before, chord):
        return False
    return not (after and falls(chord, after) and has_minor_third(after))


def _begins_anew(chord: _Chord, after: _Chord, key: Key | None) -> bool:
    """Return whether a chord is a ii on the key's tonic or fifth, that of bVII or of the fourth."""
    if key is None or chord is None or after is None:
        return False
    ends = (key.tonic.pitch_class, key.tonic.up(FIFTH).pitch_class)
    return chord.root.pitch_class in ends and _is_two(chord, after)


@lru_cache(maxsize=4096)
def _between(one: _Chord, two: _Chord, anew: bool) -> _Cost:
    """Return what two chords cost in a row."""
    if one is None or two is None:
        return _NOTHING
    here, there = one.root, two.root
    torn = _torn(one, two)
    sharp = (here.letter, here.alter, there.alter) == (there.letter, 1, 0)
    same = sharp and family_of(one) == "dominant"
    letters, unwritten = int(_off(here, there)), not (is_written(here) and is_written(there))
    dominants = is_dominant(one) and is_dominant(two)
    tears = torn * (not anew) + letters * (unwritten or dominants)
    return 0, 0, tears, 0, letters + torn * anew, int(same), 0


def _seam(last: _Chord, first: _Chord, home: bool) -> _Cost:
    """Return what the way back costs: the dominant of a turnaround leads to the first chord."""
    torn = _torn(last, first) if last and first and is_dominant(last) else 0
    return 0, 0, torn * home, 0, torn * (not home), 0, 0


def _torn(one: Chord, two: Chord) -> int:
    """Return how badly two chords a fifth apart are torn, a ii and its V worse than others."""
    if not falls(one, two) or one.root.up(FOURTH) == two.root:
        return 0
    return 2 if _is_two(one, two) else 1


def _is_two(one: Chord, two: Chord) -> bool:
    return falls(one, two) and is_dominant(two) and not is_dominant(one)


def is_pedal(one: _Chord, two: _Chord) -> bool:
    """Return whether two chords in a row stand over one bass, that of a slash chord among them.

    It has one name in both. A third in the bass is the chord's own: an inversion, no pedal.
    """
    if one is None or two is None or not (one.bass or two.bass):
        return False
    thirds = any(each.bass and each.root.interval_to(each.bass).steps == 2 for each in (one, two))
    return not thirds and (one.bass or one.root) == (two.bass or two.root)


def _is_suspended(chord: Chord) -> bool:
    """Return whether a slash chord is a suspended dominant on its bass, as F/G is G9sus4."""
    return heard_as(chord) != chord


def _off_ends(chord: Chord, key: Key) -> bool:
    """Return whether a slash bass sounds the key's tonic or fifth under another name."""
    ends = (key.tonic, key.tonic.up(FIFTH))
    return any(chord.bass is not None and _off(chord.bass, each) for each in ends)


def _off(name: Name, other: Name) -> bool:
    """Return whether two names sound alike but differ."""
    return name != other and name.pitch_class == other.pitch_class


def _sum(one: _Cost, other: _Cost) -> _Cost:
    return tuple(map(add, one, other))
