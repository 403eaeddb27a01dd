"""How the chords and notes of a moved chart are spelled (common practice).

Everything moves by the interval's steps and semitones, so that spelling follows the key. From
that strict spelling these depart by one letter, always with root, bass and the notes above, so
that degrees stay what they were:

- a root that players don't write: Cb, Fb, E#, B#, a double accidental, and D#, G# or A# under a
  major seventh or sixth. A diatonic root (Cb in Gb) stays where there is a line, whose notes
  would otherwise flip from flats to sharps, unless its chord needs a double accidental;
- chords that are read as one, if one of them departs: a ii and its V, a chord and the next one
  on the same root (F#7 F#m7 B7), a dominant and the goal that departs to flats (Bb7 Ebmaj7);
- a dominant a semitone above its goal on the goal's own letter: Bb7 Amaj7, not A#7 Amaj7;
- a diminished chord by where it goes: the letter below a goal a semitone up, the letter above
  one a semitone down, where players write that root.

A bass never moves its root: E#, B#, Cb and Fb are everyday basses. With a double accidental it
is respelled by itself. A note keeps a double accidental only if it is a tone of its chord, or
if the same letter with one accidental less belongs to the key and the note leads to the next
one, a semitone on and a letter on, upward from sharps and downward from flats; else it takes the
plain name of the same sound.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import pairwise

from drillbox.music.charts import Chart
from drillbox.music.chords import (
    Chord,
    chord_up,
    family_of,
    is_ii,
    is_written,
    is_written_under,
    tones,
)
from drillbox.music.keys import SCALES, Key
from drillbox.music.phrases import LineNote
from drillbox.music.pitch import FOURTH, LETTERS, Interval, Name, Pitch

_UP, _DOWN = Interval(1, 0), Interval(-1, 0)  # diminished seconds: E# to F, and back


def respelling_interval(chord: Chord, interval: Interval) -> Interval:
    """Return the interval that moves a chord, by itself, to a root that players write.

    It sounds like the one given and differs from it by a letter at most; where neither letter
    gives a written root, the one with fewer accidentals. Octaves leave every chord as it was.
    """
    if is_octave(interval):
        return interval
    ways = [interval, interval + _UP, interval + _DOWN]
    return min(ways, key=lambda way: _awkwardness(chord_up(chord, way)))


def is_octave(interval: Interval) -> bool:
    """Return whether an interval is a number of octaves, over which nothing is respelled."""
    return interval.steps * 12 == interval.semitones * 7


def ways_of(chart: Chart, interval: Interval, key: Key | None = None) -> list[Interval]:
    """Return how each span's chord moves; ``key`` is where it goes, given if there is a line."""
    chords = chart.chords()
    if is_octave(interval):
        return [interval] * len(chords)
    ways = [_alone(chord, interval, key) if chord else interval for chord in chords]
    for first, end in _groups(chords, interval):
        ways[first:end] = _together(chords, ways, interval, first, end)
    for at, chord in enumerate(chords):
        if chord and family_of(chord) == "diminished":
            ways[at] = _by_its_goal(chords, ways, at)
    return ways


def chord_moved(chord: Chord, way: Interval) -> Chord:
    """Return the chord moved, its bass in a plain spelling."""
    there = chord_up(chord, way)
    return replace(there, bass=_plain(there.bass)) if there.bass else there


def without_double_accidentals(
    line: Sequence[LineNote], chords: Sequence[Chord | None], key: Key
) -> tuple[LineNote, ...]:
    """Return a moved line with the double accidentals that read best, and no others.

    ``chords`` holds for each note the moved chord that it begins over.
    """
    diatonic = _diatonic(key)
    ahead = [*line, None][1:]
    return tuple(
        note
        if abs(note.pitch.name.alter) < 2 or _reads_best(note, after, chord, diatonic)
        else replace(note, pitch=_plain_pitch(note.pitch))
        for note, after, chord in zip(line, ahead, chords, strict=True)
    )


def _alone(chord: Chord, interval: Interval, key: Key | None) -> Interval:
    there = chord_up(chord, interval)
    stays = key is not None and there.root in _diatonic(key)
    if stays and all(abs(name.alter) < 2 for name in tones(there)):
        return interval
    return respelling_interval(chord, interval)


