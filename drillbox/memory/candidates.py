"""What choosing looks at: cards as flat values, and a drill session as a value."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from typing import NamedTuple

from drillbox.memory.breaks import Break
from drillbox.memory.cards import CardState
from drillbox.memory.recall import Recall


class Candidate(NamedTuple):
    """One card that may come next, flat so that a row of the store is one.

    ``position`` is the key's place in the phrase's order, 0 for the written key; ``quarters``
    the chart's length in quarter notes; ``tempo`` the one it would be played at. Days are
    ``date.toordinal()``; ``recalled`` and ``lost`` count those on which the day's first attempt
    was so, ``run`` those recalled in a row up to now. A card that was never attempted has 0 in
    all from ``stability`` to ``run``.
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
    recalled: int = 0
    lost: int = 0
    run: int = 0
    key: str = ""

    @property
    def opened(self) -> bool:
        """Return whether the card was attempted before."""
        return self.last_day > 0


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
        state.days_recalled,
        state.days_lost,
        state.recalled_run,
        key,
    )


def _ordinal(day: date | None) -> int:
    return day.toordinal() if day else 0


class Done(NamedTuple):
    """One attempt of a sitting; ``first`` where the card was opened by it."""

    card_id: int
    phrase_id: int
    position: int
    recall: Recall
    seconds: float
    first: bool


@dataclass(frozen=True, slots=True)
class Sitting:
    """A drill session so far. It is a value: to undo a rating, go back to the one before.

    ``opened_before`` counts the cards opened earlier on the same practice day;
    ``other_seconds`` is time that passed without a rating (skips, pauses not counted);
    ``back`` the latest break in practice, if there was one.
    """

    minutes: float
    done: tuple[Done, ...] = ()
    skipped: frozenset[int] = frozenset()
    opened_before: int = 0
    other_seconds: float = 0.0
    back: Break | None = None

    @property
    def used(self) -> float:
        """Return the seconds that went by, with a rating or without."""
        return self.other_seconds + sum(each.seconds for each in self.done)

    @property
    def left(self) -> float:
        """Return the seconds left; below 0 once the time is over."""
        return self.minutes * 60 - self.used

    @property
    def opened(self) -> int:
        """Return how many cards were opened on this practice day."""
        return self.opened_before + sum(each.first for each in self.done)

    def rated(self, card: Candidate, recall: Recall, seconds: float) -> Sitting:
        """Return the sitting after an attempt at ``card``, as it stood before the attempt."""
        done = Done(card.card_id, card.phrase_id, card.position, recall, seconds, not card.opened)
        return replace(self, done=(*self.done, done))

    def skip(self, card_id: int, seconds: float = 0.0) -> Sitting:
        """Return the sitting after a card was passed over; it isn't offered again in it."""
        return replace(
            self,
            skipped=self.skipped | {card_id},
            other_seconds=self.other_seconds + seconds,
        )


def returning(done: Iterable[Done], returns_a_day: int, a_session: int) -> dict[int, int]:
    """Return the lost cards that are to come back, with the attempts of others since, oldest first.

    A card is lost until a later attempt of the sitting recalls it, and comes back
    ``returns_a_day`` times at most; all cards together come back ``a_session`` times at most.
    """
    latest: dict[int, tuple[int, Recall, int]] = {}
    total = 0
    for index, each in enumerate(done):
        times = latest.pop(each.card_id, (0, each.recall, 0))[2] + 1
        latest[each.card_id] = (index, each.recall, times)
        total = index + 1
    waiting = [
        (card_id, total - 1 - index)
        for card_id, (index, recall, times) in latest.items()
        if recall is Recall.LOST and times <= returns_a_day
    ]
    returned = total - len(latest)
    return dict(waiting[: max(0, a_session - returned)])
