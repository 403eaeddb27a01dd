"""What is due on the days to come, and what more phrases would add."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from drillbox.memory.candidates import Candidate
from drillbox.memory.recall import Recall
from drillbox.practice import coming as module
from drillbox.practice.coming import USUAL, coming, like_yours
from drillbox.practice.forecast import ASSUMED, Habits, NewPhrase
from drillbox.practice.preferences import preferences_from
from drillbox.store.access import Store
from drillbox.store.cards import card
from tests.practice.past import NOW as PAST_NOW
from tests.store.making import DAY, NOW, add, go, session

SETTINGS = preferences_from({"zone": "UTC", "spread": "0"})


def test_an_empty_store_has_nothing_to_come(store: Store) -> None:
    """No cards on any day; the screen can tell it from a quiet fortnight."""
    found = coming(store, SETTINGS, NOW, 14, 0)
    assert not found.anything
    assert [each.cards for each in found.days] == [0] * 14


def test_scheduled_days_are_those_of_the_cards(store: Store) -> None:
    """Each card stands on its due day, with the seconds its chart takes; overdue is today."""
    add(store, "Late kettle", "Blue door")
    at = session(store)
    go(store, 1, at)
    go(store, 13, at, at=NOW + timedelta(days=2), day=DAY + timedelta(days=2))
    assert [card(store, n).state.due for n in (1, 13)] == [
        DAY + timedelta(days=3), DAY + timedelta(days=5),
    ]  # fmt: skip
    found = coming(store, SETTINGS, NOW + timedelta(days=2), 5, 0)
    assert [each.cards for each in found.days] == [0, 1, 0, 1, 0]
    # Two bars of 4/4 twice round at 79, and ten seconds besides.
    assert found.days[1].minutes == pytest.approx((2 * 8 * 60 / 79 + 10) / 60)
    late = coming(store, SETTINGS, NOW + timedelta(days=9), 2, 0)
    assert [each.cards for each in late.days] == [2, 0]


def test_what_is_expected_is_never_less_than_nothing_new(past: Store) -> None:
    """On the first day all that is scheduled is played; later days bring what comes back."""
    found = coming(past, SETTINGS, PAST_NOW, 14, 5)
    assert found.days[0].expected.cards >= found.days[0].cards
    later = found.days[7:]
    assert sum(each.expected.cards for each in later) > sum(each.cards for each in later)


def test_the_peak_is_the_busiest_day_after_today(past: Store) -> None:
    """Its minutes are the most of all days to come; with more phrases they aren't fewer."""
    found = coming(past, SETTINGS, PAST_NOW, 14, 5)
    after = found.days[1:]
    assert found.peak.minutes == max(each.expected.minutes for each in after)
    assert found.peak.day in {each.day for each in after}
    assert found.with_more is not None
    assert found.with_more.minutes > 0
    assert coming(past, SETTINGS, PAST_NOW, 14, 0).with_more is None
    assert coming(past, SETTINGS, PAST_NOW, 1, 0).peak.day == PAST_NOW.date()


def test_phrases_to_be_added_are_like_yours() -> None:
    """The median length and goal, each phrase counting once; assumed ones for a new player."""
    cards = [
        Candidate(number, phrase, 0, quarters, goal, 90)
        for number, (phrase, quarters, goal) in enumerate(
            [(1, 8.0, 100), (1, 8.0, 100), (1, 8.0, 100), (2, 16.0, 160), (3, 32.0, 180)]
        )
    ]
    assert like_yours(cards) == NewPhrase(16.0, 160)
    assert like_yours([]) == USUAL


def test_habits_are_the_players_own_once_there_are_enough(store: Store) -> None:
    """Shares of rough and fluent in what was kept, of lost in what failed."""
    add(store, "Late kettle")
    at = session(store)
    assert module._habits(store, DAY) == ASSUMED
    days = [Recall.ROUGH] * 5 + [Recall.CLEAN] * 10 + [Recall.FLUENT] * 5 + [Recall.LOST] * 15
    for number, recall in enumerate(days):
        day = DAY + timedelta(days=number)
        go(store, 1, at, (recall,), at=NOW + timedelta(days=number), day=day)
    assert module._habits(store, DAY + timedelta(days=40)) == Habits(0.25, 0.25, 0.75)
    assert module._habits(store, date(2027, 3, 1)) == ASSUMED
