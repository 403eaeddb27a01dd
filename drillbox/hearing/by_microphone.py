"""Sound judged: notes by the tracker, then a second look at its slips with the line known.

What the first hearing took for a slip is looked up in the sound again: was the line's own
note there after all, half hidden by the one before, by noise, or by a partial?
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from drillbox.hearing.expected import Expected
from drillbox.hearing.features import Pass
from drillbox.hearing.judging import Judgement, Word, judge
from drillbox.hearing.passes import passes_played
from drillbox.hearing.takes import Played, Take
from drillbox.hearing.tracker import HOP, Frames

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


THERE, BEHIND = 0.5, 0.15
"""A class is there from this strength on, where no other is stronger by more than the second."""
BRIEF = 0.045
"""Seconds: a note put in that is shorter is an onset's noise rather than a note."""
FAINT = 0.6
"""Strength below which a note put in is rather the room or the click."""
ABSENT, CLEAR, HELD = 0.35, 0.7, 0.055
"""A slip is certain where the missed note's strength is under the first, or the wrong one's over
the second for so many seconds."""
SCOOPED = 11
"""Semitones, octaves aside, from a note to the one below from which it is scooped."""


def look_again(heard: Pass, notes: Sequence[Played], found: Frames) -> tuple[Played, ...]:
    """Return the notes of one pass without the slips that the sound doesn't bear out."""
    kept = [note for note in notes if not _phantom(note, notes, heard)]
    for i, note in heard.wrong:
        mine = heard.line.pitches[i]
        rose = (note.pitch - mine) % 12 == SCOOPED
        first = (note.start + note.end) / 2 if rose else note.start
        if _there(_mean(found, first, note.end), mine % 12):
            other = replace(note, pitch=mine, sure=0.5)
            kept = [other if each is note else each for each in kept]
    for i in heard.missed:
        start, end = _place(heard, i)
        if start < end and _there(_mean(found, start, end), heard.line.pitches[i] % 12):
            kept.append(Played(start, end, heard.line.pitches[i], 0.5))
    return tuple(sorted(kept, key=lambda note: note.start))


def is_certain_slip(heard: Pass, found: Frames) -> bool:
    """Return whether the one slip of a pass stands out so clearly that it was surely played."""
    for i in heard.missed:
        start, end = _place(heard, i)
        return start < end and float(_mean(found, start, end)[heard.line.pitches[i] % 12]) < ABSENT
    note = (heard.wrong or heard.extra)[0][1]
    return note.sure >= CLEAR and note.end - note.start >= HELD


def _phantom(note: Played, notes: Sequence[Played], heard: Pass) -> bool:
    """Return whether a note that isn't in the line is rather a trick of the sound."""
    if all(note is not each for _, each in heard.extra):
        return False
    if note.end - note.start < BRIEF or note.sure < FAINT:
        return True
    return any(each.pitch % 12 == note.pitch % 12 for each in _beside(note, notes))


def _beside(note: Played, notes: Sequence[Played]) -> Iterable[Played]:
    """Return the notes that touch a note."""
    at = next(k for k, each in enumerate(notes) if each is note)
    near = [notes[k] for k in (at - 1, at + 1) if 0 <= k < len(notes)]
    return [each for each in near if each.start - note.end < 0.03 and note.start - each.end < 0.03]


def _place(heard: Pass, index: int) -> tuple[float, float]:
    """Return where a note of the line that wasn't found would lie, from its neighbours' times."""
    before = [(i, n) for i, n in heard.placed if i < index]
    after = [(i, n) for i, n in heard.placed if i > index]
    if heard.quarter is None or not (before or after):
        return 0.0, 0.0
    onset = float(heard.line.onsets[index])
    i, note = before[-1] if before else after[0]
    start = note.start + (onset - float(heard.line.onsets[i])) * heard.quarter
    following = index + 1 < len(heard.line)
    gap = heard.line.onsets[index + 1] - heard.line.onsets[index] if following else 0
    end = start + float(gap or heard.line.smallest) * heard.quarter
    return start + 0.02, min(end, after[0][1].start if after else end)


def _mean(found: Frames, start: float, end: float) -> NDArray[np.float64]:
    """Return each class's mean strength in the middle of a stretch of time."""
    first, last = round(start / HOP), round(end / HOP)
    trim = (last - first) // 5
    middle = slice(max(0, first + trim), max(1, first + trim + 1, last - trim))
    mean: NDArray[np.float64] = found.strength[middle].sum(axis=0)
    return mean / max(1, len(found.strength[middle]))


def _there(strengths: NDArray[np.float64], pitch_class: int) -> bool:
    mine = float(strengths[pitch_class])
    return mine >= THERE and mine >= float(strengths.max()) - BEHIND


WORTH_IT = 0.58
"""Accuracy of a pass below which a second look would only read the line into noodling."""


def judge_sound(line: Expected, found: Frames, take: Take, loops: int | None = None) -> Judgement:
    """Return the judgement on a take whose notes the tracker found in the sound."""
    slips = 0
    for heard in passes_played(line, take, loops):
        slips += heard.slips
        if heard.slips and heard.accuracy >= WORTH_IT:
            take = replace(take, notes=look_again(heard, take.notes, found))
    judgement = judge(line, take, loops)
    return replace(judgement, other=_other(judgement, found, slips))


def _other(judgement: Judgement, found: Frames, slips: int) -> Word | None:
    """Return the word that would do as well where one slip may be the sound's, not the player's.

    ``slips`` is how many the first hearing found.
    """
    heard = judgement.heard
    if judgement.word == "fluent":
        return "clean" if slips == 1 else None
    alone = judgement.word == "clean" and set(judgement.causes) == {"notes"}
    if heard is None or not alone or heard.slips != 1 or is_certain_slip(heard, found):
        return None
    return "fluent"
