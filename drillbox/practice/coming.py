"""What is due on the days to come, what will come back, and what more phrases would add."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import partial
from statistics import median

from drillbox.memory.candidates import Candidate
from drillbox.memory.pace import Pace, expected_seconds
from drillbox.memory.rules import Rules
from drillbox.practice.drilling import pace_of
from drillbox.practice.forecast import ASSUMED, Habits, Load, NewPhrase, forecast
from drillbox.practice.library import today
from drillbox.practice.preferences import Preferences
from drillbox.store.access import Store
from drillbox.store.cards import candidates, opened_on
from drillbox.store.weeks import recall_counts
from drillbox.tick import Tick

ENOUGH = 20  # ratings before the player's own habits take the place of assumed ones
HABITS_OF = timedelta(days=90)
USUAL = NewPhrase(16.0, 140)  # four bars of 4/4, where the player has no phrase to go by
_MOST_RUNS = 8
_WORK = 40_000  # cards times days that are simulated at most, in whole runs; about a second


@dataclass(frozen=True, slots=True)
class Day:
    """One day to come: the cards scheduled now and their minutes, and what is expected in all."""

    day: date
    cards: int
    minutes: float
    expected: Load


@dataclass(frozen=True, slots=True)
class Peak:
    """The day after today that brings most (today, where no other was asked for), in minutes."""

    day: date
    minutes: float


@dataclass(frozen=True, slots=True)
class Coming:
    """The days to come. ``with_more`` is the peak with ``adding`` more phrases, where asked for.

    ``new_a_day`` keys are opened a day at most.
    """

    days: tuple[Day, ...]
    peak: Peak
    adding: int
    with_more: Peak | None
    new_a_day: int
    anything: bool


def coming(
    store: Store,
    preferences: Preferences,
    now: datetime,
    days: int,
    adding: int,
    tick: Tick = lambda _done, _all: None,
) -> Coming:
    """Return the next ``days`` days as they are scheduled and as they will probably be.

    What is overdue counts for today. The simulation plays what is due each day and no more;
    ratings are drawn by each card's chance of recall, and all else follows as after a drill.
    """
    day, rules, pace = today(preferences, now), preferences.rules, pace_of(store, preferences)
    cards = candidates(store)
    play = partial(
        forecast,
        cards,
        day,
        days,
        rules,
        pace,
        habits=_habits(store, day),
        opened_today=opened_on(store, day),
        runs=max(1, min(_MOST_RUNS, _WORK // max(1, len(cards) * days))),
    )
    half = 2 if adding else 1
    expected = play(tick=lambda done, of: tick(done, half * of))
    more = None
    if adding:
        phrases = [like_yours(cards)] * adding
        more = play(adding=phrases, tick=lambda done, of: tick(done + of, half * of))
    scheduled = _scheduled(cards, day, days, pace, rules)
    return Coming(
        tuple(
            Day(day + timedelta(days=n), *scheduled[n], expected=load)
            for n, load in enumerate(expected)
        ),
        _peak(expected, day),
        adding,
        _peak(more, day) if more else None,
        rules.new_a_day,
        anything=bool(cards),
    )


def _scheduled(
    cards: Sequence[Candidate], today: date, days: int, pace: Pace, rules: Rules
) -> list[tuple[int, float]]:
    """Return the cards and minutes that are scheduled for each day now."""
    counts, seconds = [0] * days, [0.0] * days
    for card in cards:
        place = max(0, card.due - today.toordinal())
        if card.due and place < days:
            counts[place] += 1
            seconds[place] += expected_seconds(card.quarters, card.tempo, pace, rules)
    return [(count, each / 60) for count, each in zip(counts, seconds, strict=True)]


def like_yours(cards: Sequence[Candidate]) -> NewPhrase:
    """Return a phrase such as the player's are: of the median length, at the median goal."""
    phrases = {card.phrase_id: card for card in cards}.values()
    if not phrases:
        return USUAL
    return NewPhrase(
        median(card.quarters for card in phrases), round(median(card.goal for card in phrases))
    )


def _habits(store: Store, today: date) -> Habits:
    """Return how the player has rated of late; assumed habits where there are too few ratings."""
    counts = recall_counts(store, today - HABITS_OF)
    lost, rough, clean, fluent = (counts.get(recall, 0) for recall in range(1, 5))
    kept = rough + clean + fluent
    if kept < ENOUGH:
        return ASSUMED
    return Habits(rough / kept, fluent / kept, lost / (lost + rough) if lost + rough else 0.5)


def _peak(loads: Sequence[Load], today: date) -> Peak:
    """Return the busiest day to come; the first of them where some are equal."""
    after = range(1, len(loads)) or range(1)  # what is overdue today says nothing of what comes
    place = max(after, key=lambda n: (loads[n].minutes, -n))
    return Peak(today + timedelta(days=place), loads[place].minutes)
