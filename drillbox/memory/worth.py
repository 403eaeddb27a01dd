"""What an attempt at a card is worth: expected gain in recall for the time that it takes."""

from __future__ import annotations

from functools import lru_cache

from drillbox.memory.candidates import Candidate
from drillbox.memory.learning import LOST_SHARE, Learned
from drillbox.memory.pace import Pace, expected_seconds
from drillbox.memory.rules import Rules

# Numbers that the study of simulated players settled; see DEVELOPERS.md.
HORIZON = 3  # recall is compared so many days after playing and after not playing
TIME_POWER = 0.7  # at 1 short phrases starve long ones, at 0 long ones eat the time
LEAST = 1e-6  # a card whose recall can't be raised is still played before none


class Worth:
    """The worth of cards on one practice day; each is computed once, as choosing asks again
    and again for cards that haven't changed.
    """

    def __init__(self, learned: Learned, today: int, rules: Rules, pace: Pace) -> None:
        self.learned, self.today, self.rules, self.pace = learned, today, rules, pace
        self._known: dict[tuple[int, int, int, int], float] = {}

    def of(self, card: Candidate, apart: int) -> float:
        """Return the worth of a card, 0 if it is left alone: remembered surely and not due.

        ``apart`` are the days since another key of its phrase was played. A lost attempt takes
        double: hints, and once more right.
        """
        # All that changes of a card within a day comes with another last day or tempo.
        known = card.card_id, card.last_day, card.tempo, apart
        found = self._known.get(known)
        if found is None:
            found = self._known[known] = self._worth(card, apart)
        return found

    def _worth(self, card: Candidate, apart: int) -> float:
        learned, later = self.learned, apart + HORIZON
        ease = learned.ease(card.phrase_id, card.key)
        done = card.recalled + LOST_SHARE * card.lost
        if card.last_day:
            days = max(1, self.today - card.last_day)
            kept = card.run > 0
            chance = learned.recall(ease, done, days, apart, kept=kept)
            if chance > self.rules.fresh and card.due > self.today:
                return 0.0
            left_alone = learned.recall(ease, done, days + HORIZON, later, kept=kept)
        else:
            chance = left_alone = learned.first_try(ease, apart)
        recalled = learned.recall(ease, done + 1, HORIZON, later, kept=True)
        lost = learned.recall(ease, done + LOST_SHARE, HORIZON, later, kept=False)
        gain = chance * recalled + (1 - chance) * lost - left_alone
        seconds = expected_seconds(card.quarters, card.tempo, self.pace, self.rules)
        return max(gain, LEAST) / float((seconds * (2 - chance)) ** TIME_POWER)


@lru_cache(maxsize=2)
def worth_today(learned: Learned, today: int, rules: Rules, pace: Pace) -> Worth:
    """Return the worth of cards on a day; the same object while nothing but the cards changes."""
    return Worth(learned, today, rules, pace)
