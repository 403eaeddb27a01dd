"""The days to come, played through by the drill's own decisions and the one model of chances.

Pure: no store and no clock. The same cards, day and seed always give the same days.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from random import Random
from typing import NamedTuple

from drillbox.memory.candidates import Candidate, Pace, Sitting, candidate, expected_seconds
from drillbox.memory.cards import (
    FIRST_STRIDE,
    Attempted,
    CardState,
    TempoState,
    first_tempo,
    is_cold,
    rate,
)
from drillbox.memory.chances import Chances
from drillbox.memory.choose import Go, next_go
from drillbox.memory.days import choose_due
from drillbox.memory.learning import Learned
from drillbox.memory.recall import MemoryState, Recall
from drillbox.memory.rules import Rules
from drillbox.memory.weakness import normal_quantile
from drillbox.tick import Tick, silent

REACH = 240  # of more cards only the phrases of those worth most are looked at: few others come
KEYS = 12  # cards of a phrase
SEED = 12
RUNS = 3
# What the runs take the player for differs by so much, in log-odds of a clean go (a standard
# deviation): the ranges held what simulated players came to in .7 to .85, without it in .2 to .5.
DOUBT = 0.7


class Habits(NamedTuple):
    """How this player rates: the share of fluent among clean goes, of lost among the others, and
    of clean among all that aren't fluent."""

    fluent: float = 0.25
    lost: float = 0.4
    clean: float = 0.6


ASSUMED = Habits()


