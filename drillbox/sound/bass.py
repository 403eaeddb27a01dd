"""A plain bass from chord symbols: roots and fifths. What every bass line shares."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from drillbox.music.charts import Meter, counted_beat, is_compound
from drillbox.music.chords import Chord, intervals
from drillbox.sound.loop_parts import Held

LOWEST, HIGHEST = 28, 55
"""E1 to G3 as MIDI notes: a double bass below its thumb position."""
MIDDLE = 40
ROOTS = range(LOWEST, 51)
"""Where roots lie: there is room above for a fifth or an approach."""


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
    last = MIDDLE
    for each in held:
        if each.chord is None:
            continue
        root = _near(bottom(each.chord), last)
        pair = (root, _fifth(each.chord, root))
        for index, (start, length) in enumerate(steps_of(each, step)):
            last = pair[index % 2]
            notes.append(Note(start, length, last))
        last = root
    return notes


def bass_step(meter: Meter) -> Fraction:
    """Return how long each note of the plain bass lasts, in quarter notes.

    Two beats; one counted beat in compound meters (6/8, 9/8, 12/8).
    """
    return counted_beat(meter) * (1 if is_compound(meter) else 2)


def steps_of(each: Held, step: Fraction) -> list[tuple[Fraction, Fraction]]:
    """Return start and length of each note under one chord."""
    count = -(-each.length // step)
    return [(each.start + n * step, min(step, each.length - n * step)) for n in range(int(count))]


def bottom(chord: Chord) -> int:
    """Return the pitch class that the bass plays."""
    return (chord.bass or chord.root).pitch_class


def _near(pitch_class: int, last: int) -> int:
    """Return the nearest bass note of a pitch class to the last one, the middle in a tie."""
    octaves = [note for note in ROOTS if note % 12 == pitch_class]
    return min(octaves, key=lambda note: (abs(note - last), abs(note - MIDDLE)))


def _fifth(chord: Chord, root: int) -> int:
    """Return the chord's own fifth, below the root where there is room, or the root again."""
    fifths = [alter for number, alter in intervals(chord) if number == 5]
    if chord.bass is not None or not fifths:
        return root
    above = root + 7 + fifths[0]
    return above - 12 if above - 12 >= LOWEST else above
