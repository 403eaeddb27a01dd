"""A player who drills day after day, by the product's own decisions and nothing else."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from datetime import date, timedelta
from itertools import groupby
from typing import NamedTuple

from drillbox.memory.candidates import Candidate, Pace, Sitting, candidate, expected_seconds
from drillbox.memory.cards import Attempted, CardState, is_cold, rate, untried
from drillbox.memory.chances import Chances
from drillbox.memory.choose import next_go
from drillbox.memory.days import choose_due
from drillbox.memory.learning import LATEST, Seen, learn
from drillbox.memory.leniency import HABIT, MORE_MISSED, SLOW, Missed, Misses
from drillbox.memory.recall import Recall, after
from drillbox.memory.rules import Rules

START = date(2026, 3, 2)
RULES = Rules()


class Played(NamedTuple):
    """One go of a life: ``number`` is its place among all."""

    day: int
    card: int
    phrase: int
    key: str
    tempo: int
    number: int
    recall: Recall


Rating = Callable[[Played], Recall]


class Rated(NamedTuple):
    """A missed go: its practice day, and which of ``Misses`` it counts among."""

    card_id: int
    day: int
    kind: str
    recall: Recall


def missed(card: Candidate, day: int, recall: Recall, tempo: int) -> Rated:
    """Return a missed go at a card, as it stood before it."""
    kind = "slow" if card.tempo >= SLOW * tempo else "near"
    return Rated(card.card_id, day, "later" if card.last_day == day else kind, recall)


def misses_of(goes: Iterable[Rated], cards: Sequence[Candidate], today: int) -> Misses:
    """Return what was missed in the days that are looked at; ``cards`` by their numbers."""
    found = Counter(
        (each.kind, each.recall)
        for each in goes
        if each.day >= today - HABIT
        and cards[each.card_id].missed < cards[each.card_id].clean + MORE_MISSED
    )
    return Misses(*(Missed(found[kind, Recall.LOST], found[kind, Recall.ROUGH])
                    for kind in Misses._fields))  # fmt: skip


def tried_before(tries: Iterable[Seen], seen: Sequence[Seen]) -> list[Seen]:
    """Return the very first goes from before the latest cold ones, which ``seen`` ends with."""
    if len(seen) < LATEST:
        return []
    return [each for each in tries if each.day < seen[-LATEST].day]


class Life:
    """Phrases of twelve keys each, numbered 12 a phrase, and what became of them."""

    def __init__(
        self, phrases: int = 1, goal: int = 132, quarters: float = 8.0, rules: Rules = RULES
    ) -> None:
        self.rules, self.goal, self.quarters = rules, goal, quarters
        self.states: list[CardState] = [untried(goal, rules) for _ in range(12 * phrases)]
        self.seen: list[Seen] = []
        self.tries: list[Seen] = []
        self.missed: list[Rated] = []
        self.played: list[Played] = []
        self.used: list[float] = []  # the seconds of each day
        self.day = 0

    def pool(self) -> list[Candidate]:
        """Return the cards as they stand."""
        return [
            candidate(number, number // 12, number % 12, quarters=self.quarters, goal=self.goal,
                      state=state, key=str(number % 12))
            for number, state in enumerate(self.states)
        ]  # fmt: skip

    def sit_down(self, minutes: float, rating: Rating) -> None:
        """Drill one day's session, and let the night pass."""
        today = START + timedelta(days=self.day)
        pool = self.pool()
        learned = learn(self.seen, pool, misses_of(self.missed, pool, today.toordinal()),
                        tried_before(self.tries, self.seen))  # fmt: skip
        chances = Chances(learned, pool, today.toordinal(), self.rules)
        sitting = Sitting(minutes)
        while go := next_go(pool, sitting, self.rules, Pace(), chances):
            card = pool[go.card_id]
            played = Played(self.day, go.card_id, card.phrase_id, card.key, go.tempo,
                            len(self.played), Recall.LOST)  # fmt: skip
            recall = rating(played)
            self.played.append(played._replace(recall=recall))
            seconds = expected_seconds(card.quarters, go.tempo, Pace(), self.rules)
            sitting = sitting.rated(card, go.tempo, recall, seconds)
            self._move(card, go.tempo, recall, today)
            pool = self.pool()
        self.used.append(sitting.used)
        self.day += 1

    def _move(self, card: Candidate, tempo: int, recall: Recall, today: date) -> None:
        state = self.states[card.card_id]
        due = state.due or today
        day = today.toordinal()
        if recall < Recall.CLEAN:
            self.missed.append(missed(card, day, recall, tempo))
        if is_cold(state, today):
            due = choose_due(after(state.memory, recall, today), self.rules, str(card.card_id),
                             state.attempts + 1, {}, ())  # fmt: skip
            self.seen.append(Seen(card.card_id, day, recall, tempo, card.tempo))
            if not card.begun:
                self.tries.append(self.seen[-1])
        self.states[card.card_id] = rate(
            state, Attempted(today, recall, tempo, 0, due), self.goal, self.rules
        )

    @property
    def owned(self) -> int:
        """Return how many cards are owned."""
        return sum(state.owned for state in self.states)

    def visits(self, day: int) -> list[Played]:
        """Return the first go of each visit of a day."""
        goes = [each for each in self.played if each.day == day]
        return [next(each) for _, each in groupby(goes, key=lambda go: go.card)]


def always(recall: Recall) -> Rating:
    """Return how somebody rates who always rates alike."""
    return lambda _: recall
