"""What one pass of an attempt was like, in numbers that rules can judge."""

from __future__ import annotations

from collections.abc import Container, Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from statistics import median

from drillbox.hearing.alignment import TENTH, Alignment, align, alone_for, of_chord, together
from drillbox.hearing.expected import Expected
from drillbox.hearing.takes import Beat, Played
from drillbox.hearing.timing import FEWEST, Timing, own_beat, timing_of

ORNAMENT = 0.1
"""Seconds: a quick note put in next to its neighbour is an ornament, not a slip. Mordents and
grace notes last 40 to 90 ms at most tempos (Timmers et al. 2002)."""
LATE = 0.3
"""Quarters by which a note that the rest of the line doesn't share is late or early."""
ANTICIPATED = 0.6
"""Quarters by which a target or a bar's first note may come early: an eighth ahead of the chord is
as much a manner of phrasing as laid-back time is."""


@dataclass(frozen=True, slots=True)
class Pass:
    """Once through the line, as heard.

    ``placed`` pairs notes of the line with what was played there, be it of a chord below;
    ``right``, ``wrong``, ``missed`` and ``late`` hold indices of the line; ``wrong`` with the
    note played in place, ``extra`` what was put in after which index. ``late`` holds (index,
    quarters), ``early`` likewise what was more than an anticipation. ``unplayed`` of the missed
    end the line; little was played in their place. ``notes`` are all that were played; ``own``
    tells that the player kept their own time; ``started`` is how many quarters after the
    click's beat the line lay, 0 where that isn't known.
    """

    line: Expected
    notes: tuple[Played, ...]
    placed: tuple[tuple[int, Played], ...]
    right: tuple[int, ...]
    wrong: tuple[tuple[int, Played], ...]
    missed: tuple[int, ...]
    extra: tuple[tuple[int, Played], ...]
    unplayed: int
    late: tuple[tuple[int, float], ...]
    early: tuple[tuple[int, float], ...]
    hesitations: tuple[tuple[int, float], ...]
    time: Timing | None
    quarter: float | None
    own: bool
    started: float = 0.0

    @property
    def slips(self) -> int:
        """Return the notes that were wrong, missed or put in."""
        return len(self.wrong) + len(self.missed) + len(self.extra)

    @property
    def accuracy(self) -> float:
        """Return the share of right notes in all that was owed or played; what lay off the beat
        costs one."""
        steady = max(0, len(self.right) - len(self.hesitations + self.late + self.early))
        return steady / max(1, len(self.right) + self.slips)


def one_pass(line: Expected, notes: Sequence[Played], beat: Beat | None) -> Pass:
    """Return how ``notes`` lie on one pass of a line.

    ``beat`` is the click's, its quarter 0 that of this pass; None where the player's own is
    to be found.
    """
    onsets = [float(each) for each in line.onsets]
    if beat is not None:
        found = align(onsets, line.classes, notes, beat, quick=ORNAMENT)
        shifted = _shifted(line, notes, found, beat)
        found = align(onsets, line.classes, notes, shifted, quick=ORNAMENT)
        return _pass(line, notes, found, beat, own=False)
    # A line broken off lies anywhere in the whole by pitch alone: try its beginning as well.
    both = [_own_time(line, onsets, notes, whole) for whole in (None, 0)]
    found, own = min(both, key=lambda each: each[0].cost)
    return _pass(line, notes, found, own, own=True)


def _shifted(line: Expected, notes: Sequence[Played], found: Alignment, beat: Beat) -> Beat:
    """Return the click as late as the line was played to it, laid back or by a slow reed."""
    off = [
        notes[j].start - beat.at(float(line.onsets[i]))
        for i, j in found.pairs
        if line.has(i, notes[j])
    ]
    return replace(beat, start=beat.start + median(off)) if off else beat


def _own_time(
    line: Expected, onsets: Sequence[float], notes: Sequence[Played], whole: int | None
) -> tuple[Alignment, Beat | None]:
    """Lay the notes by pitch, find the beat that they keep, and lay them out again by both."""
    found = align(onsets, line.classes, notes, None, whole=whole, quick=ORNAMENT)
    beat = None
    for _ in range(2):
        beat = _beat_of(line, notes, found) or beat
        if beat is None:
            break
        found = align(onsets, line.classes, notes, beat, quick=ORNAMENT)
    return found, beat


def _beat_of(line: Expected, notes: Sequence[Played], found: Alignment) -> Beat | None:
    right = [(i, j) for i, j in found.pairs if line.has(i, notes[j])]
    return own_beat([float(line.onsets[i]) for i, _ in right], [notes[j].start for _, j in right])