def _awkwardness(chord: Chord) -> tuple[bool, int]:
    return not is_written_under(chord), abs(chord.root.alter)


def _groups(chords: Sequence[Chord | None], interval: Interval) -> list[tuple[int, int]]:
    """Return where chords that are read as one begin and end."""
    bounds = [0] if chords else []
    for at, (one, two) in enumerate(pairwise(chords), 1):
        if not (one and two and _are_one(one, two, interval)):
            bounds.append(at)
    return list(pairwise([*bounds, len(chords)]))


def _are_one(one: Chord, two: Chord, interval: Interval) -> bool:
    if one.root == two.root or is_ii(one, two):
        return True
    goal = chord_up(two, interval)
    falls = family_of(one) == "dominant" and one.root.up(FOURTH) == two.root
    return falls and goal.root.alter > 0 and not is_written_under(goal)


def _together(
    chords: Sequence[Chord | None], ways: list[Interval], interval: Interval, first: int, end: int
) -> list[Interval]:
    """Return the ways of chords that are read as one: all alike, the least awkward."""
    own = ways[first:end]
    those = [chord for chord in chords[first:end] if chord]
    if len({*own}) > 1:
        own = [min((interval, interval + _UP, interval + _DOWN), key=_cost(those))] * len(own)
    after = chords[end] if end < len(chords) else None
    last = chords[end - 1]
    if last and after and family_of(last) == "dominant":
        up = own[-1] + _UP
        here, goal = last.root.up(own[-1]), after.root.up(ways[end])
        same = here.letter == goal.letter and (here.alter, goal.alter) == (1, 0)
        if same and all(is_written_under(chord_up(each, up)) for each in those):
            return [up] * len(own)
    return own


def _cost(chords: Sequence[Chord]) -> Callable[[Interval], tuple[int, int]]:
    def cost(way: Interval) -> tuple[int, int]:
        each = [_awkwardness(chord_up(chord, way)) for chord in chords]
        return sum(unwritten for unwritten, _ in each), sum(signs for _, signs in each)

    return cost


def _by_its_goal(chords: Sequence[Chord | None], ways: list[Interval], at: int) -> Interval:
    """Return the way of a diminished chord, by the next chord on another root, round the loop."""
    chord, count = chords[at], len(chords)
    order = [(at + step) % count for step in range(1, count)]
    goal = next((i for i in order if (e := chords[i]) and chord and e.root != chord.root), None)
    if chord is None or goal is None or (to := chords[goal]) is None:
        return ways[at]
    here, there = chord.root.up(ways[at]), to.root.up(ways[goal])
    side = {1: -1, 11: 1}.get((there.pitch_class - here.pitch_class) % 12)
    if side is None:
        return ways[at]
    letter = LETTERS[(LETTERS.index(there.letter) + side) % 7]
    near = (ways[at], ways[at] + _UP, ways[at] + _DOWN)
    found = (way for way in near if chord.root.up(way).letter == letter)
    way = next(found, ways[at])
    return way if is_written(chord.root.up(way)) else ways[at]


def _diatonic(key: Key) -> frozenset[Name]:
    return frozenset(key.tonic.up(Interval(*each)) for each in enumerate(SCALES[key.mode]))


def _plain(name: Name) -> Name:
    return _plain_pitch(Pitch(name, 4)).name


def _plain_pitch(pitch: Pitch) -> Pitch:
    """Return the plain name of the same sound where a pitch has a double accidental or more."""
    while abs(pitch.name.alter) > 1:
        pitch = pitch.up(_UP if pitch.name.alter > 0 else _DOWN)
    return pitch


def _reads_best(
    note: LineNote, after: LineNote | None, chord: Chord | None, diatonic: frozenset[Name]
) -> bool:
    name = note.pitch.name
    side = 1 if name.alter > 0 else -1
    if abs(name.alter) > 2:
        return False
    if chord and name in tones(chord):
        return True
    if Name(name.letter, name.alter - side) not in diatonic or after is None:
        return False
    letters = (LETTERS.index(after.pitch.name.letter) - LETTERS.index(name.letter)) * side % 7
    return letters == 1 and after.pitch.midi - note.pitch.midi == side
