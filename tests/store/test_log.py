"""Sums by day and logs to replay: what SQL adds up is what the log says."""

from __future__ import annotations

from datetime import timedelta

import pytest

from drillbox.memory.recall import Recall
from drillbox.store.access import Store
from drillbox.store.log import (
    attempted_of,
    first_day,
    logs_of,
    opened_by_day,
    recall_counts,
    sums_by_day,
)
from drillbox.store.phrase_rows import retire_phrase
from tests.store.making import DAY, NOW, add, go, session
from tests.store.reading import attempts_of

LATER = DAY + timedelta(days=3)


@pytest.fixture
def played(store: Store) -> Store:
    add(store, "Late kettle", "Blue door")
    at = session(store)
    go(store, 1, at, (Recall.LOST, Recall.CLEAN))
    go(store, 13, at, (Recall.FLUENT,))
    go(store, 1, at, (Recall.ROUGH,), at=NOW + timedelta(days=3), day=LATER)
    return store


def test_days_are_summed(played: Store) -> None:
    """Attempts, seconds, first tries, and those recalled; 30.5 seconds each."""
    first, last = sums_by_day(played, DAY)
    assert (first.day, first.attempts, first.seconds) == (DAY, 3, 91.5)
    assert (first.tries, first.recalled) == (2, 1)
    assert first.tempo == pytest.approx((79 + 72 + 79) / 132)  # a rung of 7 down after lost
    assert (last.day, last.tries, last.recalled) == (LATER, 1, 0)
    assert sums_by_day(played, LATER) == [last]


def test_retired_phrases_were_practice_too(played: Store) -> None:
    """Putting a phrase aside takes no minutes from the past, but its keys from what is open."""
    retire_phrase(played, 1, NOW)
    assert sums_by_day(played, DAY)[0].attempts == 3
    assert opened_by_day(played) == {DAY: 1}


def test_the_first_day(store: Store, played: Store) -> None:
    """The day of the first attempt."""
    assert first_day(played) == DAY


def test_no_first_day_without_attempts(store: Store) -> None:
    """None where nothing was played."""
    assert first_day(store) is None


def test_recalls_of_first_tries_are_counted(played: Store) -> None:
    """One lost, one rough, one fluent; the clean one was a second try."""
    assert recall_counts(played, DAY) == {1: 1, 2: 1, 4: 1}


def test_logs_replay_in_order(played: Store) -> None:
    """A log is the card's attempts as they were made."""
    (log,) = logs_of(played, [1])
    assert log.goal == 132
    assert list(log.attempts) == [attempted_of(each) for each in attempts_of(played, 1)]
    assert [each.card_id for each in logs_of(played, [13, 2, 1])] == [1, 13]