_Pairs = tuple[tuple[int, int], ...]
"""(Note of the line, note played), as an alignment has them."""


def _pass(
    line: Expected, notes: Sequence[Played], found: Alignment, beat: Beat | None, *, own: bool
) -> Pass:
    deep = _deep(notes)
    found = replace(found, pairs=_without_bass(line, notes, found.pairs, deep))
    right = [(i, j) for i, j in found.pairs if line.has(i, notes[j])]
    lowest = _lowest_alone(notes, [j for _, j in right])
    above = {i: j for i, j in right if notes[j].pitch >= lowest}
    unplayed = _unplayed(line, notes, above, beat, deep)
    end = len(line) - unplayed
    wrong = [
        (i, j)
        for i, j in found.pairs
        if not line.has(i, notes[j])
        and not (of_chord(notes, j) and (i >= end or notes[j].pitch < lowest))
    ]
    hit = {i for i, _ in (*right, *wrong)}
    missed = tuple(i for i in range(len(line)) if i not in hit)
    time = None
    if beat is not None and len(right) >= FEWEST:
        time = timing_of(
            [float(line.onsets[i]) for i, _ in right],
            [_struck(notes, j, found) for _, j in right],
            beat, float(line.smallest), own=own,
        )  # fmt: skip
    late, early, lost = _lateness(line, [i for i, _ in right], time)
    return Pass(
        line,
        tuple(notes),
        tuple((i, notes[j]) for i, j in found.pairs),
        tuple(i for i, _ in right),
        tuple((i, notes[j]) for i, j in wrong),
        missed,
        _put_in(notes, found, deep),
        unplayed,
        late,
        early,
        lost,
        time,
        beat.quarter if beat else None,
        own,
        0.0 if beat is None or own or beat.found or time is None else time.offset,
    )


def _without_bass(line: Expected, notes: Sequence[Played], pairs: _Pairs, deep: int) -> _Pairs:
    """Return the pairs without notes of a bass, of the line's pitch classes or of others.

    Those lie deep below where the line was played. A note beside it that is of no pair takes its
    place. More than a third of the right ones, or more than what of a bass isn't the line's, is
    none by chance: the player moved those octaves down.
    """
    moved = {j: notes[j].pitch - line.pitches[i] for i, j in pairs}
    same = [j for i, j in pairs if line.has(i, notes[j])]
    usual = median(moved[j] for j in same) if same else 0
    bass = {j for j, by in moved.items() if usual - by >= deep}
    chance = len(bass.intersection(same))
    if chance * 3 > len(same) or chance > len(notes) - len(pairs):
        return pairs
    kept: list[tuple[int, int]] = []
    for at, (i, j) in enumerate(pairs):
        first = kept[-1][1] + 1 if kept else 0
        end = pairs[at + 1][1] if at + 1 < len(pairs) else len(notes)
        beside = [
            k
            for k in range(first, end)
            if k != j and usual + line.pitches[i] - notes[k].pitch < deep
        ]
        if j not in bass:
            kept.append((i, j))
        elif beside:
            kept.append((i, min(beside, key=lambda k: abs(notes[k].start - notes[j].start))))
    return tuple(kept)


def _lowest_alone(notes: Sequence[Played], right: Sequence[int]) -> int:
    """Return the lowest pitch of the right notes that are of no chord, 0 where few aren't.

    A chord's note below it is the left hand's.
    """
    alone = [notes[j].pitch for j in right if not of_chord(notes, j)]
    return min(alone) if len(alone) * 2 > len(right) else 0


def _deep(notes: Sequence[Played]) -> int:
    """Return how many semitones below the line a note is a bass's: where none sound together, as
    of a horn, more than there are."""
    sounding = any(of_chord(notes, j) for j in range(len(notes)))
    return TENTH if sounding else 128


def _unplayed(
    line: Expected, notes: Sequence[Played], right: dict[int, int], beat: Beat | None, deep: int
) -> int:
    """Return how many notes of the line's end never came; a chance hit among five is none.

    Where half as many others sounded in their place, chords and a bass aside, the player went on,
    and stopped nowhere.
    """
    came = gone = 0
    for count, i in enumerate(reversed(range(len(line))), start=1):
        came += i in right
        if came * 5 > count:
            break
        gone = gone if i in right else count
    stopped = max((i for i in right if i < len(line) - gone), default=None)
    first = 0 if stopped is None else right[stopped] + 1
    after = [notes[j] for j in range(first, len(notes)) if not of_chord(notes, j)]
    if stopped is not None:
        last = notes[right[stopped]]
        after = [note for note in after if last.pitch - note.pitch < deep]
        if beat is not None:
            rest = float(line.onsets[-1] - line.onsets[stopped] + line.smallest)
            until = last.start + rest * beat.quarter
            after = [note for note in after if note.start <= until]
    return 0 if len(after) * 2 >= gone else gone


