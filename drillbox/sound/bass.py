"""A plain bass from chord symbols: roots and fifths, or a walking line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from drillbox.music.charts import Meter
from drillbox.music.chords import Chord
from drillbox.music.tones import intervals, tone
from drillbox.sound.loops import Held

LOWEST, HIGHEST = 28, 55
"""E1 to G3 as MIDI notes: a double bass below its thumb position."""
_MIDDLE = 40
_ROOTS = range(LOWEST, 51)  # leaves room above for a fifth or an approach


@dataclass(frozen=True, slots=True)
class Note:
    """A MIDI note from ``start`` for ``length`` quarter notes."""

    start: Fraction
    length: Fraction
    pitch: int


def plain_bass(held: Sequence[Held], step: Fraction) -> list[Note]:
    """Return root and fifth in turn, each ``step`` quarter notes long, the last one shorter.

    Each chord begins on its root (or its slash bass, which then stays).
    """
    notes: list[Note] = []
    last = _MIDDLE
    for each in held:
        if each.chord is None:
            continue
        root = _near(_bottom(each.chord), last)
        pair = (root, _fifth(each.chord, root))
        for index, (start, length) in enumerate(_steps(each, step)):
            last = pair[index % 2]
            notes.append(Note(start, length, last))
        last = root
    return notes


def walking_bass(held: Sequence[Held], beat: Fraction) -> list[Note]:
    """Return a line with a note on every beat.

    Each chord begins on its root, goes on through its tones, upwards from a low root and
    downwards from a high one, and ends a semitone from the next root. After the last chord
    comes the first.
    """
    notes: list[Note] = []
    last = _MIDDLE
    for index, each in enumerate(held):
        if each.chord is None:
            continue
        steps = _steps(each, beat)
        line = _stroll(each.chord, _near(_bottom(each.chord), last), len(steps))
        after = held[index + 1 : index + 2]
        if after and after[0].chord and len(line) > 1:
            line[-1] = _approach(line[-2], _near(_bottom(after[0].chord), line[-2]))
        elif not after and notes and len(line) > 1:
            line[-1] = _approach(line[-2], notes[0].pitch)
        last = line[-1]
        notes += [Note(*step, pitch) for step, pitch in zip(steps, line, strict=True)]
    return notes


def bass_step(meter: Meter) -> Fraction:
    """Return how long each note of the plain bass lasts, in quarters of the written beat.

    Two beats; three in compound meters (6/8, 9/8, 12/8).
    """
    compound = meter.unit >= 8 and meter.beats > 3 and meter.beats % 3 == 0
    return meter.beat * (3 if compound else 2)


def _steps(each: Held, step: Fraction) -> list[tuple[Fraction, Fraction]]:
    """Return start and length of each note under one chord."""
    count = -(-each.length // step)
    return [(each.start + n * step, min(step, each.length - n * step)) for n in range(int(count))]


def _bottom(chord: Chord) -> int:
    """Return the pitch class that the bass plays."""
    return (chord.bass or chord.root).pitch_class


def _near(pitch_class: int, last: int) -> int:
    """Return the nearest bass note of a pitch class to the last one, the middle in a tie."""
    octaves = [note for note in _ROOTS if note % 12 == pitch_class]
    return min(octaves, key=lambda note: (abs(note - last), abs(note - _MIDDLE)))


def _fifth(chord: Chord, root: int) -> int:
    """Return the chord's own fifth, below the root where there is room, or the root again."""
    fifths = [alter for number, alter in intervals(chord) if number == 5]
    if chord.bass is not None or not fifths:
        return root
    above = root + 7 + fifths[0]
    return above - 12 if above - 12 >= LOWEST else above


def _stroll(chord: Chord, root: int, count: int) -> list[int]:
    """Return ``count`` notes through the chord from its root on, to and fro."""
    between = _between(chord, root)
    return [root, *(between[n % len(between)] for n in range(count - 1))]


def _between(chord: Chord, root: int) -> list[int]:
    """Return the chord's tones away from the root and back, as many as have room."""
    classes = {tone(chord.root, number, alter).pitch_class for number, alter in _basic(chord)}
    if root > _MIDDLE:
        way = [note for note in range(root - 1, root - 12, -1) if note % 12 in classes]
    else:
        way = [note for note in range(root + 1, root + 12) if note % 12 in classes]
    way = [note for note in way if LOWEST <= note <= HIGHEST]
    return [*way, *way[-2::-1], root]


def _basic(chord: Chord) -> list[tuple[int, int]]:
    """Return the chord without its tensions."""
    return [(number, alter) for number, alter in intervals(chord) if number <= 7]


def _approach(last: int, goal: int) -> int:
    """Return a semitone's neighbour of the next root, on the side where the line comes from.

    Where that would repeat the last note or leave the range: the other neighbour, or the fifth.
    """
    side = 1 if last > goal else -1
    ways = (goal + side, goal - side, goal + 7)
    return next(note for note in ways if note != last and note >= LOWEST)
