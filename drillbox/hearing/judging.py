"""An attempt judged: the word proposed, and what it rests on.

The word comes from a table of measures, each with where it costs a step. Every threshold has its
reason beside it and was set on generated attempts alone (see ``tests/hearing``): how far players
agree with it only their own ratings can show.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from drillbox.hearing.expected import Expected
from drillbox.hearing.features import Pass
from drillbox.hearing.passes import FITS, other_key, passes_played
from drillbox.hearing.takes import Beat, Take

Word = Literal["lost", "rough", "clean", "fluent"]
WORDS: tuple[Word, ...] = ("lost", "rough", "clean", "fluent")

USUAL = 32
"""Notes of a usual line at most; a longer one bears as many more slips."""

Cause = Literal["notes", "unplayed", "hesitation", "late", "early", "start", "drift", "uneven"]


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


def _early(heard: Pass) -> float:
    """Return the notes that came early: an anticipation that went too far, so never dearer."""
    return 0.75 * len(heard.early)


def _start(heard: Pass) -> float:
    return abs(heard.started)


def _bars(heard: Pass, quarters: float) -> float:
    """Return how many bars beside the click so many quarters are; in own time there are none."""
    return 0.0 if heard.own else abs(quarters) / float(heard.line.bar)


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
    return len(heard.hesitations) + len(heard.late) + len(heard.early)


ASTRAY = 0.42
"""Share of the notes from which on so many are wrong, missed, put in or out of time that the line
isn't there: with two in five nobody would recognise it, and noodling in the key comes to a third
right or less."""
FAR = 1.7
"""How many times the click's tempo is nearer to double or half of it than to one and a half times:
then it isn't the click's."""

TABLE = (
    # One slip is what "clean" allows; two are heard as a fault of the line.
    Measure("notes", _slips, clean=1, rough=2, lost=None),
    Measure("notes", _astray, clean=None, rough=None, lost=ASTRAY),
    # A quarter of the line never came: given up.
    Measure("unplayed", _unplayed, clean=None, rough=0.1, lost=0.25),
    # Half a beat more or less and the changes have moved on.
    Measure("hesitation", _hesitation, clean=0.3, rough=0.45, lost=None),
    Measure("late", _late, clean=0.75, rough=1.5, lost=None),
    Measure("early", _early, clean=0.75, rough=1.5, lost=None),
    # In quarters after the click's own place; laid back is up to an eighth.
    Measure("start", _start, clean=0.4, rough=0.75, lost=None),
    # A bar beside the click every note is over the wrong chord.
    Measure("start", lambda heard: _bars(heard, heard.started), None, None, lost=0.9),
    Measure("hesitation", lambda heard: _bars(heard, _hesitation(heard)), None, None, lost=0.9),
    # Listeners notice 3 to 4 % at once (Drake & Botte 1993); a phrase hides twice that.
    Measure("drift", _drift, clean=0.07, rough=0.12, lost=None),
    Measure("drift", _times_the_tempo, clean=None, rough=None, lost=FAR),
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


OTHER_TEMPO = 1.3
"""How many times the click's tempo is another one; what is nearer is a tempo not held."""


def at_another_tempo(line: Expected, take: Take) -> Judgement | None:
    """Return the judgement in the player's own time, where that was steady and not the click's.

    Laid on the click such a line gives false slips and pauses.
    """
    if take.beat is None:
        return None
    free = judge(line, replace(take, beat=None))
    if free.word == "lost" or free.heard is None or free.heard.quarter is None:
        return None
    steady = not {"drift", "uneven", "hesitation"} & set(free.causes)
    return free if steady and _times_apart(take.beat, free.heard.quarter) >= OTHER_TEMPO else None


def _times_apart(beat: Beat, quarter: float) -> float:
    """Return how many times one tempo is the other, 1 or more."""
    times = beat.quarter / quarter
    return max(times, 1 / times)


@dataclass(frozen=True, slots=True)
class Judgement:
    """What was heard and the ``word`` proposed; ``other`` where it may as well be that one.

    ``heard`` is the pass that the reasons are of, None in silence; ``time`` which of them it
    was, from 1, where not all came out alike; ``key`` by how many semitones another key was
    played; ``tempi`` the tempo kept and the click's, where it was another: then ``heard`` and
    ``causes`` are of the player's own time.
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

    Once through is enough of however many ``loops``. An attempt is as good as its worst time
    through, as the reasons are of that one: a line found only at the second was not there at the
    first. It is lost where no time was better; else a time lost makes it rough.
    """
    found, part = by_worst_time(line, take, loops)
    lost = "lost" in found.causes.values()
    if lost and (key := other_key(line, part)) is not None:
        return replace(found, key=key)
    if lost or "drift" in found.causes:
        return _retimed(found, take.beat, at_another_tempo(line, part))
    return found


def by_worst_time(line: Expected, take: Take, loops: int | None = None) -> tuple[Judgement, Take]:
    """Return the judgement by the worst time through, and as much of the take as it is of."""
    heard = passes_played(line, take, loops)
    if not heard:
        return Judgement("lost", None, None, {}), take
    if len(heard) > 1 and _cut_short(heard[-1], heard[:-1]):
        heard = heard[:-1]
    each = [word_for(one) for one in heard]
    words = [WORDS.index(word) for word, _ in each]
    worst = words.index(min(words))
    word, causes = each[worst]
    if len(set(words)) == 1:
        return Judgement(word, None, heard[worst], causes), take
    rated: Word = "rough" if word == "lost" else word
    part = replace(take, notes=heard[worst].notes)
    return Judgement(rated, None, heard[worst], causes, time=worst + 1), part


def _retimed(found: Judgement, beat: Beat | None, free: Judgement | None) -> Judgement:
    """Return a judgement with what is to be said where another tempo was kept than the click's.

    Its word is by the two tempi: laid on the click such a line says too little or too much.
    """
    if beat is None or free is None or free.heard is None or free.heard.quarter is None:
        return found
    far = _times_apart(beat, free.heard.quarter) >= FAR
    word: Word = "lost" if far and found.time is None else "rough"
    tempi = round(60 / free.heard.quarter), round(60 / beat.quarter)
    return replace(found, word=word, heard=free.heard, causes=free.causes, tempi=tempi)


def _cut_short(last: Pass, others: Sequence[Pass]) -> bool:
    """Return whether the last time through just stopped, the line being there so far.

    It doesn't count where another one went further.
    """
    played = len(last.right) + len(last.wrong) + len(last.extra)
    shorter = last.unplayed > min(each.unplayed for each in others)
    return shorter and len(last.right) >= FITS * played
