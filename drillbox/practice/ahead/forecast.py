"""The days to come, played through by the drill's own decisions and the one model of chances.

Pure: no store and no clock. The same cards, day and seed always give the same days.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from random import Random
from typing import NamedTuple

from drillbox.memory.candidates import Candidate
from drillbox.memory.learning import Learned
from drillbox.memory.pace import Pace
from drillbox.memory.rules import Rules
from drillbox.memory.tempo import first_tempo
from drillbox.practice.ahead.simulated import ASSUMED, Habits, Simulated
from drillbox.tick import Tick

KEYS = 12  # cards of a phrase
SEED = 12


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
    runs: int = 1,
    tick: Tick = lambda _done, _all: None,
) -> Forecast:
    """Return what each of the next ``days`` days brings, the daily minutes drilled on each.

    Today has the minutes that are left of them after ``played_today``. Ratings are drawn by
    each card's chance at the tempo of the go; ``runs`` seeded runs are put together. ``tick``
    hears of days done.
    """
    cards = [*player.cards, *_added(player, adding)]
    figures: list[list[tuple[float, ...]]] = [[] for _ in range(days)]
    whole: dict[int, list[int | None]] = defaultdict(list)
    for run in range(runs):
        playing = Simulated(
            cards, player.goal_runs, player.learned, player.rules, player.pace, player.habits,
            Random(SEED + run),
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


def _added(player: Player, phrases: Sequence[NewPhrase]) -> list[Candidate]:
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
