"""An attempt judged: parted into passes, the word proposed, what it rests on, what is kept.

The word comes from a table of measures, each with where it costs a step. Every threshold has its
reason beside it and was set on generated attempts alone (see ``tests/hearing``): how far players
agree with it only their own ratings can show.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import ceil
from statistics import median
from typing import Literal

from drillbox.hearing.alignment import align
from drillbox.hearing.expected import Expected
from drillbox.hearing.features import ORNAMENT, Pass, one_pass
from drillbox.hearing.takes import Beat, Played, Take

Word = Literal["lost", "rough", "clean", "fluent"]
WORDS: tuple[Word, ...] = ("lost", "rough", "clean", "fluent")

USUAL = 32
"""Notes of a usual line at most; a longer one bears as many more slips."""

Cause = Literal["notes", "unplayed", "hesitation", "late", "start", "drift", "uneven"]


@dataclass(frozen=True, slots=True)
class Measure:
    """A number of a pass, and from where on it allows no more than each word (None: never)."""

    cause: Cause
    value: Callable[[Pass], float]
    clean: float | None
    rough: float | None
    lost: float | None

    def word(self, heard: Pass) -> Word:
        """Return the best word that this measure allows."""
        value = self.value(heard)
        for word, limit in (("lost", self.lost), ("rough", self.rough), ("clean", self.clean)):
            if limit is not None and value >= limit:
                return word  # type: ignore[return-value] # the three are Words
        return "fluent"


def _slips(heard: Pass) -> float:
    """Return the slips, fewer for a long line."""
    return (
        heard.slips if heard.slips < 2 else max(1.0, heard.slips * min(1.0, 32 / len(heard.line)))
    )


def _astray(heard: Pass) -> float:
    return 1.0 - heard.accuracy


def _unplayed(heard: Pass) -> float:
    return heard.unplayed / len(heard.line) if heard.unplayed > 1 else 0.0


def _hesitation(heard: Pass) -> float:
    return max((abs(quarters) for _, quarters in heard.hesitations), default=0.0)


def _late(heard: Pass) -> float:
    """Return the late targets; another late note counts for less, as nothing arrives on it."""
    return sum(1.0 if i in heard.line.targets else 0.75 for i, _ in heard.late)


def _start(heard: Pass) -> float:
    return abs(heard.started)


def _drift(heard: Pass) -> float:
    return abs(heard.time.drift) if heard.time else 0.0


def _apart(heard: Pass) -> float:
    """Return how far from the click a steady drift leads by the end of the line, in quarters."""
    if heard.time is None or heard.own:
        return 0.0
    return abs(heard.time.drift) * float(heard.line.onsets[-1] - heard.line.onsets[0])


def _uneven(heard: Pass) -> float:
    """Return the spread of the right notes: 1 is 30 ms and a fifth of the line's subdivision."""
    if heard.time is None or heard.quarter is None:
        return 0.0
    spread = heard.time.uneven
    return min(spread * heard.quarter / 0.03, spread / (0.2 * float(heard.line.smallest)))


def _often(heard: Pass) -> float:
    return len(heard.hesitations) + len(heard.late)


TABLE = (
    # One slip is what "clean" allows; two are heard as a fault of the line.
    Measure("notes", _slips, clean=1, rough=2, lost=None),
    # With two notes in five astray nobody would recognise the line; noodling in the key
    # comes to a third right or less.
    Measure("notes", _astray, clean=None, rough=None, lost=0.42),
    # A quarter of the line never came: given up.
    Measure("unplayed", _unplayed, clean=None, rough=0.1, lost=0.25),
    # Half a beat more or less and the changes have moved on.
    Measure("hesitation", _hesitation, clean=0.3, rough=0.45, lost=None),
    Measure("late", _late, clean=0.75, rough=1.5, lost=None),
    # In quarters after the click's own place; laid back is up to an eighth.
    Measure("start", _start, clean=0.4, rough=0.75, lost=None),
    # Listeners notice 3 to 4 % at once (Drake & Botte 1993); a phrase hides twice that.
    Measure("drift", _drift, clean=0.07, rough=0.12, lost=None),
    # As a hesitation, by the end of the line.
    Measure("drift", _apart, clean=0.35, rough=0.75, lost=None),
    # Players' own spread is 10 to 30 ms.
    Measure("uneven", _uneven, clean=1.1, rough=None, lost=None),
    Measure("uneven", _often, clean=None, rough=4, lost=None),
)


def word_for(heard: Pass) -> tuple[Word, dict[Cause, Word]]:
    """Return the word for a pass, and what each cause that costs anything allows."""
    allows: dict[Cause, Word] = {}
    for measure in TABLE:
        word = measure.word(heard)
        if WORDS.index(word) < WORDS.index(allows.get(measure.cause, "fluent")):
            allows[measure.cause] = word
    return min(allows.values(), key=WORDS.index, default="fluent"), allows


MOST_LOOPS = 32
"""Passes listened for in one attempt; who plays on for longer has been heard enough."""
FITS, CLEARLY = 0.6, 0.25
"""Accuracy from which another key fits, and by how much better than the one asked for: noodling
in the key comes to a third in each."""
STARTED = 0.3
"""Share of a line's notes that must have come for a later loop to count as begun."""


def passes_played(line: Expected, take: Take, loops: int | None = None) -> tuple[Pass, ...]:
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
        one_pass(line, _within(take.notes, at, k), _shifted(take.beat, k * length)) for k in begun
    ) or (one_pass(line, take.notes, take.beat),)


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
        heard = passes_played(moved, take)
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
    heard = passes_played(line, take, loops)
    if not heard:
        return Judgement("lost", None, None, {})
    if len(heard) > 1 and heard[-1].unplayed:
        heard = heard[:-1]
    each = [word_for(one) for one in heard]
    words = [WORDS.index(word) for word, _ in each]
    worst = words.index(min(words))
    word = WORDS[sum(words) // len(words)]
    key = other_key(line, take) if word == "lost" else None
    return Judgement(word, None, heard[worst], each[worst][1], key)
