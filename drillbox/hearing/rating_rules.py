"""From what was heard to a word: a table of measures, each with where it costs a step.

Every threshold has its reason beside it and was set on generated attempts alone (see
``tests/hearing``): how far players agree with it only their own ratings can show.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from drillbox.hearing.features import Pass

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


def judged(heard: Pass) -> tuple[Word, dict[Cause, Word]]:
    """Return the word for a pass, and what each cause that costs anything allows."""
    allows: dict[Cause, Word] = {}
    for measure in TABLE:
        word = measure.word(heard)
        if WORDS.index(word) < WORDS.index(allows.get(measure.cause, "fluent")):
            allows[measure.cause] = word
    return min(allows.values(), key=WORDS.index, default="fluent"), allows
