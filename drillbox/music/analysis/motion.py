"""How the notes of a line move: enclosures, passing and approach notes, arpeggios, runs."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from drillbox.music.analysis.line_in_chart import Line, Scales
from drillbox.music.chords import sound_alike
from drillbox.music.degrees import above_root
from drillbox.music.heard import is_chord_tone

Side = Literal["above", "below"]


@dataclass(frozen=True, slots=True)
class Enclosure:
    """The ``notes`` that surround the note ``landing`` (indices in the line)."""

    notes: tuple[int, ...]
    landing: int
    chromatic: bool

    def text(self) -> str:
        """Return ``chromatic enclosure of 3 notes``."""
        kind = "chromatic" if self.chromatic else "diatonic"
        return f"{kind} enclosure of {len(self.notes)} notes"


def leading_pairs(line: Line) -> tuple[tuple[int, int], ...]:
    """Return each pair of notes of which the first leads to the second, round the loop.

    Between them there is less than a beat of silence. A grace note leads to the note that it
    stands before; no note leads to a grace note.
    """
    found = ((i, line.next(i)) for i in range(len(line.notes)))
    return tuple((i, after) for i, after in found if after is not None)


def chromatic_notes(line: Line, scales: Scales) -> frozenset[int]:
    """Return the chromatic notes: those outside the scales of the chord they're heard with.

    Nothing is chromatic where no chord sounds.
    """
    return frozenset(
        i
        for i, note in enumerate(line.notes)
        if (chord := line.chord(i))
        and not any(above_root(chord, note.pitch.name) in each for each in scales[line.heard[i]])
    )


def enclosures(
    line: Line, aimed: frozenset[int], chromatic: frozenset[int]
) -> tuple[Enclosure, ...]:
    """Return the enclosures of a line.

    The landing note is a target, or a chord tone; one off the pulse only where no chord tone is
    among the notes around it, and none of them belongs to an enclosure on it. The two to
    four notes that lead to it one after the other enclose it if each lies a semitone or a
    whole tone from it, at least one above and one below, those on one side coming nearer;
    no target is among them, no note longer than a beat and than the subdivision, and no step
    of an arpeggio with two or more chord tones: F A C E rising over Dm7 and falling to D does
    not enclose the D. As many notes as fit are taken. It is chromatic if any of them is outside
    the scale of its chord, else diatonic.
    """
    before = _leading(line)
    on, off = [], []
    for landing, note in enumerate(line.notes):
        tone = is_chord_tone(line.chord(landing), note)
        group = (
            tuple(_surrounding(line, landing, before, aimed)) if tone or landing in aimed else ()
        )
        found = Enclosure(group, landing, any(i in chromatic for i in group))
        if group and (landing in aimed or line.strong(landing)):
            on.append(found)
        elif group and not any(is_chord_tone(line.chord(i), line.notes[i]) for i in group):
            off.append(found)
    used = {i for each in on for i in (*each.notes, each.landing)}
    apart = (each for each in off if not used & {*each.notes, each.landing})
    return tuple(sorted((*on, *apart), key=lambda each: each.landing))


def _leading(line: Line) -> dict[int, int]:
    """Return for each note the one that may enclose it: the one before.

    It is no arpeggio's step, and isn't held: no longer than a beat, or than its kind.
    """
    steps = frozenset(
        pair
        for run in arpeggios(line)
        if sum(is_chord_tone(line.chord(i), line.notes[i]) for i in run) >= 2
        for pair in pairwise(run)
    )
    return {
        after: i
        for i, after in leading_pairs(line)
        if 0 < line.notes[i].length <= max(line.beat, line.smallest) and (i, after) not in steps
    }


def _surrounding(
    line: Line, landing: int, before: dict[int, int], aimed: frozenset[int]
) -> list[int]:
    group: list[int] = []
    longest: list[int] = []
    nearest: dict[bool, int] = {}
    at = landing
    while len(group) < 4 and at in before:
        at = before[at]
        move = line.move(at, landing)
        above, distance = move < 0, abs(move)
        if at in aimed or at == landing or not nearest.get(above, 0) < distance <= 2:
            break
        nearest[above] = distance
        group.insert(0, at)
        if len(nearest) == 2:
            longest = list(group)
    return longest


def passing_notes(line: Line) -> frozenset[int]:
    """Return the passing notes.

    Not chord tones, and short (shorter than a beat, or no longer than the subdivision), on
    any beat: one or more that fill the way between two chord tones by semitones or whole
    tones, every step in one direction. Each note is judged on the chord that it's heard with.
    """
    onward = dict(leading_pairs(line))
    found: set[int] = set()
    for start, note in enumerate(line.notes):
        if note.length == 0 or not is_chord_tone(line.chord(start), note):
            continue
        way: list[int] = []
        at, last = start, 0
        while (after := onward.get(at)) is not None:
            move = line.move(at, after)
            if not 1 <= abs(move) <= 2 or move * last < 0 or after in way:
                break
            last = move
            if is_chord_tone(line.chord(after), line.notes[after]):
                found.update(way)
                break
            if not line.short(after):
                break
            way.append(after)
            at = after
    return frozenset(found)


def approach_notes(line: Line, aimed: frozenset[int], chromatic: frozenset[int]) -> dict[int, Side]:
    """Return the approach notes and the side from which each comes.

    Not a chord tone, short, and leading by a semitone or a whole tone to a target or a chord
    tone. On a pulse only where it is chromatic, or leads to a target: a scale tone that is
    heard on a pulse is a tension. A note that isn't a chord tone, a semitone further out and
    leading to an approach note in the same direction, is one too (a double approach).
    """
    found: dict[int, Side] = {}
    for i, after in 2 * sorted(leading_pairs(line), reverse=True):  # twice: the line loops
        move = line.move(i, after)
        free = i not in aimed and not is_chord_tone(line.chord(i), line.notes[i]) and line.short(i)
        if not free or not 1 <= abs(move) <= 2:
            continue
        side: Side = "below" if move > 0 else "above"
        resolves = after in aimed or is_chord_tone(line.chord(after), line.notes[after])
        weak = not line.strong(i) or i in chromatic or after in aimed
        if (resolves and weak) or (abs(move) == 1 and found.get(after) == side):
            found[i] = side
    return found


def arpeggios(line: Line) -> tuple[tuple[int, ...], ...]:
    """Return the arpeggios of a line, each as its notes.

    Three or more notes in one direction, heard with the same chord, each a third (3 or 4
    semitones) from the one before, or a fourth (5) between two chord tones. They needn't be
    chord tones: thirds go on through 9, 11 and 13, altered or not.
    """

    def stacked(i: int, after: int) -> bool:
        size = abs(line.move(i, after))
        fourth = size == 5 and all(is_chord_tone(line.chord(e), line.notes[e]) for e in (i, after))
        same = line.chord(i) is not None and sound_alike(line.chord(i), line.chord(after))
        return same and (size in (3, 4) or fourth)

    return tuple(tuple(run) for run in _runs(line, stacked) if len(run) >= 3)


def scale_runs(line: Line) -> tuple[tuple[int, ...], ...]:
    """Return the scale runs of a line, each as its notes.

    Four or more notes in one direction by semitones and whole tones, not all semitones; a
    run may cross a change of chord.
    """
    return tuple(
        tuple(run)
        for run in _runs(line, lambda i, after: 1 <= abs(line.move(i, after)) <= 2)
        if len(run) >= 4 and any(abs(line.move(i, j)) == 2 for i, j in pairwise(run))
    )


def _runs(line: Line, joins: Callable[[int, int], bool]) -> Iterator[list[int]]:
    """Yield the longest runs of notes in one direction that join, from first note to last."""
    run: list[int] = []
    for i, after in leading_pairs(line):
        if line.notes[i].length == 0:
            continue
        if after < i or not joins(i, after):
            yield run
            run = []
        elif run and run[-1] == i and _same_way(line.move(run[-2], i), line.move(i, after)):
            run.append(after)
        else:
            yield run
            run = [i, after]
    yield run


def _same_way(move: int, other: int) -> bool:
    return move * other > 0