class Figures(NamedTuple):
    """What one day came to; see ``Load``."""

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
        chances = Chances(self.learned, self.pool, day, self.rules)
        near = self._cards_that_may_come(chances)
        sitting = Sitting(minutes)
        while minutes > 0:  # a drill that is begun has one go at least
            pool = [self.cards[each] for each in near]
            go = next_go(pool, sitting, self.rules, self.pace, chances)
            if go is None:
                break
            card = self.cards[go.card_id]
            warmed = card.phrase_id in chances.warmed_up(sitting)
            recall = self._draw(chances.supposing(card, go.tempo, warmed=warmed))
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

    def _cards_that_may_come(self, chances: Chances) -> list[int]:
        """Return the cards that may come today: all, or those of the phrases that press most.

        Begun and new ones apart: many phrases that wait must not hide the few that are due.
        """
        if len(self.cards) <= REACH:
            return list(self.cards)
        pressing = sorted(self.pool, key=chances.worth, reverse=True)
        begun = [card for card in pressing if card.begun]
        new = [card for card in pressing if not card.begun]
        phrases = {card.phrase_id for card in [*begun[: REACH // 4], *new[: REACH // 4]]}
        return [each for phrase in sorted(phrases) for each in self.of_phrase[phrase]]

    def _draw(self, chance: float) -> Recall:
        luck, kind = self.dice.random(), self.dice.random()
        if self.learned.lenient:  # the chance is of what they call fluent
            if luck < chance:
                return Recall.FLUENT
            if self.dice.random() < self.habits.clean:
                return Recall.CLEAN
        elif luck < chance:
            return Recall.FLUENT if kind < self.habits.fluent else Recall.CLEAN
        return Recall.LOST if kind < self.habits.lost else Recall.ROUGH

    def _move(self, card: Candidate, go: Go, recall: Recall, day: date) -> None:
        """Take a card one go further, by the steps that a rating takes it in a drill."""
        before = self.states[card.card_id]
        attempted = Attempted(day, recall, go.tempo, 0, before.due or day)
        state = rate(before, attempted, card.goal, self.rules)
        if state.memory and is_cold(before, day):
            state = state._replace(due=self._due(card, before, state.memory))
        self.states[card.card_id] = state
        self.cards[card.card_id] = candidate(
            card.card_id, card.phrase_id, card.position,
            quarters=card.quarters, goal=card.goal, state=state, key=card.key,
        )  # fmt: skip

    def _due(self, card: Candidate, before: CardState, memory: MemoryState) -> date:
        if before.due:
            self.load[before.due] -= 1
        siblings = {
            date.fromordinal(self.cards[each].due)
            for each in self.of_phrase[card.phrase_id]
            if each != card.card_id and self.cards[each].due
        }
        due = choose_due(
            memory, self.rules, str(card.card_id), before.attempts, self.load, siblings
        )
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


class Range(NamedTuple):
    """A figure over the runs: its mean, and the lowest and the highest that came out."""

    mean: float
    low: float
    high: float


class Load(NamedTuple):
    """What a day brings: keys visited, goes, new keys, minutes; and how many keys have been
    started, stand at their goal tempo and are owned when it is over."""

    keys: Range
    goes: Range
    new: Range
    minutes: Range
    started: Range
    at_goal: Range
    owned: Range


class Forecast(NamedTuple):
    """The days to come, and for each phrase the first of them (from 0) at whose end all of its
    keys are owned, run by run; None where that comes later."""

    days: tuple[Load, ...]
    whole: Mapping[int, tuple[int | None, ...]]


class NewPhrase(NamedTuple):
    """A phrase that may be added: its chart's length in quarter notes and its goal tempo."""

    quarters: float
    goal: int


@dataclass(frozen=True, slots=True)
class Player:
    """What a forecast starts from: the cards as they stand, what the player's cold goes say, and
    how they rate. ``goal_runs`` has the cold clean goes at goal in a row of each card."""

    cards: Sequence[Candidate]
    goal_runs: Mapping[int, int]
    learned: Learned
    rules: Rules
    pace: Pace
    habits: Habits = ASSUMED


def forecast(
    player: Player,
    today: date,
    days: int,
    *,
    played_today: float = 0.0,
    adding: Sequence[NewPhrase] = (),
    runs: int = RUNS,
    tick: Tick = silent,
) -> Forecast:
    """Return what each of the next ``days`` days brings, the daily minutes drilled on each.

    Today has the minutes that are left of them after ``played_today``. Ratings are drawn by
    each card's chance at the tempo of the go; ``runs`` seeded runs are put together, which take
    the player for worse, just as good and better than their goes say. ``tick`` hears of days done.
    """
    cards = [*player.cards, *_cards_added(player, adding)]
    figures: list[list[tuple[float, ...]]] = [[] for _ in range(days)]
    whole: dict[int, list[int | None]] = defaultdict(list)
    for run in range(runs):
        playing = Simulated(
            cards, player.goal_runs, _taken_for(player.learned, run, runs), player.rules,
            player.pace, player.habits, Random(SEED + run),
        )  # fmt: skip
        reached: dict[int, int] = {}
        for number in range(days):
            tick(run * days + number, runs * days)
            minutes = max(0.0, player.rules.minutes - (0.0 if number else played_today))
            figures[number].append(playing.day(today.toordinal() + number, minutes))
            _note_whole(playing.pool, number, reached)
        for phrase in {card.phrase_id for card in player.cards}:
            whole[phrase].append(reached.get(phrase))
    return Forecast(
        tuple(_load(each) for each in figures),
        {phrase: tuple(found) for phrase, found in whole.items()},
    )


def _taken_for(learned: Learned, run: int, runs: int) -> Learned:
    """Return what one of the runs believes: the player is worse in the first than the cold goes
    say, better in the last."""
    off = DOUBT * normal_quantile((run + 0.5) / runs)
    return replace(learned, base=learned.base + off)


def _cards_added(player: Player, phrases: Sequence[NewPhrase]) -> list[Candidate]:
    """Return the cards of phrases that were never played."""
    base = max((card.phrase_id for card in player.cards), default=0) + 1
    return [
        Candidate(
            -1 - number * KEYS - position,  # numbers below 0 are no one else's
            base + number, position, each.quarters, each.goal,
            first_tempo(each.goal, player.rules.tempo), key=f"added {position}",
        )
        for number, each in enumerate(phrases)
        for position in range(KEYS)
    ]  # fmt: skip


def _note_whole(cards: Iterable[Candidate], day: int, reached: dict[int, int]) -> None:
    """Note the phrases of which every key is owned for the first time."""
    all_keys: Counter[int] = Counter()
    owned: Counter[int] = Counter()
    for card in cards:
        all_keys[card.phrase_id] += 1
        owned[card.phrase_id] += card.owned
    for phrase, count in all_keys.items():
        if owned[phrase] == count:
            reached.setdefault(phrase, day)


def _load(runs: Sequence[tuple[float, ...]]) -> Load:
    return Load(
        *(Range(sum(each) / len(each), min(each), max(each)) for each in zip(*runs, strict=True))
    )
