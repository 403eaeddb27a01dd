"""Simulated memories that keep a state for each card: FSRS-6, and a half-life.

The form is that of ``study_memories``; constants are assumed where no source is named, and were
fixed before any policy was tried.
"""

from __future__ import annotations

from math import floor
from typing import ClassVar

import numpy as np

from tests.bench import study_fsrs
from tests.bench.study_traits import ALL, Floats, Traits


class Fallback:
    """A memory of cards, and one of phrases to fall back on: recalled with the chance
    own + (1 - own) · share · phrase's, each a state of its own that every go at it moves.
    """

    CLOCK: ClassVar[dict[str, float]]
    SHARE: ClassVar = {"none": 0.0, "some": 0.15, "much": 0.4}

    def __init__(self, traits: Traits) -> None:
        self.share = self.SHARE[traits.transfer]
        pace = self.CLOCK[traits.strength] * traits.forgetting
        self.pace = pace.tolist() + pace.reshape(-1, 12).mean(axis=1).tolist()
        self.first = len(pace)  # the phrases' states follow the cards'
        self.last = [-1.0] * len(self.pace)

    def chance(self, card: int, days: float) -> float:
        """Return the chance of recall of one card."""
        own = self._own(card, days)
        if self.share:
            own += (1 - own) * self.share * self._own(self.first + card // 12, days)
        return own

    def recall(self, days: float, cards: slice = ALL) -> Floats:
        """Return the cards' chances of recall at a time."""
        return np.array([self.chance(card, days) for card in range(self.first)[cards]])

    def learn(self, card: int, days: float, recalled: bool) -> None:
        """Play a card at a time."""
        for item in (card, self.first + card // 12) if self.share else (card,):
            self._move(item, days, recalled)
            self.last[item] = days

    def _own(self, item: int, days: float) -> float:
        raise NotImplementedError

    def _move(self, item: int, days: float, recalled: bool) -> None:
        raise NotImplementedError


class Fsrs(Fallback):
    """FSRS-6 with its default weights; a go is its third rating when recalled, else its first.

    Days count whole, as in the product.
    """

    CLOCK: ClassVar = {"strong": 0.15, "middling": 1.0, "weak": 4.0}

    def __init__(self, traits: Traits) -> None:
        super().__init__(traits)
        self.state: list[tuple[float, float] | None] = [None] * len(self.pace)

    def _gap(self, item: int, days: float) -> float:
        return (floor(days) - floor(self.last[item])) * self.pace[item]

    def _own(self, item: int, days: float) -> float:
        state = self.state[item]
        return study_fsrs.retrievability(state[0], self._gap(item, days)) if state else 0.0

    def _move(self, item: int, days: float, recalled: bool) -> None:
        gap, rating = self._gap(item, days), 3 if recalled else 1
        self.state[item] = study_fsrs.after(self.state[item], gap, rating, self.pace[item])


class Halflife(Fallback):
    """A half-life that grows only through successful recall (form: Settles & Meeder 2016).

    Recall has the chance 2^(-t/h). The first go leaves h = .8 days; one recalled multiplies it
    by 1 + 2 (1 - p), p having been its chance, so that massed goes bring nothing; a lost one
    halves it, to no less than at first. All of these numbers are assumed.
    """

    CLOCK: ClassVar = {"strong": 0.15, "middling": 1.0, "weak": 1.6}
    FIRST, GROWTH, LOST = 0.8, 2.0, 0.5

    def __init__(self, traits: Traits) -> None:
        super().__init__(traits)
        self.half = [0.0] * len(self.pace)

    def _own(self, item: int, days: float) -> float:
        half = self.half[item]
        return float(2 ** ((self.last[item] - days) * self.pace[item] / half)) if half else 0.0

    def _move(self, item: int, days: float, recalled: bool) -> None:
        half = self.half[item]
        if half and recalled:
            self.half[item] = half * (1 + self.GROWTH * (1 - self._own(item, days)))
        else:
            self.half[item] = max(self.FIRST, half * self.LOST)
