"""Two memories and a motor part that were kept out of all searches but the last.

They differ in structure from those of the search, and took the place of three that were held
before and have been looked at since. Constants are assumed, and were set by baselines alone, before
any policy of ours met them; the sources are for the shape of each.
"""

from __future__ import annotations

from math import exp, floor
from typing import ClassVar

import numpy as np

from tests.bench.study_motors import Bounded
from tests.bench.study_states import Fallback
from tests.bench.study_traits import ALL, Floats, Traits, gainers


class Disuse(Fallback):
    """Storage that only grows, and retrieval that fades (new theory of disuse, Bjork & Bjork 1992).

    Recall has the chance R = e^(-t / (1.5 (1 + S)^1.7)), t in days. A go adds 1.2 (1 - R) to the
    storage S when recalled, half of that when not: the harder the retrieval, the more it brings.
    """

    CLOCK: ClassVar = {"strong": 0.1, "middling": 1.0, "weak": 2.0}
    FIRST, POWER, GAIN, MISSED = 1.5, 1.7, 1.2, 0.5

    def __init__(self, traits: Traits) -> None:
        super().__init__(traits)
        self.storage = [-1.0] * len(self.pace)  # below 0: never played

    def _own(self, item: int, days: float) -> float:
        if self.storage[item] < 0:
            return 0.0
        lasts = self.FIRST * (1 + self.storage[item]) ** self.POWER
        return exp((self.last[item] - days) * self.pace[item] / lasts)

    def _move(self, item: int, days: float, recalled: bool) -> None:
        gain = self.GAIN * (1 - self._own(item, days)) * (1.0 if recalled else self.MISSED)
        self.storage[item] = max(0.0, self.storage[item]) + gain


class Interference(Fallback):
    """What comes between is what makes forget (retroactive interference: Underwood 1957).

    Recall has the chance 1 / (1 + n / (40 w)), n being the goes at other phrases since, and three
    more for each day. One that is recalled multiplies w by 1 + 2 (1 - R), a lost one by .8, down
    to 1 at least. Goes in a row bring nothing.
    """

    CLOCK: ClassVar = {"strong": 0.25, "middling": 1.0, "weak": 2.0}
    ROOM, DAILY, GROWTH, LOST = 40.0, 3.0, 2.0, 0.8

    def __init__(self, traits: Traits) -> None:
        super().__init__(traits)
        self.width = [0.0] * len(self.pace)  # 0: never played
        self.seen = [0.0] * len(self.pace)  # goes at other phrases, as of the latest go
        self.total, self.of_phrase = 0, [0] * traits.phrases

    def learn(self, card: int, days: float, recalled: bool) -> None:
        """Play a card at a time."""
        super().learn(card, days, recalled)
        self.total += 1
        self.of_phrase[card // 12] += 1

    def _others(self, item: int) -> int:
        phrase = item // 12 if item < self.first else item - self.first
        return self.total - self.of_phrase[phrase]

    def _own(self, item: int, days: float) -> float:
        if not self.width[item]:
            return 0.0
        between = self._others(item) - self.seen[item] + self.DAILY * (days - self.last[item])
        return 1 / (1 + between * self.pace[item] / (self.ROOM * self.width[item]))

    def _move(self, item: int, days: float, recalled: bool) -> None:
        width = self.width[item]
        grown = 1 + self.GROWTH * (1 - self._own(item, days)) if recalled else self.LOST
        self.width[item] = max(1.0, width * grown)
        self.seen[item] = self._others(item)


class Overload(Bounded):
    """Only what is near the limit brings anything, and what isn't kept up is lost again after a
    while (overload, and detraining after a grace: Mujika & Padilla 2000).

    A recalled go at .92 of capacity or faster adds .045 · rate · room to its logarithm, half of it
    when not clean, the first three of a day; a slower one only keeps what is there. After ten days
    without a go 1.5 % of what was gained goes each day. Siblings get the transfer's share.
    """

    K = 11.0
    GAIN, NEAR, DAILY, GRACE, LOSS = 0.045, 0.92, 3, 10.0, 0.015

    def __init__(self, traits: Traits) -> None:
        super().__init__(traits)
        self.gained, self.at = np.zeros(len(self.start)), np.zeros(len(self.start))
        self.today, self.goes = 0, np.zeros(len(self.start))

    def _gained(self, days: float, cards: slice | int) -> Floats:
        idle = np.maximum(0.0, days - self.at[cards] - self.GRACE)
        return np.asarray(self.gained[cards] * np.exp(-self.LOSS * idle))

    def reach(self, card: int, days: float) -> float:
        """Return the capacity of one card."""
        return exp(float(self.start[card] + self._gained(days, card)))

    def capacity(self, days: float, cards: slice = ALL) -> Floats:
        """Return the cards' capacities at a time."""
        return np.asarray(np.exp(self.start[cards] + self._gained(days, cards)))

    def practise(self, card: int, days: float, tempo: float, outcome: int) -> None:
        """Play a card at a time, none earlier than the last."""
        if floor(days) != self.today:
            self.today, self.goes = floor(days), np.zeros(len(self.start))
        cards, share = gainers(card, self.share)
        gained = self._gained(days, cards)
        near = tempo >= self.NEAR * self.reach(card, days)
        if near and outcome >= 2 and self.goes[card] < self.DAILY:
            self.goes[card] += 1
            room = np.maximum(0.0, 1 - gained / self.most[cards])
            gained = gained + self.GAIN * share * self.rate[cards] * room * (
                1.0 if outcome >= 3 else 0.5
            )
        self.gained[cards] = gained
        self.at[cards] = days


MEMORIES = {"disuse": Disuse, "interference": Interference}
MOTORS = {"overload": Overload}
