"""Evidence: first tries of a day with what made them easier or harder, counted by SQL."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest

from drillbox.memory.recall import Recall
from drillbox.store import first_tries as module
from drillbox.store.access import Store
from drillbox.store.card_rows import card, record_attempt
from drillbox.store.first_tries import Evidence, cards_by_key, evidence, open_cards, phrase_titles
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import retire_phrase
from drillbox.store.reckoning import undo_attempt
from drillbox.store.values import NewAttempt
from tests.bench.big_store import NOW as BIG_NOW
from tests.bench.big_store import TODAY as BIG_TODAY
from tests.bench.big_store import Size, build
from tests.store.making import DAY, NOW, ZONE, add, go, session, step

C, L, F = Recall.CLEAN, Recall.LOST, Recall.FLUENT


def on(store: Store, card_id: int, days: int, *recalls: Recall) -> None:
    at = session(store)
    go(store, card_id, at, recalls, at=NOW + timedelta(days=days), day=DAY + timedelta(days=days))


@pytest.fixture
def played(store: Store) -> Store:
    """One card on three days: lost, then clean on the same day; clean 2 days on; lost 5 later."""
    add(store, "Late kettle", "Blue door")
    on(store, 1, 0, L, C, C)
    on(store, 1, 2, C)
    on(store, 1, 7, L, F)
    return store


def test_only_the_first_attempt_of_a_day_is_evidence(played: Store) -> None:
    """Three tries, one of them recalled: warming up and coming back don't count."""
    rows, fine = evidence(played, DAY + timedelta(days=7), DAY, 90)
    assert fine
    assert sum(row.total for row in rows) == 3
    assert sum(row.recalled for row in rows) == 1


def test_each_try_knows_its_gap_its_tempo_and_its_age(played: Store) -> None:
    """Days since the try before (none at first), the tempo shown, days until today."""
    rows, _ = evidence(played, DAY + timedelta(days=10), DAY, 90)
    by_age = sorted(rows, key=lambda row: -row.age)
    assert [(row.days, row.age, row.recalled) for row in by_age] == [
        (None, 10.0, 0), (2.0, 8.0, 1), (5.0, 3.0, 0),
    ]  # fmt: skip
    assert by_age[0].tempo == 79.0  # six tenths of the goal of 132
    assert {row.hint for row in rows} == {0}


def test_a_try_before_the_window_still_tells_the_gap(played: Store) -> None:
    """With the window open since day 7, the gap to day 2 is five days, not unknown."""
    rows, _ = evidence(played, DAY + timedelta(days=7), DAY + timedelta(days=7), 90)
    assert [(row.total, row.days, row.age) for row in rows] == [(1, 5.0, 0.0)]


def test_an_undone_attempt_is_no_evidence(store: Store) -> None:
    """Taken back, it never was; the next attempt of the day is then the first."""
    add(store, "Late kettle")
    at = session(store)
    (wrong,) = go(store, 1, at, (L,))
    undo_attempt(store, wrong.uid, NOW)
    go(store, 1, at, (C,))
    rows, _ = evidence(store, DAY, DAY, 90)
    assert rows == [Evidence(1, 0, 1, 1, 79.0, None, 0.0)]


def test_a_clock_that_was_ahead_gives_no_attempt_more_weight(played: Store) -> None:
    """Seen from day 1, what was played on later days is as old as today's, not younger."""
    rows, _ = evidence(played, DAY + timedelta(days=1), DAY, 90)
    assert sorted(row.age for row in rows) == [0.0, 0.0, 1.0]


def test_tries_with_a_hint_stand_apart(store: Store) -> None:
    """Whatever the hint, it is told by 1 (these two are alike else); without one, 0."""
    add(store, "Late kettle")
    at = session(store)
    for day, hint in enumerate((0, 1, 3)):
        before = card(store, 1).state
        attempted, after = step(before, Recall.ROUGH, DAY + timedelta(days=day))
        alike = attempted._replace(hint=hint, tempo=72)
        new = NewAttempt(1, at, NOW + timedelta(days=day), ZONE, alike, before.attempts)
        record_attempt(store, new, after)
    rows, _ = evidence(store, DAY + timedelta(days=2), DAY, 90)
    assert sorted((row.age, row.hint) for row in rows) == [(0.5, 1), (2.0, 0)]


def test_lumped_rows_hold_the_same_counts(played: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where there is too much to keep apart, sums by card are what they were."""
    today = DAY + timedelta(days=30)
    fine, _ = evidence(played, today, DAY, 90)
    monkeypatch.setattr(module, "FINE", 2)
    coarse, is_fine = evidence(played, today, DAY, 90)
    assert not is_fine
    # The first try ever stands apart: it has no gap.
    assert sorted((row.total, row.recalled, row.days) for row in coarse if row.days) == [
        (2, 1, 3.5)
    ]
    assert sum(row.total for row in coarse) == sum(row.total for row in fine) == 3


def test_lumping_keeps_the_last_week_apart(played: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """What was played in the last seven days is never mixed with what was before."""
    monkeypatch.setattr(module, "FINE", 0)
    rows, _ = evidence(played, DAY + timedelta(days=10), DAY, 90)
    assert sorted((row.age, row.total) for row in rows) == [(3.0, 1), (8.0, 1), (10.0, 1)]


def test_counts_on_a_bigger_store(tmp_path: Path) -> None:
    """On 3,000 attempts, fine and lumped rows count the same tries of each card."""
    path = build(tmp_path / "big.sqlite3", Size(phrases=5, attempts=3000, seed=4))
    with open_store(path, now=BIG_NOW, backups=False) as store:
        fine, _ = evidence(store, BIG_TODAY, date(2020, 1, 1), 90)
        sums: dict[int, int] = {}
        for row in fine:
            sums[row.card_id] = sums.get(row.card_id, 0) + row.total
        with store.read() as connection:
            by_sql = connection.exec_driver_sql(
                "SELECT card_id, count(DISTINCT day) FROM attempt GROUP BY card_id"
            ).all()
        assert sums == dict(map(tuple, by_sql))


def test_open_cards_are_those_attempted_of_phrases_in_practice(played: Store) -> None:
    """A card never played isn't open; a phrase put aside takes its cards with it."""
    on(played, 13, 0, C)
    assert [(each.id, each.key, each.goal, each.attempts) for each in open_cards(played)] == [
        (1, "Bb", 132, 6), (13, "Bb", 132, 1),
    ]  # fmt: skip
    retire_phrase(played, 1, NOW)
    assert [each.id for each in open_cards(played)] == [13]
    assert phrase_titles(played) == {2: "Blue door"}


def test_cards_are_counted_by_key(played: Store) -> None:
    """Twelve keys of two phrases; of one phrase where it is named."""
    assert len(cards_by_key(played)) == 12
    assert set(cards_by_key(played).values()) == {2}
    assert sum(cards_by_key(played, 2).values()) == 12
