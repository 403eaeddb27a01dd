"""Edits and their undo: laws over any order of both."""

from __future__ import annotations

from datetime import timedelta
from functools import partial
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from drillbox.errors import BadInput, NotFound
from drillbox.practice.deleting import delete_phrase
from drillbox.practice.editing import Wanted, carry_out, plan_edit, undo_edit
from drillbox.practice.preferences import preferences_from
from drillbox.store.access import Store
from drillbox.store.card_rows import cards_of
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import delete_phrase as remove_phrase
from drillbox.store.phrase_rows import find_phrase, phrases_in_practice
from drillbox.store.sql import change
from tests.conftest import copied
from tests.store.making import NOW, add_in_keys, go, session

PREFERENCES = preferences_from({"zone": "UTC"})
TITLES = ("Late kettle", "Blue door")
KEYS = ("Bb", "F", "Eb")
DEEDS = ("goal", "key", "play", "undo")


def in_practice(store: Store) -> list[tuple[str, str, int]]:
    """Return title, key and goal of the phrases that are drilled, by title."""
    found = [phrase for _, phrase in phrases_in_practice(store)]
    return sorted((each.title, each.key.text(), each.tempo) for each in found)


def edit(store: Store, title: str, wanted: Wanted, hour: int) -> bool:
    """Edit a phrase in practice; return whether that changed anything."""
    plan = plan_edit(store, PREFERENCES, find_phrase(store, title), wanted)
    if not plan.nothing:
        carry_out(store, plan, NOW + timedelta(hours=hour))
    return not plan.nothing


@pytest.mark.parametrize("another", [False, True])
def test_what_is_gone_while_the_player_is_asked_is_told(store: Store, another: bool) -> None:
    """Be it to start over or to be deleted; another phrase that has its number since stays."""
    add_in_keys(store, TITLES[0])
    go(store, 1, session(store))
    record = find_phrase(store, TITLES[0])
    plan = plan_edit(store, PREFERENCES, record, Wanted(afresh=True))
    remove_phrase(store, 1, NOW)
    if another:
        add_in_keys(store, TITLES[1])
        assert find_phrase(store, TITLES[1]).id == record.id
    there = in_practice(store)
    for deed in (partial(carry_out, store, plan, NOW), partial(delete_phrase, store, record, NOW)):
        with pytest.raises(NotFound, match="'Late kettle' isn't there any more"):
            deed()
    assert in_practice(store) == there


def test_what_was_joined_with_another_while_the_player_is_asked_is_not_deleted(
    store: Store,
) -> None:
    """It is part of the other one now, by an import; what has its number since stays as well."""
    add_in_keys(store, *TITLES)
    record = find_phrase(store, TITLES[1])
    remove_phrase(store, record.id, NOW)
    add_in_keys(store, "Side gate")
    assert find_phrase(store, "Side gate").id == record.id
    with store.write() as connection:
        words = change("UPDATE phrase SET also = :also WHERE id = 1")
        connection.execute(words, {"also": [record.uid]})
    there = in_practice(store)
    with pytest.raises(NotFound, match="'Blue door' isn't there any more"):
        delete_phrase(store, record, NOW)
    assert in_practice(store) == there


@settings(max_examples=5, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(st.sampled_from(TITLES), st.sampled_from(DEEDS)), max_size=10))
@example([(TITLES[0], each) for each in ("play", "key", "play", "key", "goal", "undo", "undo")])
def test_an_undo_takes_the_last_edit_back_and_never_another(
    empty: Path, tmp_path_factory: pytest.TempPathFactory, deeds: list[tuple[str, str]]
) -> None:
    """Both phrases are drilled once, as they were before the last edit; asked again, nothing is
    done."""
    place = copied(empty, tmp_path_factory.mktemp("edits") / "store.sqlite3")
    with open_store(place, now=NOW, backups=False) as store:
        add_in_keys(store, *TITLES)
        before: list[tuple[str, str, int]] | None = None
        for hour, (title, deed) in enumerate(deeds):
            there = in_practice(store)
            if deed == "play":
                at = NOW + timedelta(hours=hour)
                card = cards_of(store, find_phrase(store, title).id)[0]
                go(store, card.id, session(store, at), at=at)
            elif deed != "undo":
                other = KEYS[hour % 3] if deed == "key" else None
                goal = str(100 + hour) if deed == "goal" else None
                before = there if edit(store, title, Wanted(key=other, goal=goal), hour) else before
            elif before is None:
                with pytest.raises(BadInput):
                    undo_edit(store, PREFERENCES, None, NOW + timedelta(hours=hour))
                assert in_practice(store) == there
            else:
                undo_edit(store, PREFERENCES, None, NOW + timedelta(hours=hour))
                assert in_practice(store) == before
                before = None
            assert [each[0] for each in in_practice(store)] == sorted(TITLES)
