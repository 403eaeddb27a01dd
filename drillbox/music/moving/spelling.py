"""How the chords and notes of a moved chart are spelled (common practice).

Everything moves by the interval's steps and semitones, so that spelling follows the key. From
that strict spelling a chord departs by a letter at most (``roots`` says when), always with
root, bass and the notes above, so that degrees stay what they were. Then a diminished chord is
spelled by where it goes, be it the bass of an inversion: the letter below a goal a semitone up,
the letter above one a semitone down, where players write that root.

A bass never moves its root: E#, B#, Cb and Fb are everyday basses. With a double accidental it
is respelled by itself. So is one that stays from chord to chord, but for the third of a chord: a
pedal keeps the name of the root among them (B/Bb Bb7), or else of a suspended dominant's (D/E),
or else the one that the interval brings.

A note keeps a double accidental only if it is a chord tone, but no altered fifth (G over Db7alt),
or if the same letter with one accidental less belongs to the key and the note leads to the next
one, a semitone on and a letter on, upward from sharps and downward from flats; else it takes the
plain name of the same sound. Over a diminished chord, whose root may stand on another letter than
its degree, a note of the key has the key's name, any other a plain one: D# F# A over Cdim7 in E.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from drillbox.music.charts import Chart
from drillbox.music.chords import (
    Chord,
    chord_up,
    family_of,
    is_written,
    is_written_under,
    lettered_tones,
    written_pitch,
)
from drillbox.music.heard import heard_as
from drillbox.music.keys import Key
from drillbox.music.moving.roots import diatonic, is_pedal, least_of
from drillbox.music.phrases import LineNote
from drillbox.music.pitch import (
    LETTER_DOWN,
    LETTER_UP,
    LETTERS,
    Interval,
    Name,
    Pitch,
    plain_pitch,
    spellings,
)


def respelling_interval(chord: Chord, interval: Interval) -> Interval:
    """Return the interval that moves a chord, by itself, to a root that players write.

    It sounds like the one given and differs from it by a letter at most; where neither letter
    gives a written root, the one with fewer accidentals. Octaves leave every chord as it was.
    """
    if is_octave(interval):
        return interval
    ways = [interval, interval + LETTER_UP, interval + LETTER_DOWN]
    return min(ways, key=lambda way: _awkwardness(chord_up(chord, way)))


def is_octave(interval: Interval) -> bool:
    """Return whether an interval is a number of octaves, over which nothing is respelled."""
    return interval.steps * 12 == interval.semitones * 7


def ways_of(
    chart: Chart, interval: Interval, key: Key | None = None, *, lined: bool = False
) -> list[Interval]:
    """Return how each span's chord moves.

    ``key`` is where the chart goes, ``lined`` whether a line goes with it.
    """
    chords = chart.chords()
    if is_octave(interval):
        return [interval] * len(chords)
    letters = (interval, interval + LETTER_UP, interval + LETTER_DOWN)
    ways = least_of(chords, letters, key, lined=lined)
    for at, chord in enumerate(chords):
        if chord and family_of(chord) == "diminished":
            ways[at] = _by_its_goal(chords, ways, at)
    return ways


def chords_moved(
    chords: Sequence[Chord | None], ways: Sequence[Interval], interval: Interval
) -> list[Chord | None]:
    """Return the chords of a chart, each moved its way, and their basses in a plain spelling.

    ``interval`` is the one that all of them move by, from which a way departs by a letter.
    """
    moved = [each and chord_moved(each, way) for each, way in zip(chords, ways, strict=True)]
    if is_octave(interval):
        return moved
    for run in _pedals(chords):
        over = [(chord, there) for at in run if (chord := chords[at]) and (there := moved[at])]
        roots = [there.root for _, there in over if not there.bass]
        roots += [heard_as(there).root for _, there in over if heard_as(there) != there]
        basses = [_plain(chord.bass.up(interval)) for chord, _ in over if chord.bass]
        for at, (_, there) in zip(run, over, strict=True):
            moved[at] = replace(there, bass=[*roots, *basses][0]) if there.bass else there
    return moved


def _pedals(chords: Sequence[Chord | None]) -> list[list[int]]:
    """Return the places of chords in a row that stand over one bass, two or more."""
    runs: list[list[int]] = [[]]
    for at, (before, chord) in enumerate(pairwise([None, *chords])):
        if not is_pedal(before, chord):
            runs.append([])
        runs[-1].append(at)
    return [run for run in runs if len(run) > 1]


def chord_moved(chord: Chord, way: Interval) -> Chord:
    """Return the chord moved, its bass in a plain spelling."""
    there = chord_up(chord, way)
    return replace(there, bass=_plain(there.bass)) if there.bass else there


def as_it_reads(
    line: Sequence[LineNote], chords: Sequence[Chord | None], key: Key
) -> tuple[LineNote, ...]:
    """Return a moved line with the double accidentals that read best, and no others, and with
    the key's names over diminished chords.

    ``chords`` holds for each note the moved chord that it is heard with.
    """
    own = diatonic(key)
    ahead = [*line, None][1:]
    return tuple(
        replace(note, pitch=_reading(note, after, chord, own))
        for note, after, chord in zip(line, ahead, chords, strict=True)
    )


def _reading(
    note: LineNote, after: LineNote | None, chord: Chord | None, own: frozenset[Name]
) -> Pitch:
    pitch = note.pitch
    if chord and family_of(chord) == "diminished":
        return next((way for way in spellings(pitch) if way.name in own), written_pitch(pitch))
    kept = abs(pitch.name.alter) < 2 or _reads_best(note, after, chord, own)
    return pitch if kept else plain_pitch(pitch)


def _awkwardness(chord: Chord) -> tuple[bool, int]:
    return not is_written_under(chord), abs(chord.root.alter)


def _by_its_goal(chords: Sequence[Chord | None], ways: list[Interval], at: int) -> Interval:
    """Return the way of a diminished chord, by the chord that it goes to, round the loop.

    It is as it stands where it goes to one on its own root: Bbdim7 Bbmaj7.
    """
    chord, count = chords[at], len(chords)
    order = [(at + step) % count for step in range(1, count)]
    goal = next((i for i in order if (e := chords[i]) and chord and not _holds(chord, e)), None)
    if chord is None or goal is None or (to := chords[goal]) is None:
        return ways[at]
    letter = _letter_towards(chord_moved(to, ways[goal]), chord.root.up(ways[at]))
    if letter is None:
        return ways[at]
    near = (ways[at], ways[at] + LETTER_UP, ways[at] + LETTER_DOWN)
    found = (way for way in near if chord.root.up(way).letter == letter)
    way = next(found, ways[at])
    return way if is_written(chord.root.up(way)) else ways[at]


def _holds(chord: Chord, after: Chord) -> bool:
    """Return whether a diminished chord goes on in the next one."""
    return after.root == chord.root and family_of(after) == "diminished"


def _letter_towards(to: Chord, root: Name) -> str | None:
    """Return the letter beside the goal of a diminished chord on a root, None where it has none.

    A root a semitone up comes first, then the bass of an inversion, D#dim7 to C/E.
    """
    for there, semitones in ((to.root, 1), (to.bass, 1), (to.bass, 11), (to.root, 11)):
        if there is not None and (there.pitch_class - root.pitch_class) % 12 == semitones:
            return LETTERS[(LETTERS.index(there.letter) + (-1 if semitones == 1 else 1)) % 7]
    return None


def _plain(name: Name) -> Name:
    return plain_pitch(Pitch(name, 4)).name


def _reads_best(
    note: LineNote, after: LineNote | None, chord: Chord | None, own: frozenset[Name]
) -> bool:
    name = note.pitch.name
    side = 1 if name.alter > 0 else -1
    if abs(name.alter) > 2:
        return False
    if chord and name in lettered_tones(chord):
        return True
    if Name(name.letter, name.alter - side) not in own or after is None:
        return False
    letters = (LETTERS.index(after.pitch.name.letter) - LETTERS.index(name.letter)) * side % 7
    return letters == 1 and after.pitch.midi - note.pitch.midi == side
