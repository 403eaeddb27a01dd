"""An attempt judged: parted into passes, the word proposed, what it rests on, what is kept."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil
from statistics import median

from drillbox.hearing.alignment import align
from drillbox.hearing.expected import Expected
from drillbox.hearing.features import ORNAMENT, Pass, once
from drillbox.hearing.rating_rules import WORDS, Cause, Word, judged
from drillbox.hearing.takes import Beat, Played, Take

MOST_LOOPS = 32
"""Passes listened for in one attempt; who plays on for longer has been heard enough."""
FITS, CLEARLY = 0.6, 0.25
"""Accuracy from which another key fits, and by how much better than the one asked for: noodling
in the key comes to a third in each."""
STARTED = 0.3
"""Share of a line's notes that must have come for a later loop to count as begun."""


def passes(line: Expected, take: Take, loops: int | None = None) -> tuple[Pass, ...]:
    """Return each pass that was played, in order; the first one even where it was hardly begun.

    ``loops`` is how often the click went through the chart, None where that isn't known.
    """
    if not take.notes:
        return ()
    count = min(loops or ceil(len(take.notes) / len(line)), MOST_LOOPS)
    length = float(line.length)
    onsets = [float(on) + k * length for k in range(count) for on in line.onsets]
    found = align(
        onsets, line.classes * count, take.notes, take.beat, whole=len(line), quick=ORNAMENT
    )
    at: dict[int, list[int]] = {}
    for i, j in found.pairs:
        at.setdefault(i // len(line), []).append(j)
    begun = [k for k in sorted(at) if len(at[k]) >= STARTED * len(line)] or sorted(at)[:1]
    return tuple(
        once(line, _within(take.notes, at, k), _shifted(take.beat, k * length)) for k in begun
    ) or (once(line, take.notes, take.beat),)


def beat_found(line: Expected, notes: Sequence[Played], quarter: float) -> Beat:
    """Return the beat of a known tempo, its place found from the notes."""
    whole = [float(each) for each in line.onsets]
    found = align(whole, line.classes, notes, None, whole=0, quick=ORNAMENT)
    starts = [
        notes[j].start - whole[i] * quarter
        for i, j in found.pairs
        if notes[j].pitch % 12 == line.classes[i]
    ]
    return Beat(median(starts or [notes[0].start]), quarter)


def _within(notes: Sequence[Played], at: dict[int, list[int]], k: int) -> Sequence[Played]:
    """Return the notes of one pass: up to the neighbours' own, as far as they are between them."""
    before = max((j for each in at if each < k for j in at[each]), default=-1)
    after = min((j for each in at if each > k for j in at[each]), default=len(notes))
    return notes[before + 1 : after]


def _shifted(beat: Beat | None, quarters: float) -> Beat | None:
    return replace(beat, start=beat.at(quarters)) if beat else None


def other_key(line: Expected, take: Take) -> int | None:
    """Return by how many semitones another key fits what was played clearly better, or None."""
    scored = []
    for semitones in range(12):
        moved = replace(line, classes=line.transposed(semitones))
        heard = passes(moved, take)
        scored.append((max((each.accuracy for each in heard), default=0.0), semitones))
    best, semitones = max(scored)
    return semitones if semitones and best >= FITS and best > scored[0][0] + CLEARLY else None


@dataclass(frozen=True, slots=True)
class Judgement:
    """What was heard and the ``word`` proposed; ``other`` where it may as well be that one.

    ``heard`` is the pass that the reasons are of, None in silence; ``key`` by how many
    semitones another key was played.
    """

    word: Word
    other: Word | None
    heard: Pass | None
    causes: dict[Cause, Word]
    key: int | None = None


def judge(line: Expected, take: Take, loops: int | None = None) -> Judgement:
    """Return the judgement on an attempt.

    Once through is enough of however many ``loops``; of several, one cut short at the end
    doesn't count. The proposal is the mean of the loops' words, rounded down: a line found
    only at the second go was not there at the first.
    """
    heard = passes(line, take, loops)
    if not heard:
        return Judgement("lost", None, None, {})
    if len(heard) > 1 and heard[-1].unplayed:
        heard = heard[:-1]
    each = [judged(one) for one in heard]
    words = [WORDS.index(word) for word, _ in each]
    worst = words.index(min(words))
    word = WORDS[sum(words) // len(words)]
    key = other_key(line, take) if word == "lost" else None
    return Judgement(word, None, heard[worst], each[worst][1], key)
