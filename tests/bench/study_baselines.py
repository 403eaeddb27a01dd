"""What players do without a planner, and plain schedules, at the same minutes.

Each climbs as with a metronome: a card begins at .6 of its goal; a clean or fluent go lifts it
a rung, a lost one takes it a rung down, a rough one leaves it; from one day to the next it stays
where it was. ``BASELINES`` lists each with the few parameters of which its best one counts.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterable
from functools import partial

from tests.bench import study_fsrs
from tests.bench.study_players import Floats
from tests.bench.study_runs import Policy, Run
from tests.bench.study_today import Today

START, LOWEST = 0.6, 0.3


class Climbing:
    """A policy that predicts nothing and keeps a tempo, as a share of the goal, for each card."""

    def __init__(self, rung: float = 0.05) -> None:
        self.rung = rung
        self.share: dict[int, float] = {}

    def predicted(self, run: Run) -> Floats | None:
        """Return None."""
        return None

    def predicted_at(self, run: Run, card: int, tempo: float) -> float | None:
        """Return None."""
        return None

    def go(self, run: Run, card: int) -> int:
        """Play a card where its climb stands, and move it; return the rating, 0 if time is over."""
        share = self.share.get(card, START)
        rating = run.go(card, share * run.goal[card])
        step = self.rung if rating >= 3 else -self.rung if rating == 1 else 0.0
        self.share[card] = min(1.0, max(LOWEST, share + step))
        return rating

    def visit(self, run: Run, card: int, goes: int) -> int:
        """Play a card so many times, fewer once it is clean at goal tempo; return the first
        rating."""
        first = 0
        for _ in range(goes):
            at_goal = self.share.get(card, START) >= 1.0
            rating = self.go(run, card)
            first = first or rating
            if run.over or (at_goal and rating >= 3):
                break
        return first


class RoundRobin(Climbing):
    """All cards in one shuffled order, over and over; without climbing at one share of the goal."""

    def __init__(self, rung: float = 0.05, fixed: float = 0.0) -> None:
        super().__init__(rung)
        self.fixed = fixed
        self.queue: deque[int] = deque()

    def day(self, run: Run) -> None:
        """Go on in the order where yesterday ended; new phrases are shuffled in behind."""
        fresh = list(range(len(self.queue), 12 * run.present))
        run.random.shuffle(fresh)
        self.queue.extend(fresh)
        while not run.over:
            card = self.queue[0]
            if self.fixed:
                run.go(card, self.fixed * run.goal[card])
            else:
                self.go(run, card)
            if not run.over:
                self.queue.rotate(-1)


class PhraseADay(Climbing):
    """A phrase a day in all its keys, each climbing for some goes, over and over."""

    def __init__(self, goes: int) -> None:
        super().__init__()
        self.goes, self.number = goes, 0

    def day(self, run: Run) -> None:
        """Play the day's phrase."""
        first = self.number % run.present * 12
        self.number += 1
        while not run.over:
            for card in range(first, first + 12):
                self.visit(run, card, self.goes)


class KeyADay(Climbing):
    """A key a day: every phrase in it, each climbing for some goes, over and over."""

    def __init__(self, goes: int) -> None:
        super().__init__()
        self.goes, self.number = goes, 0

    def day(self, run: Run) -> None:
        """Play the day's key."""
        cards = list(range(self.number % 12, 12 * run.present, 12))
        self.number += 1
        run.random.shuffle(cards)
        while not run.over:
            for card in cards:
                self.visit(run, card, self.goes)


class WorkingSet(Climbing):
    """A few cards carried to their goal before the next are opened, then kept by growing gaps.

    A card leaves the set when its first go of a day is clean at goal tempo; it comes back after
    2 days, then after twice as long each time it is clean, and after 1 day once it isn't.
    What is due comes first, then the set round and round, phrase by phrase in order of keys.
    """

    def __init__(self, size: int, goes: int = 3) -> None:
        super().__init__()
        self.size, self.goes = size, goes
        self.set: list[int] = []
        self.due: dict[int, int] = {}
        self.gap: dict[int, int] = {}
        self.opened = 0

    def day(self, run: Run) -> None:
        """Play what is due, then the set."""
        for card in sorted(self.due, key=self.due.__getitem__):
            if self.due[card] <= run.today and not run.over:
                self._keep(run, card)
        first = True
        while not run.over:
            self._fill(run)
            cards = self.set[:] or sorted(self.due, key=self.due.__getitem__)
            for card in cards:
                reached = self.share.get(card, START) >= 1.0
                rating = self.visit(run, card, self.goes)
                if first and reached and rating >= 3 and card in self.set:
                    self.set.remove(card)
                    self.gap[card], self.due[card] = 2, run.today + 2
            first = False

    def _keep(self, run: Run, card: int) -> None:
        rating = self.visit(run, card, 2)
        if rating:
            self.gap[card] = self.gap[card] * 2 if rating >= 3 else 1
            self.due[card] = run.today + self.gap[card]

    def _fill(self, run: Run) -> None:
        while len(self.set) < self.size and self.opened < 12 * run.present:
            self.set.append(self.opened)
            self.opened += 1


class PlainFsrs(Climbing):
    """FSRS with its default weights in due order; new cards whenever nothing is due, in a
    shuffled order, then what is due soonest. A visit has some goes, its first counts."""

    def __init__(self, goes: int, retention: float = 0.9) -> None:
        super().__init__()
        self.goes, self.retention = goes, retention
        self.state: dict[int, tuple[float, float]] = {}
        self.last: dict[int, int] = {}
        self.due: dict[int, int] = {}
        self.fresh: list[int] = []
        self.known = 0

    def day(self, run: Run) -> None:
        """Play what is due, then new cards, then what is due soonest."""
        fresh = list(range(self.known, 12 * run.present))
        run.random.shuffle(fresh)
        self.fresh, self.known = self.fresh + fresh, 12 * run.present
        self._play(run, [card for card in self._by_due() if self.due[card] <= run.today])
        while self.fresh and not run.over:
            self._play(run, self.fresh[:1])
            if self.fresh[0] in self.state:
                del self.fresh[0]
        while not run.over:
            self._play(run, self._by_due())

    def _by_due(self) -> list[int]:
        return sorted(self.due, key=self.due.__getitem__)

    def _play(self, run: Run, cards: Iterable[int]) -> None:
        for card in cards:
            rating = self.visit(run, card, self.goes)
            if not rating:
                return
            gone = run.today - self.last.get(card, run.today)
            state = self.state[card] = study_fsrs.after(self.state.get(card), gone, rating)
            self.last[card] = run.today
            self.due[card] = run.today + study_fsrs.interval(state[0], self.retention)


BASELINES: dict[str, dict[str, Callable[[], Policy]]] = {
    "round-robin": {f"at {share:g}": partial(RoundRobin, fixed=share) for share in (0.85, 1.0)},
    "round-robin climbing": {f"{rung:g}": partial(RoundRobin, rung) for rung in (0.05, 0.1)},
    "phrase a day": {f"{goes} goes": partial(PhraseADay, goes) for goes in (4, 6)},
    "key a day": {f"{goes} goes": partial(KeyADay, goes) for goes in (4, 6)},
    "working set": {f"{size}": partial(WorkingSet, size) for size in (6, 12, 24)},
    "plain FSRS": {f"{goes} goes": partial(PlainFsrs, goes) for goes in (1, 3)},
    "today": {"": Today},
}
