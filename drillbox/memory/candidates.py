"""What choosing looks at: cards as flat values, a drill session as a value, the player's pace."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from statistics import mean
from typing import NamedTuple

from drillbox.memory.cards import CardState
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules

PATIENCE = 8, 4  # missed days, and so many more for each clean one, from which on others come first


class Candidate(NamedTuple):
    """One card that may come next, flat so that a row of the store is one.

    ``position`` is the key's place in the phrase's order, 0 for the written key; ``quarters``
    the chart's length in quarter notes; ``tempo`` how far it has climbed. Days are
    ``date.toordinal()``; ``clean`` and ``missed`` count those whose first go was clean or not,
    ``run`` those clean in a row up to now. A card that was never attempted has 0 in all from
    ``stability`` to ``run``.
    """

    card_id: int
    phrase_id: int
    position: int
    quarters: float
    goal: int
    tempo: int
    stability: float = 0.0
    difficulty: float = 0.0
    last_day: int = 0
    due: int = 0
    clean: int = 0
    missed: int = 0
    run: int = 0
    stride: int = 0
    owned: bool = False
    key: str = ""

    @property
    def begun(self) -> bool:
        """Return whether the card was attempted before."""
        return self.last_day > 0

    @property
    def at_goal(self) -> bool:
        """Return whether it has climbed to its goal tempo."""
        return self.tempo >= self.goal

    @property
    def never_stays(self) -> bool:
        """Return whether it was missed so often that other keys come before it."""
        return never_stays(self.clean, self.missed)


def never_stays(clean: int, missed: int) -> bool:
    """Return whether a card was missed so often, against the days that began clean, that other
    keys come before it."""
    few, each = PATIENCE
    return missed >= few + each * clean


def candidate(
    card_id: int,
    phrase_id: int,
    position: int,
    *,
    quarters: float,
    goal: int,
    state: CardState,
    key: str,
) -> Candidate:
    """Return a card with its state as a candidate."""
    memory = state.memory
    stability, difficulty, last_day = memory or (0.0, 0.0, None)
    return Candidate(
        card_id,
        phrase_id,
        position,
        float(quarters),
        goal,
        state.tempo.tempo,
        stability,
        difficulty,
        _ordinal(last_day),
        _ordinal(state.due),
        state.days_clean,
        state.days_missed,
        state.clean_run,
        state.tempo.stride,
        state.owned,
        key,
    )


def _ordinal(day: date | None) -> int:
    return day.toordinal() if day else 0


class Done(NamedTuple):
    """One go of a sitting, at ``tempo``; ``first`` where it was the card's first ever."""

    card_id: int
    phrase_id: int
    key: str
    tempo: int
    recall: Recall
    seconds: float
    first: bool

    @property
    def clean(self) -> bool:
        """Return whether it was clean or better."""
        return self.recall >= Recall.CLEAN


@dataclass(frozen=True, slots=True)
class Sitting:
    """A drill session so far. It is a value: to undo a rating, go back to the one before.

    ``used`` are the seconds that went by, with a rating or without (skips; pauses not counted).
    """

    minutes: float
    done: tuple[Done, ...] = ()
    skipped: frozenset[int] = frozenset()
    used: float = 0.0

    @property
    def left(self) -> float:
        """Return the seconds left; below 0 once the time is over."""
        return self.minutes * 60 - self.used

    def rated(self, card: Candidate, tempo: int, recall: Recall, seconds: float) -> Sitting:
        """Return the sitting after a go at ``card``, as it stood before the go."""
        done = Done(card.card_id, card.phrase_id, card.key, tempo, recall, seconds, not card.begun)
        return replace(self, done=(*self.done, done), used=self.used + seconds)

    def skip(self, card_id: int, seconds: float = 0.0) -> Sitting:
        """Return the sitting after a card was passed over; it isn't offered again in it."""
        return replace(
            self,
            skipped=self.skipped | {card_id},
            used=self.used + seconds,
        )


def goes_on(visit: Sequence[Done], most: int) -> bool:
    """Return whether a visit has a go left: until one is clean, for ``most`` goes."""
    return not visit[-1].clean and len(visit) < most


def visits(done: Sequence[Done], most: int) -> list[list[Done]]:
    """Return the goes of a sitting by visits of ``most`` goes."""
    found: list[list[Done]] = []
    for go in done:
        if found and found[-1][0].card_id == go.card_id and goes_on(found[-1], most):
            found[-1].append(go)
        else:
            found.append([go])
    return found


FEWEST = 8  # with fewer attempts a mean says more about the day than about the player
EXTREME = 20  # of so many attempts the longest and the shortest are left out
_BOUNDS = (0.25, 4.0)
UNTIL_A_KEY = 2  # the loops assumed where the player set no number


class Timed(NamedTuple):
    """One attempt as the clock saw it: seconds from its screen to its rating.

    ``quarters`` is the length of the chart in quarter notes, ``loops`` the rounds asked for;
    0: until a key.
    """

    seconds: float
    quarters: float
    tempo: int
    loops: int


class Pace(NamedTuple):
    """Real seconds as a multiple of the computed ones, and the attempts that tell so."""

    ratio: float = 1.0
    attempts: int = 0


def learn_pace(timed: Iterable[Timed], rules: Rules) -> Pace:
    """Return the player's pace: the mean of real against computed seconds, without extremes.

    Left out are a twentieth at either end, and one more, so that a telephone call within an
    attempt changes nothing. It is no median, as the goes that take longer, lost ones with many,
    fill minutes too. Under ``FEWEST`` attempts the ratio stays 1, and it is held between a quarter
    and four.
    """
    ratios = sorted(
        each.seconds / _computed(each.quarters, each.tempo, each.loops, rules)
        for each in timed
        if each.seconds > 0
    )
    if len(ratios) < FEWEST:
        return Pace(1.0, len(ratios))
    low, high = _BOUNDS
    out = len(ratios) // EXTREME + 1
    return Pace(min(high, max(low, mean(ratios[out:-out]))), len(ratios))


def expected_seconds(quarters: float, tempo: int, pace: Pace, rules: Rules) -> float:
    """Return how many seconds an attempt at a chart of that many quarter notes will take."""
    return pace.ratio * _computed(quarters, tempo, rules.loops, rules)


def _computed(quarters: float, tempo: int, loops: int, rules: Rules) -> float:
    return (loops or UNTIL_A_KEY) * quarters * 60.0 / tempo + rules.between_goes
