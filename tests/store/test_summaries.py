"""Summaries: counts in SQL equal counts by hand over the log."""

from __future__ import annotations

from collections import Counter
from datetime import timedelta
from pathlib import Path

import pytest

from drillbox.memory.recall import Recall
from drillbox.store.attempts import attempts_of, undo_attempt
from drillbox.store.cards import card
from drillbox.store.opening import Store, open_store
from drillbox.store.phrases import retire
from drillbox.store.summaries import day_counts, first_tries, tallies
from tests.bench.big_store import NOW as BIG_NOW
from tests.bench.big_store import Size, build
from tests.store.making import DAY, NOW, add, go, session

LATER = DAY + timedelta(days=1)


@pytest.fixture
def played(store: Store) -> Store:
    """Two phrases, five attempts at two cards on two days, one of them undone, one retired."""
    add(store, "Late kettle", "Blue door")
    at = session(store)
    go(store, 1, at, (Recall.LOST, Recall.CLEAN))
    go(store, 1, at, (Recall.FLUENT, Recall.ROUGH), at=NOW + timedelta(days=1), day=LATER)
    go(store, 13, at)
    before = card(store, 2).state
    (undone,) = go(store, 2, at)
    undo_attempt(store, undone.id, before, NOW)
    return store


def test_tallies_count_each_recall(played: Store) -> None:
    """By card, in the order of phrases and keys, undone attempts left out."""
    kettle, door = tallies(played)
    assert (kettle.lost, kettle.rough, kettle.clean, kettle.fluent) == (1, 1, 1, 1)
    assert (kettle.attempts, kettle.recalled) == (4, 2)
    assert (kettle.title, kettle.key, kettle.goal) == ("Late kettle", "Bb", 132)
    assert kettle.state == card(played, 1).state
    assert (door.card_id, door.attempts, door.recalled) == (13, 1, 1)


def test_tallies_of_recent_days(played: Store) -> None:
    """Only attempts from the given practice day on count."""
    (kettle,) = tallies(played, LATER)
    assert (kettle.lost, kettle.rough, kettle.clean, kettle.fluent) == (0, 1, 0, 1)


def test_retired_phrases_do_not_count(played: Store) -> None:
    """A phrase put aside is in no summary."""
    retire(played, 1, NOW)
    assert [each.title for each in tallies(played)] == ["Blue door"]
    assert [each.card_id for each in first_tries(played, DAY)] == [13]


def test_first_tries_are_one_a_card_and_day(played: Store) -> None:
    """The first attempt of a day, not the ones warmed up by it."""
    found = first_tries(played, DAY)
    assert [(each.card_id, each.day, each.recall) for each in found] == [
        (1, DAY, 1), (13, DAY, 3), (1, LATER, 4),
    ]  # fmt: skip
    assert found[0]._asdict() == {
        "card_id": 1, "phrase_id": 1, "key": "Bb", "day": DAY, "recall": 1, "tempo": 79,
        "goal": 132, "hint": 0,
    }  # fmt: skip
    assert len(first_tries(played, LATER)) == 1


def test_days_are_counted(played: Store) -> None:
    """Attempts a practice day."""
    assert day_counts(played, DAY) == {DAY: 3, LATER: 2}
    assert day_counts(played, LATER) == {LATER: 2}


def test_counts_hold_on_a_bigger_store(tmp_path: Path) -> None:
    """On 2,000 attempts SQL counts what Python counts."""
    path = build(tmp_path / "big.sqlite3", Size(phrases=4, attempts=2000, seed=3))
    with open_store(path, now=BIG_NOW) as store:
        found = tallies(store)
        assert sum(each.attempts for each in found) == 2000
        for each in found[:5]:
            by_hand = Counter(attempt.recall for attempt in attempts_of(store, each.card_id))
            assert (each.lost, each.rough, each.clean, each.fluent) == tuple(
                by_hand[recall] for recall in Recall
            )