_Moved = tuple[tuple[int, float], ...]
"""(Index of the line, quarters) for each note or place that lay off the beat."""


def _lateness(
    line: Expected, right: Sequence[int], time: Timing | None
) -> tuple[_Moved, _Moved, _Moved]:
    """Part the notes that alone came late or early from the places where the beat itself was lost.

    Such notes are back in time within a beat and a half, or end the line; those that were
    late together count once, as their target where there is one.
    """
    late, early, lost, done = [], [], [], 0
    for at, quarters in time.jumps if time else ():
        if at < done:
            continue
        done = _back_in_time(line, right, time, at) if time else 0
        those, by = [right[k] for k in range(at + 1, done)], quarters
        if not done and at == 0 and quarters < ANTICIPATED:  # all but the first note moved
            those, by = [right[0]], -quarters
        if not those:
            lost.append((right[at + 1], by))
        elif by > 0:
            aimed = [i for i in those if i in line.targets] or those
            late.append((aimed[0], by))
        elif not _anticipated(line, those[0], -by):
            early.append((those[0], -by))
    return tuple(late), tuple(early), tuple(lost)


def _anticipated(line: Expected, index: int, quarters: float) -> bool:
    begins = index == 0 or line.bars[index] != line.bars[index - 1]
    return quarters <= ANTICIPATED and (begins or index in line.targets)


def _back_in_time(line: Expected, right: Sequence[int], time: Timing, at: int) -> int:
    """Return the first right note after a jump that is as before it, 0 where none is soon."""
    until = line.onsets[right[at + 1]] + Fraction(3, 2)
    for k in range(at + 2, len(right)):
        if line.onsets[right[k]] > until:
            return 0
        if abs(time.late[k] - time.late[at]) < LATE:
            return k
    return len(right) if at + 2 >= len(right) else 0


def _put_in(notes: Sequence[Played], found: Alignment, deep: int) -> tuple[tuple[int, Played], ...]:
    """Return the notes put in that aren't ornaments, of a chord or of a bass, within the line."""
    to = {j: i for i, j in found.pairs}
    if not to:
        return tuple((-1, note) for note in notes)
    first, last = min(to), max(to)
    slips, at = [], -1
    for j in range(first, last + 1):
        at = to.get(j, at)
        if j not in to and not _ornament(notes, j, to) and not _below(notes, j, to, deep):
            slips.append((at, notes[j]))
    return tuple(slips)


def _below(notes: Sequence[Played], j: int, line: Iterable[int], deep: int) -> bool:
    """Return whether a note is of a chord below one of the line's two notes nearest in time, or as
    deep below both as a bass is."""
    near = sorted(line, key=lambda k: abs(notes[k].start - notes[j].start))[:2]
    pitches = [notes[k].pitch for k in near]
    chordal = of_chord(notes, j) and notes[j].pitch < max(pitches)
    return chordal or notes[j].pitch <= min(pitches) - deep


def _ornament(notes: Sequence[Played], j: int, line: Container[int]) -> bool:
    """Return whether a note is quick and next to its neighbour, or ends a turn round one.

    What is struck with it and isn't of the line is no neighbour.
    """
    if not _quick(notes, j):
        turned = j >= 2 and _quick(notes, j - 1) and _quick(notes, j - 2)
        return turned and notes[j].pitch == notes[j - 2].pitch
    note, sides = notes[j], (range(j - 1, -1, -1), range(j + 1, len(notes)))
    near = (
        next((notes[k] for k in side if k in line or not together(notes[k], note)), None)
        for side in sides
    )
    return min((_distance(note.pitch, each.pitch) for each in near if each), default=12) <= 2


def _struck(notes: Sequence[Played], j: int, found: Alignment) -> float:
    """Return when a note began: with the turn round it, where it has one."""
    first = j - 2
    if j >= 2 and all(j - 1 != k != first for _, k in found.pairs):
        turned = _quick(notes, j - 1) and _quick(notes, first)
        if turned and notes[first].pitch == notes[j].pitch:
            return notes[first].start
    return notes[j].start


def _quick(notes: Sequence[Played], j: int) -> bool:
    return alone_for(notes, j) <= ORNAMENT


def _distance(one: int, other: int) -> int:
    """Return the semitones between two pitch classes, 0 to 6."""
    apart = abs(one - other) % 12
    return min(apart, 12 - apart)
