"""One simulated player: day after day a sitting, chosen as in a drill, rated by the dice."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from datetime import date
from random import Random
from typing import NamedTuple

from drillbox.memory.candidates import Candidate, Sitting, candidate
from drillbox.memory.cards import Attempted, CardState, is_cold, rate
from drillbox.memory.chances import Chances
from drillbox.memory.choose import Go, next_go
from drillbox.memory.due import choose_due
from drillbox.memory.learning import Learned
from drillbox.memory.pace import Pace, expected_seconds
from drillbox.memory.recall import MemoryState, Recall, after
from drillbox.memory.rules import Rules
from drillbox.memory.tempo import FIRST_STRIDE, TempoState

REACH = 240  # of more cards only the phrases of the most pressing are looked at: none else comes


class Habits(NamedTuple):
    """How this player rates: the share of fluent among clean goes, of lost among the others."""

    fluent: float = 0.25
    lost: float = 0.4


ASSUMED = Habits()


class Figures(NamedTuple):
    """What one day came to; see ``forecast.Load``."""

    keys: float
    goes: float
    new: float
    minutes: float
    started: float
    at_goal: float
    owned: float


class Simulated:
    """The cards as they stand while the days go by."""

    def __init__(
        self,
        cards: Iterable[Candidate],
        goal_runs: Mapping[int, int],
        learned: Learned,
        rules: Rules,
        pace: Pace,
        habits: Habits,
        dice: Random,
    ) -> None:
        self.learned, self.rules, self.pace = learned, rules, pace
        self.habits, self.dice = habits, dice
        self.cards = {card.card_id: card for card in cards}
        self.states = {
            card.card_id: _state(card, goal_runs.get(card.card_id, 0))
            for card in self.cards.values()
        }
        self.load = Counter(date.fromordinal(each.due) for each in self.pool if each.due)
        self.of_phrase: dict[int, list[int]] = defaultdict(list)
        for card in self.pool:
            self.of_phrase[card.phrase_id].append(card.card_id)

    @property
    def pool(self) -> list[Candidate]:
        """Return the cards as they stand, in the order of phrases and keys."""
        return list(self.cards.values())

    def day(self, day: int, minutes: float) -> Figures:
        """Drill for so many minutes on a practice day, not at all for 0; return what came of it."""
        morning = dict(self.cards)
        chances = Chances(self.learned, self.pool, day, self.rules)
        near = self._near(chances)
        sitting = Sitting(minutes)
        while minutes > 0:  # a drill that is begun has one go at least
            pool = [self.cards[each] for each in near]
            go = next_go(pool, sitting, self.rules, self.pace, chances)
            if go is None:
                break
            card = self.cards[go.card_id]
            recall = self._draw(chances.at(morning[go.card_id], go.tempo))
            seconds = expected_seconds(card.quarters, go.tempo, self.pace, self.rules)
            sitting = sitting.rated(card, go.tempo, recall, seconds)
            self._move(card, go, recall, date.fromordinal(day))
        return Figures(
            len({each.card_id for each in sitting.done}),
            len(sitting.done),
            sum(each.first for each in sitting.done),
            sitting.used / 60,
            sum(card.begun for card in self.cards.values()),
            sum(card.begun and card.at_goal for card in self.cards.values()),
            sum(card.owned for card in self.cards.values()),
        )

    def _near(self, chances: Chances) -> list[int]:
        """Return the cards that may come today: all, or those of the phrases that press most."""
        if len(self.cards) <= REACH:
            return list(self.cards)
        pressing = sorted(self.pool, key=chances.worth, reverse=True)
        phrases = {card.phrase_id for card in pressing[: REACH // 4]}
        return [each for phrase in sorted(phrases) for each in self.of_phrase[phrase]]

    def _draw(self, chance: float) -> Recall:
        luck, kind = self.dice.random(), self.dice.random()
        if luck < chance:
            return Recall.FLUENT if kind < self.habits.fluent else Recall.CLEAN
        return Recall.LOST if kind < self.habits.lost else Recall.ROUGH

    def _move(self, card: Candidate, go: Go, recall: Recall, day: date) -> None:
        """Take a card one go further, by the steps that a rating takes it in a drill."""
        before = self.states[card.card_id]
        due = self._due(card, before, recall, day) if is_cold(before, day) else before.due
        attempted = Attempted(day, recall, go.tempo, 0, due or day)
        state = self.states[card.card_id] = rate(before, attempted, card.goal, self.rules)
        self.cards[card.card_id] = candidate(
            card.card_id, card.phrase_id, card.position,
            quarters=card.quarters, goal=card.goal, state=state, key=card.key,
        )  # fmt: skip

    def _due(self, card: Candidate, before: CardState, recall: Recall, day: date) -> date:
        if before.due:
            self.load[before.due] -= 1
        memory = before.memory
        if memory is not None:
            memory = memory._replace(last_day=min(memory.last_day, day))
        siblings = {
            date.fromordinal(self.cards[each].due)
            for each in self.of_phrase[card.phrase_id]
            if each != card.card_id and self.cards[each].due
        }
        due = choose_due(
            after(memory, recall, day, self.rules.weights), self.rules, str(card.card_id),
            before.attempts, self.load, siblings,
        )  # fmt: skip
        self.load[due] += 1
        return due


def _state(card: Candidate, goal_run: int) -> CardState:
    """Return a card's state; only how many goes at it stand isn't known, and not needed."""
    tempo = TempoState(card.tempo, card.stride or FIRST_STRIDE)
    if not card.begun:
        return CardState(None, tempo)
    memory = MemoryState(card.stability, card.difficulty, date.fromordinal(card.last_day))
    return CardState(
        memory, tempo, card.clean + card.missed, date.fromordinal(card.due), card.clean,
        card.missed, card.run, goal_run, card.owned,
    )  # fmt: skip
