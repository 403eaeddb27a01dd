"""What a player remembers of a card: the FSRS-6 state, and the four ratings that move it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, time
from enum import IntEnum
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

if TYPE_CHECKING:
    from fsrs import Scheduler

# FSRS-6 default weights of the open-spaced-repetition reference implementations. They stand
# here too so that a first screen needs no import of fsrs; a test keeps them equal.
DEFAULT_WEIGHTS = (
    0.212, 1.2931, 2.3065, 8.2956, 6.4133, 0.8334, 3.0194, 0.001, 1.8722, 0.1666, 0.796,
    1.4835, 0.0614, 0.2629, 1.6483, 0.6014, 1.8729, 0.5425, 0.0912, 0.0658, 0.1542,
)  # fmt: skip
# What the library takes for each weight; they stand here for the same reason.
LOWEST_WEIGHTS = (
    0.001, 0.001, 0.001, 0.001, 1.0, 0.001, 0.001, 0.001, 0.0, 0.0, 0.001,
    0.001, 0.001, 0.001, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.1,
)  # fmt: skip
HIGHEST_WEIGHTS = (
    100.0, 100.0, 100.0, 100.0, 10.0, 4.0, 4.0, 0.75, 4.5, 0.8, 3.5,
    5.0, 0.25, 0.9, 4.0, 1.0, 6.0, 2.0, 2.0, 0.8, 0.8,
)  # fmt: skip
LONGEST_INTERVAL = 36500
_NOON = time(12, tzinfo=UTC)

Weights = tuple[float, ...]


def weights_from(value: object) -> Weights:
    """Return the 21 weights that a JSON list holds, each within the library's bounds.

    Raises ValueError for anything else.
    """
    if not isinstance(value, list | tuple) or len(value) != len(DEFAULT_WEIGHTS):
        raise ValueError(f"a list of {len(DEFAULT_WEIGHTS)} numbers")
    for each, low, high in zip(value, LOWEST_WEIGHTS, HIGHEST_WEIGHTS, strict=True):
        # Comparing refuses NaN as well; True would pass for 1.
        if isinstance(each, bool) or not isinstance(each, int | float) or not low <= each <= high:
            raise ValueError(f"numbers within the bounds of FSRS-6, not {each!r:.40}")
    return tuple(float(each) for each in value)


class Recall(IntEnum):
    """How an attempt went, by the player's own rating."""

    LOST = 1
    ROUGH = 2
    CLEAN = 3
    FLUENT = 4

    @property
    def word(self) -> str:
        """Return the rating as players read it: ``lost``."""
        return self.name.lower()

    @property
    def letter(self) -> str:
        """Return the press for this rating: ``l``."""
        return self.word[0]


class MemoryState(NamedTuple):
    """FSRS state of a card after its latest attempt.

    ``stability`` is in days: recall is 90 % likely when so many have passed. ``difficulty``
    lies between 1 and 10. ``last_day`` is the practice day of the latest attempt.
    """

    stability: float
    difficulty: float
    last_day: date


def after(
    state: MemoryState | None, recall: Recall, day: date, weights: Weights | None = None
) -> MemoryState:
    """Return the state after an attempt on a practice day; ``state`` is None before the first.

    FSRS-6 by the fsrs library, fed noon UTC of the practice day: it counts whole periods of
    24 hours, and an evening after a late morning would otherwise count as no day at all. Where
    the last day lies ahead of this one, the clock was wrong then: no time has passed since, and
    the card goes on from this day.
    """
    # Here and not on top: 40 ms that no first screen needs.
    from fsrs import Card, Rating, State

    noon = datetime.combine(day, _NOON)
    if state is None:
        card = Card(card_id=0, due=noon)
    else:
        card = Card(
            card_id=0,
            state=State.Review,
            stability=state.stability,
            difficulty=state.difficulty,
            due=noon,
            last_review=datetime.combine(min(state.last_day, day), _NOON),
        )
    card, _ = _scheduler(weights or DEFAULT_WEIGHTS).review_card(card, Rating(recall), noon)
    assert card.stability is not None
    assert card.difficulty is not None
    return MemoryState(card.stability, card.difficulty, day)


@lru_cache(maxsize=8)
def _scheduler(weights: Weights) -> Scheduler:
    """Return the library's scheduler with its own steps and fuzz turned off."""
    from fsrs import Scheduler

    return Scheduler(weights, learning_steps=(), relearning_steps=(), enable_fuzzing=False)


def retrievability(state: MemoryState, day: date, weights: Weights | None = None) -> float:
    """Return the chance, 0 to 1, that the card is recalled on ``day``.

    R(t, S) = (1 + F t / S) ^ -w20 with F = 0.9 ^ (-1 / w20) - 1, t in days (FSRS-6).
    """
    decay, factor = curve(weights)
    return chance(state.stability, (day - state.last_day).days, decay, factor)


def chance(stability: float, days: int, decay: float, factor: float) -> float:
    """Return the retrievability after ``days`` on the curve given by ``curve(weights)``."""
    return float((1.0 + factor * max(0, days) / stability) ** decay)


def curve(weights: Sequence[float] | None = None) -> tuple[float, float]:
    """Return the forgetting curve's decay (negative) and factor for these weights."""
    decay = -(weights or DEFAULT_WEIGHTS)[20]
    factor: float = 0.9 ** (1 / decay) - 1
    return decay, factor


def interval_days(stability: float, retention: float, weights: Weights | None = None) -> int:
    """Return after how many whole days (1 at least) recall falls to ``retention``, 0 to 1."""
    decay, factor = curve(weights)
    days: int = round(stability / factor * (retention ** (1 / decay) - 1))
    return min(max(days, 1), LONGEST_INTERVAL)


def went_back(state: MemoryState | None, day: date) -> bool:
    """Return whether ``day`` lies before the card's latest attempt: a clock was set back."""
    return state is not None and day < state.last_day
