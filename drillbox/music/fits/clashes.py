"""Which notes of a line rub against other chords than those that it was written over."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from drillbox.music.chords import Chord, chord_semitones, degree_text, own_degrees, played_degrees
from drillbox.music.degrees import degree
from drillbox.music.fits.shapes import Quality, Shape, Time, int_where_whole, root_and_quality
from drillbox.music.phrases import LineNote
from drillbox.music.pitch import FLATS

# Semitones above the root that rub where a line leans on them: what lies a semitone above a
# chord tone, and what contradicts the third or seventh. On a dominant the altered tensions
# don't, its fourth and its major seventh do (common practice; the avoid notes of Nettles & Graf,
# The Chord Scale Theory and Jazz Harmony, 1997, from memory).
_AVOIDED: dict[Quality, frozenset[int]] = {
    "major": frozenset({1, 3, 5, 8, 10}),
    "minor": frozenset({1, 4, 6, 8, 11}),
    "minor-major": frozenset({1, 4, 6, 8, 10}),
    "dominant": frozenset({5, 11}),
    "half-diminished": frozenset({1, 4, 7, 11}),
    "diminished": frozenset({1, 4, 7, 10}),
    "augmented": frozenset({1, 3, 5, 7, 10}),
    "suspended": frozenset({1, 3, 4, 8}),
    "open": frozenset({1, 6}),
    "none": frozenset(),
}
# Of two tensions that exclude each other a symbol names one, and the other rubs.
_EXCLUDED = {(9, -1): {2}, (9, 1): {2}, (9, 0): {1, 3}, (13, 0): {8}, (13, -1): {9},
             (5, 1): {7, 9}, (11, 0): {4}}  # fmt: skip


class ChordSound(NamedTuple):
    """A chord as it is compared and leant on: root, what lies above it, and what rubs there."""

    root: int
    above: frozenset[int]
    bass: int
    rubs: frozenset[int]

    def is_as(self, other: ChordSound, up: int) -> bool:
        """Return whether it sounds as another does that is moved up by semitones."""
        return (
            self.root == (other.root + up) % 12
            and self.above == other.above
            and self.bass == other.bass
        )


@lru_cache(maxsize=4096)
def sound_of(chord: Chord) -> ChordSound:
    """Return how a chord sounds, and where above its root a line had better not lean."""
    own = _played(chord)
    found = set(_AVOIDED[root_and_quality(chord)[1]])
    for tension, others in _EXCLUDED.items():
        if tension in own.values():
            found |= others
    if 5 in chord_semitones(chord):  # a fourth in the third's place
        found = (found | {4}) - {5}
    root, bass = chord.root.pitch_class, (chord.bass or chord.root).pitch_class
    return ChordSound(root, frozenset(own), (bass - root) % 12, frozenset(found - own.keys()))


def _played(chord: Chord) -> dict[int, tuple[int, int]]:
    """Return a chord's own degrees by semitones, as far as they are played."""
    played = played_degrees(chord)
    return {at: each for at, each in own_degrees(chord).items() if each in played}


class Leaning(NamedTuple):
    """A note that the line leans on, and the chord that it is heard with.

    ``at`` is when it sounds, in quarter notes from the first full bar; an early arrival
    sounds when its chord comes.
    """

    at: Time
    note: LineNote
    over: Chord
    sound: ChordSound

    @property
    def above(self) -> int:
        """Return how many semitones above its own chord's root it lies."""
        return (self.note.pitch.name.pitch_class - self.sound.root) % 12


@dataclass(frozen=True, slots=True)
class Clash:
    """A note of the line that rubs: when in the phrase, what it was and what it becomes.

    ``onset`` is in quarter notes from the phrase's first full bar, ``at`` when it is heard in those
    of the tune from where the phrase begins there. The degrees are ASCII, as over the phrase's
    chord and over the tune's; ``better`` is one of the tune's chord a semitone away, "" where
    there is none.
    """

    onset: Fraction
    at: Time
    was: str
    becomes: str
    better: str


def leanings(line: Sequence[LineNote], shape: Shape, beat: Time) -> Iterator[Leaning]:
    """Yield the notes that a line leans on: on the beat, held across a change, or marked.

    What is held across a change from off the beat is heard with the chord that comes. Pickups
    and grace notes are none, nor is what lies beyond the chords of the ``shape``.
    """
    starts = shape.starts
    for note in line:
        onset = int_where_whole(note.onset)
        if onset < 0 or onset >= shape.end or not note.length:
            continue
        index = bisect_right(starts, onset) - 1
        if onset % beat != 0:
            if index + 1 < len(starts) and starts[index + 1] < onset + note.length:
                index += 1
                onset = starts[index]
            elif not note.target:
                continue
        if chord := shape.chords[index].chord:
            yield Leaning(onset, note, chord, sound_of(chord))


def clash(leaning: Leaning, up: int, chord: Chord, at: Time) -> Clash:
    """Return what a note, moved up by semitones, becomes over a chord that it rubs against.

    ``at`` is when it is heard there, from where the phrase begins.
    """
    name = leaning.note.pitch.name
    moved = FLATS[(name.pitch_class + up) % 12]
    was, becomes = degree(leaning.over, name), degree(chord, moved)
    above = (moved.pitch_class - chord.root.pitch_class) % 12
    return Clash(leaning.note.onset, at, was, becomes, _beside(chord, above, was, becomes))


def _beside(chord: Chord, above: int, *like: str) -> str:
    """Return a chord's own degree a semitone from a note that lies ``above`` its root: one of the
    same number as a degree it is ``like``, the first before others, or else a chord tone; "" for
    none."""
    own, tones = _played(chord), chord_semitones(chord)
    near = [at for at in ((above - 1) % 12, (above + 1) % 12) if at in own]
    same = [at for each in like for at in near if str(own[at][0]) == each.lstrip("b#")]
    found = [*same, *(at for at in near if at in tones)]
    return degree_text(*own[found[0]]) if found else ""
