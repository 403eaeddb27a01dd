"""An attempt parted into its times through: whole ones, broken off, or with another thing played.

Only silence is passed over. A loop of the click in which something else sounded was a time
through without the line in it, and so is as much as the line's worth of it in the player's own
time.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise
from math import ceil, inf
from statistics import median

from drillbox.hearing.alignment import NEAR, TOGETHER, align
from drillbox.hearing.expected import Expected
from drillbox.hearing.features import ORNAMENT, Pass, one_pass
from drillbox.hearing.takes import Beat, Played, Take

MOST_LOOPS = 32
"""Passes listened for in one go; who plays on for longer has been heard enough."""
FITS, CLEARLY = 0.6, 0.25
"""Accuracy from which another key fits, and by how much better than the one asked for: noodling
in the key comes to a third in each."""
STARTED = 0.3
"""Share of a line's notes that must have come for a later loop to count as begun."""
FULL = 0.75
"""Share of the fullest loop's notes from which one tells where the beat lies, and of the line's
notes that other ones come to where they took its place in the player's own time."""
WARMING_UP = 12
"""Other notes that are a time through without a click; fewer are tried before or after the line."""
FEWEST = 4
"""The same within a loop of the click; fewer are a fill."""
TRIED, TO_A_CLICK = 4, 3
"""Notes of the line's beginning in a row that are a start: fewer are tried out in the player's own
time; while a click goes on nobody does so."""


def passes_played(line: Expected, take: Take, loops: int | None = None) -> tuple[Pass, ...]:
    """Return each time through, in order, starts that were broken off and other notes among them.

    The first one counts even where it was hardly begun. ``loops`` is how often the click went
    through the chart, None where that isn't known.
    """
    if not take.notes:
        return ()
    begun = begun_in(line, take, loops)
    passes, ended = [], -inf
    for heard in begun.values():
        starts = [note.start for _, note in heard.placed] or [ended]
        before = [note for note in take.notes if ended < note.start < starts[0]]
        broken_off = _false_starts(line, before, take.beat)
        passes += broken_off or _without_the_line(line, before, take.beat, begun, loops)
        passes.append(heard)
        ended = starts[-1]
    after = [note for note in take.notes if note.start > ended]
    return (*passes, *_without_the_line(line, after, take.beat, begun, loops))


def begun_in(line: Expected, take: Take, loops: int | None = None) -> dict[int, Pass]:
    """Return the passes that were begun, in order, by the number of their loop."""
    at = _laid(line, take.notes, take.beat, loops, whole=len(line))
    begun = [k for k in at if len(at[k]) >= STARTED * len(line)] or list(at)[:1]
    found = {
        k: one_pass(line, _within(take.notes, at, k), _shifted(take.beat, k * float(line.length)))
        for k in begun
    }
    return found or {0: one_pass(line, take.notes, take.beat)}


_Pairs = dict[int, list[tuple[int, int]]]
"""For each loop that was played, in order, the pairs (note of the line, note played)."""


