"""What an attempt at a card is worth: expected gain in recall for the time that it takes."""

from __future__ import annotations

from functools import lru_cache
from math import log

from drillbox.memory.candidates import Candidate
from drillbox.memory.learning import LOST_SHARE, Learned
from drillbox.memory.pace import Pace, expected_seconds
from drillbox.memory.rules import Rules

# Numbers that the study of simulated players settled; see DEVELOPERS.md.
HORIZON = 5  # recall is compared so many days after playing and after not playing
TIME_POWER = 0.6  # at 1 short phrases starve long ones, at 0 long ones eat the time
LEAST = 1e-6  # a card whose recall can't be raised is still played before none


class Worth:
    """The worth of cards on one practice day; each is computed once, as choosing asks again
    and again for cards that haven't changed.
    """

    def __init__(self, learned: Learned, today: int, rules: Rules, pace: Pace) -> None:
        self.learned, self.today, self.rules, self.pace = learned, today, rules, pace
        self._known: dict[Candidate, float] = {}
        self._gains: dict[tuple[float, int], tuple[float, float]] = {}
        first = learned.first
        self._new = self._played(first, 0.0) - first, first

    def of(self, card: Candidate) -> float:
        """Return the worth of a card; a lost attempt takes double: hints, and once more right."""
        found = self._known.get(card)
        if found is None:
            gain, chance = self._gain(card) if card.last_day else self._new
            seconds = expected_seconds(card.quarters, card.tempo, self.pace, self.rules)
            found = max(gain, LEAST) / (seconds * (2 - chance)) ** TIME_POWER
            self._known[card] = found
        return found

    def _gain(self, card: Candidate) -> tuple[float, float]:
        """Return the expected gain in recall and the chance of recall now."""
        days = max(1, self.today - card.last_day)
        key = practice(card, self.learned), days
        if key not in self._gains:
            chance = self.learned.recall(*key)
            left_alone = self.learned.recall(key[0], days + HORIZON)
            self._gains[key] = self._played(chance, key[0]) - left_alone, chance
        return self._gains[key]

    def _played(self, chance: float, done: float) -> float:
        """Return the recall to expect a horizon after an attempt that succeeds with ``chance``."""
        recalled = self.learned.recall(done + 1, HORIZON)
        return chance * recalled + (1 - chance) * self.learned.recall(done + LOST_SHARE, HORIZON)


@lru_cache(maxsize=2)
def worth_today(learned: Learned, today: int, rules: Rules, pace: Pace) -> Worth:
    """Return the worth of cards on a day; the same object while nothing but the cards changes."""
    return Worth(learned, today, rules, pace)


def practice(card: Candidate, learned: Learned) -> float:
    """Return how much practice stands behind an open card, in recalled attempts.

    Counted over the latest attempts; where those say less than its stability does (a card kept
    well for years is seldom played), it is as many clean attempts as lead to that stability.
    """
    good, lost = learned.counts.get(card.card_id, (0, 0))
    counted = good + LOST_SHARE * lost
    if card.stability <= 2.3065:  # the stability after a first clean attempt
        return counted
    # Each clean attempt on its day multiplies stability by some 3.5 at first (FSRS-6 defaults).
    return max(counted, round(1 + log(card.stability / 2.3065) / 1.25, 1))
