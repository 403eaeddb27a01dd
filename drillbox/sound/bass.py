"""Bass lines from chord symbols: a plain one of roots and fifths, and one that walks.

The walking bass is seeded, so that the same loop always walks the same way.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from random import Random

from drillbox.music.charts import Meter, counted_beat, is_compound
from drillbox.music.chords import Chord, Family, family_of, intervals, own_degrees
from drillbox.sound.loop_parts import Held
from drillbox.tick import Tick, silent

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


def plain_bass(held: Sequence[Held], step: Fraction, beat: Fraction) -> list[Note]:
    """Return root and fifth in turn, each ``step`` quarter notes long, as ``steps_of`` has them.

    Each chord begins on its root (or its slash bass, which then stays).
    """
    notes: list[Note] = []
    last = MIDDLE
    for each in held:
        if each.chord is None:
            continue
        root = _near(bass_pitch_class(each.chord), last)
        pair = (root, _fifth(each.chord, root))
        for index, (start, length) in enumerate(steps_of(each, step, beat)):
            last = pair[index % 2]
            notes.append(Note(start, length, last))
        last = root
    return notes


def bass_step(meter: Meter) -> Fraction:
    """Return how long each note of the plain bass lasts, in quarter notes.

    Two beats; one counted beat in compound meters (6/8, 9/8, 12/8).
    """
    return counted_beat(meter) * (1 if is_compound(meter) else 2)


def steps_of(each: Held, step: Fraction, beat: Fraction) -> list[tuple[Fraction, Fraction]]:
    """Return start and length of each note under one chord, the last one shorter.

    Under a chord that begins off the beat the first one is shorter too, so that the others lie on
    beats (common practice).
    """
    at, end = each.start, each.start + each.length
    after = at - at % beat + step
    steps = []
    while at < end:
        steps.append((at, min(after, end) - at))
        at, after = after, after + step
    return steps


def bass_pitch_class(chord: Chord) -> int:
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


_SEED = 1
_WIDEST = 7  # semitones between neighbours, where there is a choice
_TRIES = 20
# Scale steps between the tones of a family, above the root: the second and the sixth, or the
# fourth under a minor third (common practice). Its scale may have them a semitone lower.
_STEPS: dict[Family, frozenset[int]] = {
    "major": frozenset({2, 9}),
    "minor": frozenset({2, 5}),
    "dominant": frozenset({2, 9}),
    "half-diminished": frozenset({5, 8}),
    "diminished": frozenset({2}),
    "suspended": frozenset({2, 9}),
    "augmented": frozenset({2}),
    "open": frozenset({2}),
}


Scale = frozenset[int]
"""The pitch classes of a scale."""


@dataclass(frozen=True, slots=True)
class _Walk:
    """What one chord is walked with: its root, the next root (None: silence), its notes.

    ``tones`` and ``steps`` are pitch classes, ``wrong`` the one that never sounds.
    """

    root: int
    goal: int | None
    tones: frozenset[int]
    steps: frozenset[int]
    wrong: int | None


def walking_bass(
    held: Sequence[Held],
    beat: Fraction,
    choruses: int = 1,
    tick: Tick = silent,
    *,
    scales: Sequence[Scale | None] = (),
) -> list[Note]:
    """Return a line with a note on every beat, ``choruses`` times through the chords, and one
    wherever a chord begins.

    Each chord begins on its root or slash bass, goes on through its tones and some steps of
    its scale, and ends a semitone from the next root or on a tone of its own that lies near
    it. Under a minor third the major one never sounds, nor the minor one under a major third
    (but for a #9). After the last chord comes the first, in the octave that it began in. A
    chord isn't walked the same way in two choruses running, unless it has a single beat.
    ``tick`` hears of choruses walked. ``scales`` holds the scale in use over each chord, None
    where it isn't known: then the steps are those of a major key.
    """
    once = sum((each.length for each in held), Fraction(0))
    roots = _roots(held)
    walks = [
        _walk_of(held, roots, index, scale)
        for index, scale in enumerate(scales or [None] * len(held))
    ]
    chance, before = Random(_SEED), [list[int]() for _ in held]
    notes: list[Note] = []
    for chorus in range(choruses):
        tick(chorus, choruses)
        for index, (each, walk) in enumerate(zip(held, walks, strict=True)):
            if walk is None:
                continue
            steps = steps_of(each, beat, beat)
            lines = (_line(walk, len(steps), chance) for _ in range(_TRIES))
            before[index] = next((one for one in lines if one != before[index]), before[index])
            notes += [
                Note(start + chorus * once, length, pitch)
                for (start, length), pitch in zip(steps, before[index], strict=True)
            ]
    return notes


def _roots(held: Sequence[Held]) -> dict[int, int]:
    """Return a MIDI note for each chord's bottom, so that all leaps are small, round the loop."""
    places = [index for index, each in enumerate(held) if each.chord]
    classes = [bass_pitch_class(chord) for each in held if (chord := each.chord)]
    octaves = [[note for note in ROOTS if note % 12 == each] for each in classes]
    if not octaves:
        return {}
    ways = [_path(first, octaves[1:]) for first in octaves[0]]
    _, best = min(ways)
    return dict(zip(places, best, strict=True))


def _path(first: int, octaves: Sequence[Sequence[int]]) -> tuple[int, tuple[int, ...]]:
    """Return the cost of the smoothest way from a root through the others and back, and the way."""
    ways: list[tuple[int, tuple[int, ...]]] = [(abs(first - MIDDLE), (first,))]
    for column in octaves:
        ways = [
            min((cost + _leap(way[-1], note), (*way, note)) for cost, way in ways)
            for note in column
        ]
    return min((cost + _leap(way[-1], first), way) for cost, way in ways)


def _leap(note: int, other: int) -> int:
    size = abs(note - other)
    return size * size + (10_000 if size > 12 else 0)


def _walk_of(
    held: Sequence[Held], roots: dict[int, int], index: int, scale: Scale | None
) -> _Walk | None:
    chord = held[index].chord
    if chord is None:
        return None
    own = own_degrees(chord)
    altered = {at for at, (number, alter) in own.items() if number > 8 and alter}
    tones = {at for at, (number, _) in own.items() if number <= 8}
    steps = {at for at in _steps(chord, scale) if not {at - 1, at + 1} & altered} | altered
    return _Walk(
        roots[index],
        roots.get((index + 1) % len(held)),
        _above(chord, tones),
        _above(chord, steps),
        next(iter(_above(chord, _other_third(own))), None),
    )


def _steps(chord: Chord, scale: Scale | None) -> set[int]:
    """Return the scale steps between a chord's tones, in semitones above its root."""

    def has(at: int) -> bool:
        return scale is None or (chord.root.pitch_class + at) % 12 in scale

    steps = _STEPS[family_of(chord)]
    plain = {at for at in steps if has(at)}
    return plain | {at - 1 for at in steps - plain if has(at - 1)}


def _above(chord: Chord, semitones: set[int]) -> frozenset[int]:
    return frozenset((chord.root.pitch_class + each) % 12 for each in semitones)


def _other_third(own: dict[int, tuple[int, int]]) -> set[int]:
    """Return the third that would contradict the chord's own: none where it has both or none."""
    return {7 - at for at in (3, 4) if at in own and own[at][0] == 3 and 7 - at not in own}


def _line(walk: _Walk, count: int, chance: Random) -> list[int]:
    """Return ``count`` notes from the root on, the last one leading to the goal."""
    line = [walk.root]
    goal = walk.root if walk.goal is None else walk.goal
    while len(line) < count:
        leads = len(line) == count - 1 and walk.goal is not None
        ways = list(_leading(walk, line[-1], goal) if leads else _onward(walk, line, goal))
        notes, weights = zip(*ways, strict=True)
        line.append(chance.choices(notes, weights)[0])
    return line


def _leading(walk: _Walk, last: int, goal: int) -> Iterator[tuple[int, float]]:
    """Yield the notes that lead to the next root, each with its weight."""
    near = range(max(LOWEST, goal - _WIDEST), min(HIGHEST, goal + _WIDEST) + 1)
    ways = [note for note in near if note not in (goal, last) and note % 12 != walk.wrong]
    chromatic = [note for note in ways if abs(note - goal) == 1]
    own = [note for note in ways if abs(note - goal) > 1 and note % 12 in walk.tones | walk.steps]
    widest = max(_WIDEST, min(abs(note - last) for note in chromatic + own))
    for note in chromatic + own:
        if abs(note - last) <= widest:
            between = min(last, goal) < note < max(last, goal)
            yield note, (4 if note in chromatic else 1) * (2 if between else 1)


def _onward(walk: _Walk, line: list[int], goal: int) -> Iterator[tuple[int, float]]:
    """Yield the notes that the line may go on with, each with its weight.

    Tones of the chord within a fifth, and its scale's steps a tone or less away: mostly in
    the direction of the line, or of the next root.
    """
    last = line[-1]
    ahead = last - line[-2] if len(line) > 1 else (goal - last or MIDDLE - last or 1)
    for note in range(max(LOWEST, last - _WIDEST), min(HIGHEST, last + _WIDEST) + 1):
        size = abs(note - last)
        tone = note % 12 in walk.tones
        if not size or note % 12 == walk.wrong or not (tone or note % 12 in walk.steps):
            continue
        if tone or size <= 2:
            weight = (3 if size <= 4 else 1) * (3 if (note - last) * ahead > 0 else 1)
            yield note, weight * (0.2 if note in line else 1)
