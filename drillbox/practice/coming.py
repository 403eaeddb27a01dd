"""What the drill will do on the days to come, and what more phrases would add."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from statistics import median

from drillbox.memory.candidates import Candidate, expected_seconds
from drillbox.memory.chances import Chances
from drillbox.memory.forecasting import (
    ASSUMED,
    RUNS,
    Forecast,
    Habits,
    Load,
    NewPhrase,
    Player,
    Range,
    forecast,
)
from drillbox.memory.learning import UNLEARNT
from drillbox.practice.preferences import Preferences
from drillbox.practice.readiness import chances_of, pace_of
from drillbox.store.access import Store
from drillbox.store.card_rows import candidates
from drillbox.store.first_tries import open_cards, phrase_titles
from drillbox.store.log import recall_counts, sums_by_day
from drillbox.tick import Tick, silent, stage

ENOUGH = 20  # ratings before the player's own habits take the place of assumed ones
HABITS_OF = timedelta(days=90)
USUAL = NewPhrase(16.0, 140)  # four bars of 4/4, where the player has no phrase to go by


@dataclass(frozen=True, slots=True)
class Day:
    """One day to come, and what it will bring."""

    day: date
    expected: Load


@dataclass(frozen=True, slots=True)
class Whole:
    """When a phrase is owned in all of its keys: ``earliest`` to ``latest`` over the runs.

    ``latest`` is None where it came later than the days looked at in some of them.
    """

    title: str
    earliest: date
    latest: date | None


@dataclass(frozen=True, slots=True)
class Coming:
    """The days to come, of ``minutes`` of practice each.

    ``with_more`` is the last of them with ``adding`` more phrases, where that was asked for.
    ``cards`` are all keys of the phrases in practice, ``owned`` and ``at_goal`` those of them
    that are so today. ``guessed``: there are too few goes to learn from, so it rests on what is
    assumed of any player.
    """

    days: tuple[Day, ...]
    whole: tuple[Whole, ...]
    minutes: int
    cards: int
    owned: int
    at_goal: int
    adding: int
    with_more: Load | None
    guessed: bool


def coming(
    store: Store,
    preferences: Preferences,
    now: datetime,
    days: int,
    adding: int,
    tick: Tick = silent,
) -> Coming:
    """Return what the drill will do on the next ``days`` days, the daily minutes played on each.

    The days are played through in advance: see ``forecast``.
    """
    day = preferences.today(now)
    cards = candidates(store)
    player = player_of(store, preferences, day, chances_of(store, preferences.rules, day, cards),
                       cards)  # fmt: skip
    played, parts = minutes_played(store, day), 2 if adding else 1
    found = forecast(player, day, days, played_today=played,
                     tick=stage(tick, 0, parts))  # fmt: skip
    more = None
    if adding:
        phrases = [usual_phrase(cards)] * adding
        more = forecast(player, day, days, played_today=played, adding=phrases,
                        tick=stage(tick, 1, parts))  # fmt: skip
    return Coming(
        tuple(Day(day + timedelta(days=n), load) for n, load in enumerate(found.days)),
        phrases_owned_whole(found, phrase_titles(store), player, day),
        player.rules.minutes,
        len(cards),
        sum(card.owned for card in cards),
        sum(card.begun and card.at_goal for card in cards),
        adding,
        more.days[-1] if more else None,
        player.learned is UNLEARNT,
    )


def player_of(
    store: Store, preferences: Preferences, day: date, chances: Chances, cards: Sequence[Candidate]
) -> Player:
    """Return what a forecast starts from on a day."""
    return Player(
        cards,
        {each.id: each.goal_run for each in open_cards(store)},
        chances.learned,
        preferences.rules,
        pace_of(store, preferences),
        habits_of(store, day),
    )


def work_a_day(player: Player) -> float:
    """Return what a day's forecast costs, in choices of a go, about: its goes, and the cards of
    which each is looked at once."""
    if not player.cards:
        return 0.0
    each = median(
        expected_seconds(card.quarters, card.tempo, player.pace, player.rules)
        for card in player.cards
    )
    return player.rules.minutes * 60 / each + len(player.cards) / 30


def minutes_played(store: Store, day: date) -> float:
    """Return the minutes that were played on a practice day."""
    return sum(each.seconds for each in sums_by_day(store, day) if each.day == day) / 60


def phrases_owned_whole(
    found: Forecast, titles: Mapping[int, str], player: Player, day: date
) -> tuple[Whole, ...]:
    """Return when phrases that aren't yet will be owned in all keys, the earliest first.

    Left out are those that don't come so far in more than half of the runs.
    """
    owned = {card.phrase_id for card in player.cards} - {
        card.phrase_id for card in player.cards if not card.owned
    }
    said = []
    for phrase, runs in found.whole.items():
        reached = sorted(each for each in runs if each is not None)
        if phrase in owned or len(reached) * 2 <= len(runs):
            continue
        latest = day + timedelta(days=reached[-1]) if len(reached) == len(runs) else None
        said.append(Whole(titles[phrase], day + timedelta(days=reached[0]), latest))
    return tuple(sorted(said, key=lambda each: (each.earliest, each.latest or date.max)))


def usual_phrase(cards: Sequence[Candidate]) -> NewPhrase:
    """Return a phrase such as the player's are: of the median length, at the median goal."""
    phrases = {card.phrase_id: card for card in cards}.values()
    if not phrases:
        return USUAL
    return NewPhrase(
        median(card.quarters for card in phrases), round(median(card.goal for card in phrases))
    )


def habits_of(store: Store, today: date) -> Habits:
    """Return how the player has rated of late; assumed habits where there are too few ratings."""
    return habits_from(recall_counts(store, today - HABITS_OF))


def habits_from(counts: Mapping[int, int]) -> Habits:
    """Return how a player rates who has said each word so often; keys are 1 lost to 4 fluent."""
    lost, rough, clean, fluent = (counts.get(recall, 0) for recall in range(1, 5))
    if clean + fluent < ENOUGH:
        return ASSUMED
    missed = lost + rough
    return Habits(
        fluent / (clean + fluent),
        lost / missed if missed else ASSUMED.lost,
        clean / (clean + missed) if clean + missed else ASSUMED.clean,
    )


DAYS = (28, 14, 7)  # so many where they can be played through at once, else fewer
WORK = 4000  # choices of a go: under half a second


@dataclass(frozen=True, slots=True)
class Outlook:
    """How things stand after ``days`` days, at the end of ``day``, with ``minutes`` of practice on
    each: keys started, at goal tempo and owned; ``whole`` the phrases owned in all keys by then.
    ``guessed`` is as in ``Coming``."""

    days: int
    day: date
    minutes: int
    started: Range
    at_goal: Range
    owned: Range
    whole: tuple[Whole, ...]
    guessed: bool


def outlook(
    store: Store, preferences: Preferences, day: date, chances: Chances, pool: Sequence[Candidate]
) -> Outlook | None:
    """Return what the next days bring, None where playing them through would take too long."""
    player = player_of(store, preferences, day, chances, pool)
    work = RUNS * work_a_day(player)
    days = next((each for each in DAYS if each * work <= WORK), None)
    if days is None:
        return None
    found = forecast(player, day, days, played_today=minutes_played(store, day))
    last = found.days[-1]
    return Outlook(
        days,
        day + timedelta(days=days - 1),
        preferences.rules.minutes,
        last.started,
        last.at_goal,
        last.owned,
        phrases_owned_whole(found, phrase_titles(store), player, day),
        player.learned is UNLEARNT,
    )
