"""FSRS-6 over arrays of cards, for speed; a test holds it equal to ``drillbox.memory.recall``."""

from __future__ import annotations

import numpy as np

from drillbox.memory.recall import DEFAULT_WEIGHTS, curve
from tests.bench.study_players import Floats, Ints

W = DEFAULT_WEIGHTS
DECAY, FACTOR = curve()


class FsrsCards:
    """Stability, difficulty and last day of every card."""

    def __init__(self, cards: int) -> None:
        self.stability = np.zeros(cards)
        self.difficulty = np.zeros(cards)
        self.last = np.full(cards, -1, dtype=np.int64)

    def recall(self, today: int) -> Floats:
        """Return the retrievability of every card, 0 where it was never played."""
        gone = np.maximum(0, today - self.last)
        chance = (1 + FACTOR * gone / np.maximum(self.stability, 1e-9)) ** DECAY
        return np.where(self.last >= 0, chance, 0.0)

    def interval(self, cards: Ints, retention: float | Floats) -> Ints:
        """Return whole days until recall falls to ``retention``, 1 at least."""
        days = np.rint(self.stability[cards] / FACTOR * (retention ** (1 / DECAY) - 1))
        return np.clip(days, 1, 36500).astype(np.int64)

    def rate(self, cards: Ints, ratings: Ints, today: int) -> None:
        """Take distinct cards one attempt on."""
        if len(cards) == 0:
            return
        new = self.last[cards] < 0
        s, d = np.maximum(self.stability[cards], 1e-3), self.difficulty[cards]
        chance = self.recall(today)[cards]
        same = self.last[cards] == today
        first = np.array(W)[ratings - 1]
        later = np.where(same, short(s, ratings), long(s, d, chance, ratings))
        self.stability[cards] = np.maximum(np.where(new, first, later), 1e-3)
        start = np.clip(W[4] - np.exp(W[5] * (ratings - 1)) + 1, 1, 10)
        self.difficulty[cards] = np.where(new, start, harder(d, ratings))
        self.last[cards] = today


def harder(d: Floats, ratings: Ints) -> Floats:
    """Return the difficulty after an attempt."""
    moved = d - W[6] * (ratings - 3) * (10 - d) / 9
    easiest = W[4] - np.exp(W[5] * 3) + 1
    return np.clip(W[7] * easiest + (1 - W[7]) * moved, 1, 10)


def short(s: Floats, ratings: Ints) -> Floats:
    """Return the stability after another attempt on the same day."""
    grow = np.exp(W[17] * (ratings - 3 + W[18])) * s ** -W[19]
    return s * np.where(ratings > 1, np.maximum(grow, 1), grow)


def long(s: Floats, d: Floats, chance: Floats, ratings: Ints) -> Floats:
    """Return the stability after an attempt on a later day."""
    d = np.maximum(d, 1)
    factor = np.array([0, 0, W[15], 1.0, W[16]])[ratings]
    gain = np.exp(W[8]) * (11 - d) * s ** -W[9] * (np.exp((1 - chance) * W[10]) - 1)
    lost = W[11] * d ** -W[12] * ((s + 1) ** W[13] - 1) * np.exp((1 - chance) * W[14])
    lost = np.minimum(lost, s / np.exp(W[17] * W[18]))
    return np.where(ratings == 1, lost, s * (1 + gain * factor))
