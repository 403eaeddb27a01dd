"""Cards: which may come next, when they are due, and the player's note on them."""

from __future__ import annotations

from datetime import timedelta

import pytest

from drillbox.errors import NotFound
from drillbox.memory.candidates import candidate
from drillbox.memory.recall import Recall
from drillbox.music.keys import parse_key
from drillbox.store.access import Store
from drillbox.store.card_rows import (
    any_in_practice,
    candidates,
    card,
    cards_of,
    due_counts,
    set_note,
)
from drillbox.store.phrase_rows import retire_phrase
from tests.store.making import DAY, NOW, add, go, session
from tests.store.reading import opened_on


def test_candidates_are_the_cards_of_all_phrases_in_practice(store: Store) -> None:
    """All keys in their order, open ones and others; none of a retired phrase."""
    add(store, "Late kettle", "Blue door")
    at = session(store)
    go(store, 13, at, (Recall.LOST,))
    go(store, 14, at)
    assert [(each.phrase_id, each.position, each.begun) for each in candidates(store)] == [
        (phrase, position, phrase == 2 and position < 2)
        for phrase in (1, 2)
        for position in range(12)
    ]
    retire_phrase(store, 2, NOW)
    assert {each.phrase_id for each in candidates(store)} == {1}
    assert any_in_practice(store)
    retire_phrase(store, 1, NOW)
    assert not candidates(store)
    assert not any_in_practice(store)


def test_a_candidate_says_of_its_card_what_the_card_says(store: Store) -> None:
    """The flat values are those of the card's own state."""
    add(store, "Late kettle")
    go(store, 1, session(store), (Recall.LOST, Recall.FLUENT))
    for each in candidates(store):
        found = card(store, each.card_id)
        assert each == candidate(
            found.id,
            found.phrase_id,
            found.position,
            quarters=8.0,
            goal=132,
            state=found.state,
            key=each.key,
        )
        assert parse_key(each.key) == found.key


def test_picking_reads_no_chart(store: Store) -> None:
    """The query for candidates is answered by an index alone, so a big store stays quick."""
    from drillbox.store.card_rows import candidates_sql

    with store.read() as connection:
        plan = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {candidates_sql(sqlite=True)}").all()
    steps = [row[3] for row in plan if "card" in row[3]]
    assert steps
    assert all("USING COVERING INDEX ix_card_" in step for step in steps)


def test_due_days_are_counted_for_phrases_in_practice(store: Store) -> None:
    """Each day from the given one on, without what is overdue or retired."""
    add(store, "Late kettle", "Blue door")
    at = session(store)
    go(store, 1, at)
    go(store, 2, at)
    go(store, 3, at, day=DAY + timedelta(days=2))
    go(store, 13, at)
    third, fifth = DAY + timedelta(days=3), DAY + timedelta(days=5)
    assert due_counts(store, DAY) == {third: 3, fifth: 1}
    assert due_counts(store, third + timedelta(days=1)) == {fifth: 1}
    retire_phrase(store, 2, NOW)
    assert due_counts(store, DAY) == {third: 2, fifth: 1}
    assert opened_on(store, DAY) == 3
    assert opened_on(store, DAY + timedelta(days=2)) == 1


def test_a_card_knows_when_its_siblings_are_due(store: Store) -> None:
    """Other keys of the phrase, not the card itself and not other phrases."""
    add(store, "Late kettle", "Blue door")
    at = session(store)
    go(store, 1, at)
    go(store, 2, at, day=DAY + timedelta(days=1))
    go(store, 13, at, day=DAY + timedelta(days=7))
    assert card(store, 1).sibling_due == {DAY + timedelta(days=4)}
    assert card(store, 2).sibling_due == {DAY + timedelta(days=3)}
    assert card(store, 3).sibling_due == {DAY + timedelta(days=3), DAY + timedelta(days=4)}
    assert [each.sibling_due for each in cards_of(store, 1)] == [
        card(store, each.id).sibling_due for each in cards_of(store, 1)
    ]


def test_a_note_is_kept_and_taken_away(store: Store) -> None:
    """The player's own words, whatever they are."""
    add(store, "Late kettle")
    set_note(store, 4, "thumb; '[/]'", NOW)
    assert card(store, 4).note == "thumb; '[/]'"
    set_note(store, 4, None, NOW)
    assert card(store, 4).note is None


def test_no_such_card(store: Store) -> None:
    """A number that no card has is one clear failure; a phrase without cards has none."""
    with pytest.raises(NotFound, match="no card number 7"):
        card(store, 7)
    with pytest.raises(NotFound, match="no card number 7"):
        set_note(store, 7, "thumb", NOW)
    assert cards_of(store, 7) == []
