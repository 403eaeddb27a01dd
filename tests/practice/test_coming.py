"""What the drill will do on the days to come, and what more phrases would add."""

from __future__ import annotations

from datetime import date, timedelta

from drillbox.memory.candidates import Candidate, Pace
from drillbox.memory.forecasting import ASSUMED, Forecast, Habits, NewPhrase, Player
from drillbox.memory.learning import UNLEARNT
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules
from drillbox.practice.coming import (
    USUAL,
    Whole,
    coming,
    habits_of,
    phrases_owned_whole,
    usual_phrase,
)
from drillbox.practice.preferences import preferences_from
from drillbox.store.access import Store
from tests.practice.past import NOW as PAST_NOW
from tests.store.making import DAY, NOW, add, go, session

SETTINGS = preferences_from({"zone": "UTC", "spread": "0"})


def test_an_empty_store_has_nothing_to_come(store: Store) -> None:
    """No keys on any day; the screen can tell it from a quiet fortnight."""
    found = coming(store, SETTINGS, NOW, 14, 0)
    assert found.cards == 0
    assert [each.expected.keys.high for each in found.days] == [0] * 14


def test_the_minutes_are_used_and_keys_come_to_be_owned(past: Store) -> None:
    """While keys aren't owned each day takes the daily minutes, and more are owned in the end."""
    found = coming(past, SETTINGS, PAST_NOW, 14, 0)
    assert found.minutes == 20
    assert all(19 < each.expected.minutes.low <= 21 for each in found.days)
    assert found.days[-1].expected.owned.mean > found.owned
    assert found.with_more is None
    assert not found.guessed


def test_what_was_played_today_is_taken_off(store: Store) -> None:
    """With ten of the ten daily minutes played, nothing more is expected of today."""
    add(store, "Late kettle")
    at = session(store)
    for _ in range(20):  # of 30.5 seconds each
        go(store, 1, at)
    found = coming(store, preferences_from({"zone": "UTC", "minutes": 10}), NOW, 2, 0)
    assert [each.expected.goes.high > 0 for each in found.days] == [False, True]


def test_more_phrases_start_more_keys(store: Store) -> None:
    """A player of one phrase begins the keys of others, in the same minutes."""
    add(store, "Late kettle")
    go(store, 1, session(store))
    found = coming(store, SETTINGS, NOW, 7, 2)
    assert found.with_more is not None
    assert found.with_more.started.mean > found.days[-1].expected.started.mean
    assert found.guessed  # one go tells nothing of the player
    assert found.with_more.minutes.mean <= 20.5


def test_when_a_phrase_is_owned_in_all_keys() -> None:
    """From the earliest run to the latest; open at the end where one run didn't come so far,
    left out where most didn't or where it is so already."""
    cards = [Candidate(n, n, 0, 8.0, 100, 90, owned=n == 4) for n in range(1, 5)]
    player = Player(cards, {}, UNLEARNT, Rules(), Pace())
    runs = {1: (9, 5, 7), 2: (3, None, 4), 3: (None, None, 2), 4: (0, 0, 0)}
    titles = {1: "One", 2: "Two", 3: "Three", 4: "Four"}
    assert phrases_owned_whole(Forecast((), runs), titles, player, DAY) == (
        Whole("Two", DAY + timedelta(days=3), None),
        Whole("One", DAY + timedelta(days=5), DAY + timedelta(days=9)),
    )


def test_phrases_to_be_added_are_like_yours() -> None:
    """The median length and goal, each phrase counting once; assumed ones for a new player."""
    cards = [
        Candidate(number, phrase, 0, quarters, goal, 90)
        for number, (phrase, quarters, goal) in enumerate(
            [(1, 8.0, 100), (1, 8.0, 100), (1, 8.0, 100), (2, 16.0, 160), (3, 32.0, 180)]
        )
    ]
    assert usual_phrase(cards) == NewPhrase(16.0, 160)
    assert usual_phrase([]) == USUAL


def test_habits_are_the_players_own_once_there_are_enough(store: Store) -> None:
    """Shares of fluent in what came out clean, of lost in what didn't, and of clean in what wasn't
    fluent."""
    add(store, "Late kettle")
    at = session(store)
    assert habits_of(store, DAY) == ASSUMED
    days = [Recall.ROUGH] * 5 + [Recall.CLEAN] * 15 + [Recall.FLUENT] * 5 + [Recall.LOST] * 15
    for number, recall in enumerate(days):
        day = DAY + timedelta(days=number)
        go(store, 1, at, (recall,), at=NOW + timedelta(days=number), day=day)
    assert habits_of(store, DAY + timedelta(days=40)) == Habits(0.25, 0.75, 15 / 35)
    assert habits_of(store, date(2027, 3, 1)) == ASSUMED
