"""An attempt judged: parted into passes, the word proposed, what it rests on, what is kept.

The word comes from a table of measures, each with where it costs a step. Every threshold has its
reason beside it and was set on generated attempts alone (see ``tests/hearing``): how far players
agree with it only their own ratings can show.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import ceil, inf
from statistics import median
from typing import Literal

from drillbox.hearing.alignment import NEAR, align
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
        heard.slips
        if heard.slips < 2
        else max(1.0, heard.slips * min(1.0, USUAL / len(heard.line)))
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


def _times_the_tempo(heard: Pass) -> float:
    """Return how many times the click's tempo was kept, or how many times it what was kept."""
    if heard.time is None or heard.own:
        return 1.0
    times = 1 + heard.time.faster
    return max(times, 1 / times)


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
    # Nearer to double or half the tempo than to one and a half times: it isn't the click's.
    Measure("drift", _times_the_tempo, clean=None, rough=None, lost=1.7),
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
FULL = 0.75
"""Share of the fullest loop's notes from which one tells where the beat lies."""
TRIED, TO_A_CLICK = 4, 3
"""Notes of the line's beginning in a row that are a start: fewer are tried out in the player's own
time; while a click goes on nobody does so."""
OTHER_TEMPO = 1.25
"""How many times the click's tempo is another one; what is nearer is a tempo not held."""


def passes_played(line: Expected, take: Take, loops: int | None = None) -> tuple[Pass, ...]:
    """Return each pass that was played, in order, starts that were broken off among them.

    The first one counts even where it was hardly begun. ``loops`` is how often the click went
    through the chart, None where that isn't known.
    """
    if not take.notes:
        return ()
    at = _laid(line, take.notes, take.beat, loops, whole=len(line))
    begun = [k for k in at if len(at[k]) >= STARTED * len(line)] or list(at)[:1]
    passes, ended = [], -inf
    for k in begun:
        beat = _shifted(take.beat, k * float(line.length))
        heard = one_pass(line, _within(take.notes, at, k), beat)
        starts = [note.start for _, note in heard.placed] or [ended]
        before = [note for note in take.notes if ended < note.start < starts[0]]
        passes += [one_pass(line, each, None) for each in _false_starts(line, before, take.beat)]
        passes.append(heard)
        ended = starts[-1]
    return tuple(passes) or (one_pass(line, take.notes, take.beat),)


_Pairs = dict[int, list[tuple[int, int]]]
"""For each loop that was played, in order, the pairs (note of the line, note played)."""


def _laid(
    line: Expected, notes: Sequence[Played], beat: Beat | None, loops: int | None, *, whole: int
) -> _Pairs:
    """Lay the notes on as many loops as there may be."""
    count = min(loops or ceil(len(notes) / len(line)), MOST_LOOPS)
    onsets = [float(on + k * line.length) for k in range(count) for on in line.onsets]
    found = align(onsets, line.classes * count, notes, beat, whole=whole, quick=ORNAMENT)
    at: _Pairs = {}
    for i, j in found.pairs:
        at.setdefault(i // len(line), []).append((i % len(line), j))
    return at


def _false_starts(
    line: Expected, notes: Sequence[Played], beat: Beat | None
) -> list[Sequence[Played]]:
    """Return the notes of each start that was broken off before a pass.

    Before the click's first bar nothing is one: whoever tries out the line then hasn't begun.
    """
    least = TRIED
    if beat is not None and not beat.found:
        least, first = TO_A_CLICK, beat.at(float(line.onsets[0]) - NEAR)
        notes = [note for note in notes if note.start >= first]
    classes = tuple(note.pitch % 12 for note in notes)
    starts = [j for j in range(len(notes)) if classes[j : j + least] == line.classes[:least]]
    return [notes[start:end] for start, end in pairwise([*starts, len(notes)])]


def beat_found(line: Expected, notes: Sequence[Played], quarter: float) -> Beat:
    """Return the beat of a known tempo, its place found from the first loop that was played."""
    at = _laid(line, notes, None, None, whole=0)
    full = max((len(each) for each in at.values()), default=0)
    loop = next((each for each in at.values() if len(each) >= FULL * full), [])
    starts = [
        notes[j].start - float(line.onsets[i]) * quarter
        for i, j in loop
        if notes[j].pitch % 12 == line.classes[i]
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
    return [
        max((each.accuracy for each in passes_played(moved, take)), default=0.0)
        for moved in (replace(line, classes=line.transposed(semitones)) for semitones in range(12))
    ]


def other_key(line: Expected, take: Take) -> int | None:
    """Return by how many semitones another key fits what was played clearly better, or None."""
    scored = _fits(line, take)
    best, semitones = max((score, semitones) for semitones, score in enumerate(scored))
    return semitones if semitones and best >= FITS and best > scored[0] + CLEARLY else None


def best_part(line: Expected, parts: Sequence[tuple[Played, ...]]) -> tuple[Played, ...]:
    """Return the part that fits a line best, in whatever key; of those alike the first."""
    if len(parts) == 1:
        return parts[0]
    return max(parts, key=lambda notes: max(_fits(line, Take(notes, "midi"))))


def other_tempo(line: Expected, take: Take) -> tuple[int, int] | None:
    """Return the tempo that the line was kept to and the click's, None where they are alike.

    Lost to the click, the line has to be there in the player's own time.
    """
    if take.beat is None:
        return None
    free = judge(line, replace(take, beat=None))
    if free.word == "lost" or free.heard is None or free.heard.quarter is None:
        return None
    times = take.beat.quarter / free.heard.quarter
    tempi = round(60 / free.heard.quarter), round(60 / take.beat.quarter)
    return tempi if max(times, 1 / times) >= OTHER_TEMPO else None


@dataclass(frozen=True, slots=True)
class Judgement:
    """What was heard and the ``word`` proposed; ``other`` where it may as well be that one.

    ``heard`` is the pass that the reasons are of, None in silence; ``time`` which of them it
    was, from 1, where not all came out alike; ``key`` by how many semitones another key was
    played; ``tempi`` the tempo kept and the click's, where it was lost by that.
    """

    word: Word
    other: Word | None
    heard: Pass | None
    causes: dict[Cause, Word]
    key: int | None = None
    tempi: tuple[int, int] | None = None
    time: int | None = None


def judge(line: Expected, take: Take, loops: int | None = None) -> Judgement:
    """Return the judgement on an attempt.

    Once through is enough of however many ``loops``; one cut short at the end doesn't count
    where another went further. An attempt is as good as its worst time through, as the reasons
    are of that one: a line found only at the second was not there at the first. It is lost where
    no time was better; else a time lost makes it rough.
    """
    heard = passes_played(line, take, loops)
    if not heard:
        return Judgement("lost", None, None, {})
    if len(heard) > 1 and heard[-1].unplayed > min(each.unplayed for each in heard[:-1]):
        heard = heard[:-1]
    each = [word_for(one) for one in heard]
    words = [WORDS.index(word) for word, _ in each]
    worst = words.index(min(words))
    differ = len(set(words)) > 1
    word = "rough" if differ and each[worst][0] == "lost" else each[worst][0]
    key = other_key(line, take) if word == "lost" else None
    tempi = other_tempo(line, take) if word == "lost" and key is None else None
    time = worst + 1 if differ else None
    return Judgement(word, None, heard[worst], each[worst][1], key, tempi, time)
