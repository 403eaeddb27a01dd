"""What players do today, and the plain schedules, at the same minutes."""

from __future__ import annotations

import numpy as np

from tests.bench.study_fsrs import FsrsCards
from tests.bench.study_players import Floats, Ints
from tests.bench.study_runs import Run


class Unpredicting:
    """A policy that predicts nothing."""

    def predicted(self, run: Run) -> Floats | None:
        """Return None."""
        return None


class RoundRobin(Unpredicting):
    """All cards in one shuffled order, over and over."""

    def __init__(self) -> None:
        self.queue: list[int] = []

    def day(self, run: Run) -> None:
        """Go on in the order where yesterday ended."""
        if not self.queue:
            self.queue = [int(each) for each in run.random.permutation(run.cards)]
        while not run.over:
            played, _ = run.play(np.array(self.queue[:120]))
            self.queue = self.queue[len(played) :] + self.queue[: len(played)]


class KeyADay(Unpredicting):
    """One key a day: every phrase in it, over and over until the time is up."""

    def day(self, run: Run) -> None:
        """Play the day's key."""
        cards = np.arange(run.today % 12, run.cards, 12)
        while not run.over:
            run.play(run.random.permutation(cards))


class PhraseADay(Unpredicting):
    """One phrase a day in all keys in order, over and over until the time is up."""

    def day(self, run: Run) -> None:
        """Play the day's phrase."""
        first = run.today % run.cell.phrases * 12
        while not run.over:
            run.play(np.arange(first, first + 12))


class Random(Unpredicting):
    """Any card at random."""

    def day(self, run: Run) -> None:
        """Play cards drawn afresh each day."""
        while not run.over:
            run.play(run.random.permutation(run.cards)[:60])


class Ladder(Unpredicting):
    """Fixed steps of 1-3-7-14-30-60 days, back to the first after a miss; oldest due first."""

    STEPS = np.array([1, 3, 7, 14, 30, 60])

    def __init__(self) -> None:
        self.step: Ints = np.zeros(0, dtype=np.int64)

    def day(self, run: Run) -> None:
        """Play what is due, then new cards, then what is due soonest."""
        if not len(self.step):
            self.step = np.full(run.cards, -1)
            self.due = np.full(run.cards, 10**6)
            self.fresh = run.random.permutation(run.cards)
        for cards in (by_due(run, self.due), self.fresh[run.attempts[self.fresh] == 0], None):
            order = ahead(run, self.due) if cards is None else cards
            played, ratings = run.play(order)
            up = np.minimum(self.step[played] + 1, len(self.STEPS) - 1)
            self.step[played] = np.where(ratings == 1, 0, up)
            self.due[played] = run.today + self.STEPS[self.step[played]]


class PlainFsrs:
    """FSRS with its default weights at .9 in due order; new cards whenever nothing is due."""

    def __init__(self, retention: float = 0.9) -> None:
        self.retention = retention
        self.memory: FsrsCards | None = None

    def predicted(self, run: Run) -> Floats | None:
        """Return FSRS retrievability."""
        return self.memory.recall(run.today) if self.memory else None

    def day(self, run: Run) -> None:
        """Play what is due, then new cards, then what is due soonest."""
        if self.memory is None:
            self.memory = FsrsCards(run.cards)
            self.due = np.full(run.cards, 10**6)
            self.fresh = run.random.permutation(run.cards)
        for cards in (by_due(run, self.due), self.fresh[run.attempts[self.fresh] == 0], None):
            order = ahead(run, self.due) if cards is None else cards
            played, ratings = run.play(order)
            self.memory.rate(played, ratings, run.today)
            self.due[played] = run.today + self.memory.interval(played, self.retention)


def by_due(run: Run, due: Ints) -> Ints:
    """Return the cards due, the longest due first, equal ones shuffled."""
    cards = run.random.permutation(np.flatnonzero(due <= run.today))
    return cards[np.argsort(due[cards], kind="stable")]


def ahead(run: Run, due: Ints) -> Ints:
    """Return the open cards not played today, those due soonest first."""
    cards = np.flatnonzero((run.attempts > 0) & (run.last < run.today))
    return cards[np.argsort(due[cards], kind="stable")]


BASELINES = {
    "round-robin": RoundRobin,
    "key a day": KeyADay,
    "phrase a day": PhraseADay,
    "random": Random,
    "ladder": Ladder,
    "plain FSRS": PlainFsrs,
}