def _laid(
    line: Expected, notes: Sequence[Played], beat: Beat | None, loops: int | None, *, whole: int
) -> _Pairs:
    """Lay the notes on as many loops as there may be."""
    count = min(loops or _loops(line, notes, beat), MOST_LOOPS)
    onsets = [float(on + k * line.length) for k in range(count) for on in line.onsets]
    found = align(onsets, line.classes * count, notes, beat, whole=whole, quick=ORNAMENT)
    at: _Pairs = {}
    for i, j in found.pairs:
        at.setdefault(i // len(line), []).append((i % len(line), j))
    return at


def _loops(line: Expected, notes: Sequence[Played], beat: Beat | None) -> int:
    """Return how often the chart may have gone round until the last note."""
    most = ceil(len(notes) / len(line))
    if beat is None or beat.found:
        return most
    return max(most, min(MOST_LOOPS, _loop_of(line, notes[-1], beat) + 1))


def _loop_of(line: Expected, note: Played, beat: Beat) -> int:
    """Return the number of the click's loop in which a note lies, below 0 before the first."""
    quarters = (note.start - beat.start) / beat.quarter - float(line.onsets[0]) + NEAR
    return int(max(-1.0, min(float(MOST_LOOPS), quarters // float(line.length))))


def _false_starts(line: Expected, notes: Sequence[Played], beat: Beat | None) -> list[Pass]:
    """Return each start that was broken off before a pass.

    Before the click's first bar nothing is one: whoever tries out the line then hasn't begun.
    """
    least = TRIED
    if beat is not None and not beat.found:
        least, first = TO_A_CLICK, beat.at(float(line.onsets[0]) - NEAR)
        notes = [note for note in notes if note.start >= first]
    classes, sought = tuple(note.pitch % 12 for note in notes), line.classes[:least]
    starts = [j for j in range(len(notes)) if classes[j : j + least] == sought]
    return [
        one_pass(line, notes[start:end], None) for start, end in pairwise([*starts, len(notes)])
    ]


def _without_the_line(
    line: Expected,
    notes: Sequence[Played],
    beat: Beat | None,
    begun: Iterable[int],
    loops: int | None,
) -> list[Pass]:
    """Return the times through that held other notes, of those that lie outside of the passes.

    To a click that is one of its ``loops`` in which no pass was begun: in one with a pass they
    are a fill, and after the last one it is over, as where a round's next key follows. Chords,
    and a key that chatters, are one note.
    """
    notes = [
        note for n, note in enumerate(notes) if not n or note.start - notes[n - 1].start > TOGETHER
    ]
    if beat is None or beat.found:
        enough = len(notes) >= max(WARMING_UP, FULL * len(line))
        if enough or other_key(line, Take(tuple(notes), "midi")) is not None:
            return [one_pass(line, notes, None)]
        return []
    by_loop: dict[int, list[Played]] = {}
    for note in notes:
        by_loop.setdefault(_loop_of(line, note, beat), []).append(note)
    return [
        one_pass(line, each, _shifted(beat, k * float(line.length)))
        for k, each in by_loop.items()
        if 0 <= k < (loops or inf)
        and k not in begun
        and len(each) >= max(FEWEST, STARTED * len(line))
    ]


def beat_found(line: Expected, notes: Sequence[Played], quarter: float) -> Beat:
    """Return the beat of a known tempo, its place found from the first loop that was played."""
    at = _laid(line, notes, None, None, whole=0)
    full = max((len(each) for each in at.values()), default=0)
    loop = next((each for each in at.values() if len(each) >= FULL * full), [])
    starts = [
        notes[j].start - float(line.onsets[i]) * quarter for i, j in loop if line.has(i, notes[j])
    ]
    return Beat(median(starts or [notes[0].start]), quarter, found=True)


def _within(notes: Sequence[Played], at: _Pairs, k: int) -> Sequence[Played]:
    """Return the notes of one pass: up to the neighbours' own, as far as they are between them."""
    before = max((j for each in at if each < k for _, j in at[each]), default=-1)
    after = min((j for each in at if each > k for _, j in at[each]), default=len(notes))
    return notes[before + 1 : after]


def _shifted(beat: Beat | None, quarters: float) -> Beat | None:
    return replace(beat, start=beat.at(quarters)) if beat else None


def _fits(line: Expected, take: Take) -> list[float]:
    """Return how well what was played fits each key, by the semitones from the one asked for."""
    if not take.notes:
        return [0.0] * 12
    return [
        max(each.accuracy for each in begun_in(moved, take).values())
        for moved in map(line.transposed, range(12))
    ]


def other_key(line: Expected, take: Take) -> int | None:
    """Return by how many semitones another key fits what was played clearly better, or None."""
    if len(take.notes) < FITS * len(line):
        return None
    scored = _fits(line, take)
    best, semitones = max((score, semitones) for semitones, score in enumerate(scored))
    return semitones if semitones and best >= FITS and best > scored[0] + CLEARLY else None
