"""The days to come, played through: due days, tempo and new keys by a drill's own decisions.

Pure: no store and no clock. The same cards, day and seed always give the same days.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from random import Random
from typing import NamedTuple

from drillbox.memory.candidates import Candidate
from drillbox.memory.due import choose_due
from drillbox.memory.opening import first_try, openable
from drillbox.memory.pace import Pace, expected_seconds
from drillbox.memory.recall import MemoryState, Recall, after, chance, curve
from drillbox.memory.rules import Rules
from drillbox.memory.tempo import TempoState, first_tempo, next_tempo
from drillbox.tick import Tick

KEYS = 12  # cards of a phrase
SEED = 12


class Habits(NamedTuple):
    """How this player rates: shares of rough and fluent among what isn't lost, and of lost
    among first tries in a new key that fail."""

    rough: float = 0.25
    fluent: float = 0.25
    lost: float = 0.5


ASSUMED = Habits()


class Load(NamedTuple):
    """What a day brings, on average over the runs: cards played, new ones of them, minutes."""

    cards: float
    new: float
    minutes: float


class NewPhrase(NamedTuple):
    """A phrase that may be added: its chart's length in quarter notes and its goal tempo."""

    quarters: float
    goal: int


def forecast(
    cards: Sequence[Candidate],
    today: date,
    days: int,
    rules: Rules,
    pace: Pace,
    *,
    habits: Habits = ASSUMED,
    opened_today: int = 0,
    adding: Sequence[NewPhrase] = (),
    runs: int = 1,
    tick: Tick = lambda _done, _all: None,
) -> list[Load]:
    """Return what each of the next ``days`` days brings if all that is due is played each day.

    ``cards`` are those of ``store.candidates``. Of a phrase one key is opened a day. Ratings
    are drawn by each card's chance of recall on the day; ``runs`` seeded runs are averaged.
    ``tick`` hears of days done.
    """
    sums = [[0.0, 0.0, 0.0] for _ in range(days)]
    for run in range(runs):
        player = _Player(rules, pace, habits, Random(SEED + run))
        player.take(cards)
        player.add(adding)
        for number in range(days):
            tick(run * days + number, runs * days)
            quota = rules.new_a_day - (opened_today if number == 0 else 0)
            for place, value in enumerate(player.play(today.toordinal() + number, quota)):
                sums[number][place] += value / runs
    return [Load(*each) for each in sums]


@dataclass
class _Player:
    """One run: the cards as they stand while the days go by."""

    rules: Rules
    pace: Pace
    habits: Habits
    dice: Random
    cards: dict[int, Candidate] = field(default_factory=dict)
    due: dict[int, set[int]] = field(default_factory=lambda: defaultdict(set))
    load: Counter[date] = field(default_factory=Counter)
    of_phrase: dict[int, list[int]] = field(default_factory=lambda: defaultdict(list))
    runs: dict[int, int] = field(default_factory=dict)  # clean attempts in a row
    played: int = 0

    def take(self, cards: Iterable[Candidate]) -> None:
        """Take cards as they stand."""
        for card in cards:
            self.cards[card.card_id] = card
            self.of_phrase[card.phrase_id].append(card.card_id)
            if card.due:
                self.due[card.due].add(card.card_id)
                self.load[date.fromordinal(card.due)] += 1

    def add(self, phrases: Sequence[NewPhrase]) -> None:
        """Add phrases that were never played."""
        base = max(self.of_phrase, default=0) + 1
        self.take(
            Candidate(
                -1 - number * KEYS - position,  # numbers below 0 are no one else's
                base + number, position, each.quarters, each.goal,
                first_tempo(each.goal, self.rules.tempo),
            )
            for number, each in enumerate(phrases)
            for position in range(KEYS)
        )  # fmt: skip

    def play(self, day: int, quota: int) -> tuple[float, float, float]:
        """Play all that is due, then new keys in the minutes left; return cards, new, minutes."""
        waiting = sorted(
            card for at in [at for at in self.due if at <= day] for card in self.due[at]
        )
        seconds = sum(self._attempts(each, day) for each in waiting)
        new: list[int] = []
        for card in self._openable(day, quota):
            if seconds + self._seconds(card) > self.rules.minutes * 60:
                break
            new.append(card.card_id)
            seconds += self._attempts(card.card_id, day)
        if new and self.rules.newest_at_end and len(waiting) + len(new) > 1:
            seconds += self._attempt(new[-1], day)[1]
        return len(waiting) + len(new), len(new), seconds / 60

    def _openable(self, day: int, quota: int) -> list[Candidate]:
        first: dict[int, Candidate] = {}
        for card in openable(self.cards.values(), day, self.rules):
            first.setdefault(card.phrase_id, card)
        return list(first.values())[: max(0, quota)]

    def _attempts(self, card_id: int, day: int) -> float:
        """Play a card, once more where it was lost; return the seconds."""
        recall, seconds = self._attempt(card_id, day)
        if recall is Recall.LOST and self.rules.returns_a_day:
            seconds += self._attempt(card_id, day)[1]
        return seconds

    def _attempt(self, card_id: int, day: int) -> tuple[Recall, float]:
        card = self.cards[card_id]
        recall, seconds = self._draw(card, day), self._seconds(card)
        memory = after(_memory(card), recall, date.fromordinal(day), self.rules.weights)
        tempo = next_tempo(
            TempoState(card.tempo, self.runs.get(card_id, 0)), recall, card.goal, self.rules.tempo
        )
        self.runs[card_id] = tempo.clean_run
        self._forget_due(card)
        self.played += 1
        siblings = {
            date.fromordinal(self.cards[each].due)
            for each in self.of_phrase[card.phrase_id]
            if each != card_id and self.cards[each].due
        }
        due = choose_due(memory, self.rules, str(card_id), self.played, self.load, siblings)
        self.cards[card_id] = card._replace(
            tempo=tempo.tempo,
            stability=memory.stability,
            difficulty=memory.difficulty,
            last_day=day,
            due=due.toordinal(),
        )
        self.due[due.toordinal()].add(card_id)
        self.load[due] += 1
        return recall, seconds

    def _forget_due(self, card: Candidate) -> None:
        if card.due:
            self.due[card.due].discard(card.card_id)
            self.load[date.fromordinal(card.due)] -= 1

    def _draw(self, card: Candidate, day: int) -> Recall:
        """Draw a rating by the chance of recall; a new key's by how its phrase holds."""
        luck, kind = self.dice.random(), self.dice.random()
        decay, factor = curve(self.rules.weights)
        if card.opened:
            if luck >= chance(card.stability, day - card.last_day, decay, factor):
                return Recall.LOST
            if kind < self.habits.rough:
                return Recall.ROUGH
            return Recall.FLUENT if kind >= 1 - self.habits.fluent else Recall.CLEAN
        held = [
            chance(each.stability, day - each.last_day, decay, factor)
            for each in map(self.cards.__getitem__, self.of_phrase[card.phrase_id])
            if each.opened
        ]
        if luck >= first_try(held):
            return Recall.LOST if kind < self.habits.lost else Recall.ROUGH
        return Recall.FLUENT if kind >= 1 - self.habits.fluent else Recall.CLEAN

    def _seconds(self, card: Candidate) -> float:
        return expected_seconds(card.quarters, card.tempo, self.pace, self.rules)


def _memory(card: Candidate) -> MemoryState | None:
    if not card.opened:
        return None
    return MemoryState(card.stability, card.difficulty, date.fromordinal(card.last_day))
