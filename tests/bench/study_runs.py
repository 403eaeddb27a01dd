"""One simulated player's days: what an attempt costs, how it is rated, what is remembered.

A recalled attempt costs two rounds at the card's tempo and ten seconds to look, count in and
rate; a lost one costs double. Each attempt leaves its mark before the next begins.
"""

from __future__ import annotations

from typing import NamedTuple, Protocol

import numpy as np

from tests.bench.study_players import DAY, TRUTHS, Cell, Floats, Ints, siblings

DAYS, FROM, BREAK, BREAK_DAYS = 180, 90, 120, 14
SESSION = 20 * 60.0
LOOPS, OVERHEAD = 2, 10.0


class Score(NamedTuple):
    """True recall of all cards: mean over the last half, on the return day, in the worst tenth.

    ``probes`` are (predicted, true) pairs of open cards on random days, for calibration.
    """

    mean: float
    back: float
    worst: float
    final: float
    attempts: float
    opened: float
    probes: list[tuple[float, float]]


class Policy(Protocol):
    """What to play: called once a day, plays by ``run.play`` until the time is over."""

    def day(self, run: Run) -> None:
        """Practise one day."""

    def predicted(self, run: Run) -> Floats | None:
        """Return the predicted recall of every card at the start of the day, if any."""


class Run:
    """A player, their phrases, and one practice day after the other."""

    def __init__(self, cell: Cell, seed: int) -> None:
        self.cell, self.seed = cell, seed
        world = np.random.default_rng([seed, cell.phrases, 1])
        phrases, cards = cell.phrases, 12 * cell.phrases
        self.quarters = world.choice([8.0, 8.0, 16.0, 16.0, 32.0], phrases).repeat(12)
        self.goal = world.integers(100, 201, phrases).repeat(12).astype(float)
        # Difficulty in logits: uneven phrases, uneven keys, and some that fall badly together.
        keys = np.tile(world.normal(0, 0.6, 12), phrases)
        hard = world.normal(0, 0.6, phrases).repeat(12) + keys + world.normal(0, 0.3, cards)
        self.player = TRUTHS[cell.truth](cell, hard)
        self.random = np.random.default_rng([seed, cell.phrases, 2])
        self.tempo = np.floor(self.goal * 0.6 + 0.5)
        self.rung = np.maximum(1.0, np.floor(self.goal * 0.05 + 0.5))
        self.clean = np.zeros(cards, dtype=np.int64)
        self.attempts = np.zeros(cards, dtype=np.int64)
        self.last = np.full(cards, -1, dtype=np.int64)
        self.today, self.used, self.total, self.over = 0, 0.0, 0, False
        self.cards = cards

    def play(self, cards: Ints) -> tuple[Ints, Ints]:
        """Attempt distinct cards in order while there is time; return them and their ratings."""
        ratings: list[int] = []
        for card in cards.tolist() if not self.over else ():
            cost = OVERHEAD + LOOPS * self.quarters[card] * 60.0 / self.tempo[card]
            # As in the product: an attempt is begun while half of the time that it needs is left.
            if self.used + cost / 2 > SESSION:
                self.over = True
                break
            now = self.today + self.used / DAY
            chance = self.player.recall(now, siblings(card))[card % 12]
            recalled = bool(self.random.random() < chance)
            self.player.learn(card, now, recalled)
            # Who is lost looks at the hints, and hears and plays it right once more.
            self.used += cost if recalled else 2 * cost
            ratings.append(self._rate(recalled, chance))
        played = cards[: len(ratings)]
        self.total += len(ratings)
        self._climb(played, np.array(ratings, dtype=np.int64))
        self.attempts[played] += 1
        self.last[played] = self.today
        return played, np.array(ratings, dtype=np.int64)

    def _rate(self, recalled: bool, chance: float) -> int:
        """Return a rating 1–4: of what is recalled, the surer the more is fluent."""
        luck = self.random.random()
        if not recalled:
            return 1
        if luck < 0.4 * chance**2:
            return 4
        return 2 if luck > 0.9 - 0.4 * (1 - chance) else 3

    def _climb(self, cards: Ints, ratings: Ints) -> None:
        """Move the tempo ladder as the product does."""
        run = np.where(ratings == 3, self.clean[cards] + 1, 0)
        up = (ratings == 4) | (run >= 2)
        move = np.where(up, 1, np.where(ratings == 1, -1, 0)) * self.rung[cards]
        self.tempo[cards] = np.minimum(self.goal[cards], np.maximum(40, self.tempo[cards] + move))
        self.clean[cards] = np.where(up, 0, run)


def simulate(cell: Cell, seed: int, policy: Policy) -> Score:
    """Practise 180 days, 14 of them a break, and return how much is remembered."""
    run = Run(cell, seed)
    by_day, back, probes = [], 0.0, []
    probing = np.random.default_rng([seed, 3])
    for today in range(DAYS):
        run.today, run.used, run.over = today, 0.0, False
        recall = run.player.recall(float(today))
        if today >= FROM:
            by_day.append(recall)
            predicted = policy.predicted(run)
            if predicted is not None:
                seen = np.flatnonzero(run.attempts)
                for card in probing.choice(seen, min(3, len(seen)), replace=False):
                    probes.append((float(predicted[card]), float(recall[card])))
        if today == BREAK + BREAK_DAYS:
            back = float(recall.mean())
        if not BREAK <= today < BREAK + BREAK_DAYS:
            policy.day(run)
    each = np.mean(by_day, axis=0)
    worst = float(np.sort(each)[: len(each) // 10].mean())
    opened = float((run.attempts > 0).mean())
    final = float(by_day[-1].mean())
    return Score(float(each.mean()), back, worst, final, float(run.total), opened, probes)
