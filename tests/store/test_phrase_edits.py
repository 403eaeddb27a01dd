"""Edits of phrases in the store: undone, begun afresh, merged."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from drillbox.errors import BadInput
from drillbox.practice.preferences import preferences_from
from drillbox.store.access import Store
from drillbox.store.card_rows import candidates, card_again, cards_of, due_counts
from drillbox.store.checks import check_store
from drillbox.store.merging import merge
from drillbox.store.opening import open_store
from drillbox.store.phrase_edits import (
    WRITTEN,
    Content,
    begin_afresh,
    change_phrase,
    former_of,
    last_edited,
    undo_afresh,
)
from drillbox.store.phrase_rows import (
    add_phrases,
    all_titles,
    check_there,
    delete_phrase,
    find_phrase,
    phrase,
    retire_phrase,
)
from drillbox.store.sql import PHRASE, change
from drillbox.store.values import NewPhrase
from tests.conftest import copied
from tests.store.making import DAY, NOW, add_in_keys, go, laid_out, new_phrase, session
from tests.store.reading import attempts_of, document, members_in

LATER = NOW + timedelta(hours=1)


@pytest.fixture
def other(empty: Path, tmp_path: Path) -> Iterator[Store]:
    """Return the store of a second computer."""
    place = copied(empty, tmp_path / "other.sqlite3")
    with open_store(place, now=NOW, backups=False) as store:
        yield store


def wanted(title: str = "Late kettle", **changes: object) -> NewPhrase:
    """Return the phrase of these tests with something else about it."""
    return replace(laid_out(new_phrase(title)), **changes)  # type: ignore[arg-type] # any of them


def take_in(store: Store, of: Store) -> None:
    merge(store, members_in(document(of)), preferences_from)


def test_tags_and_keys_put_aside_are_kept_and_exported(store: Store, other: Store) -> None:
    """Both come back from the store, and from another that imported it."""
    add_in_keys(store, "Late kettle")
    change_phrase(store, 1, wanted(tags=("blues", "duo"), aside=frozenset({6})), LATER)
    take_in(other, store)
    for each in (store, other):
        found = phrase(each, 1)
        assert (found.tags, found.aside) == (("blues", "duo"), frozenset({6}))
        assert [card.key.text() for card in cards_of(each, 1) if card.aside] == ["Gb"]
        assert len(candidates(each)) == 11
    assert document(store) == document(other)


def test_every_column_of_a_phrase_is_written_down_or_about_it() -> None:
    """A new one is told to edits, undo and merges, or set by them: else they would lose it."""
    made = {"id", "uid", "also", "folded", "analysis", "former"}
    times = {"added_at", "changed_at", "retired_at", "restored_at"}
    assert set(PHRASE.columns) == {*WRITTEN, *made, *times}


def test_a_key_put_aside_is_due_on_no_day(store: Store) -> None:
    """Its attempts stay; it is only not asked for."""
    add_in_keys(store, "Late kettle")
    card = cards_of(store, 1)[4]
    go(store, card.id, session(store))
    assert sum(due_counts(store, DAY).values()) == 1
    number = card.key.tonic.pitch_class
    change_phrase(store, 1, wanted(aside=frozenset({number})), LATER)
    assert due_counts(store, DAY) == {}
    assert len(attempts_of(store, card.id)) == 1


def test_the_later_edit_wins_on_both_computers(store: Store, other: Store) -> None:
    """Whoever imports first, tags, keys put aside and goal are those of the later edit."""
    add_in_keys(store, "Late kettle")
    take_in(other, store)
    change_phrase(store, 1, wanted(tags=("blues",)), LATER)
    later = wanted(aside=frozenset({0}), tags=("waltz",))
    change_phrase(other, 1, later, LATER + timedelta(minutes=1))
    take_in(store, other)
    take_in(other, store)
    assert document(store) == document(other)
    assert (phrase(store, 1).tags, phrase(store, 1).aside) == (("waltz",), frozenset({0}))
    former = former_of(store, 1)  # an undo brings the losing edit back, not what that replaced
    assert isinstance(former, Content)
    assert (former.phrase.title, former.tags, former.aside) == ("Late kettle", ("blues",), set())
    assert check_store(store) == []


def test_an_edit_keeps_what_it_replaced_once(store: Store) -> None:
    """The latest of all edits is known, and what the phrase was before it; undone it stays the
    latest, with nothing left to undo."""
    add_in_keys(store, "Late kettle", "Blue door")
    assert last_edited(store) is None
    change_phrase(store, 2, wanted("Red door"), LATER)
    change_phrase(store, 1, wanted("Early kettle"), LATER + timedelta(minutes=1))
    last = last_edited(store)
    assert last is not None
    assert last.title == "Early kettle"
    former = former_of(store, 1)
    assert former is not None
    assert not isinstance(former, str)
    assert former.phrase.title == "Late kettle"
    assert len(former.keys) == 12
    change_phrase(store, 1, wanted(), LATER + timedelta(minutes=2), undo=True)
    assert former_of(store, 1) is None
    last = last_edited(store)
    assert last is not None
    assert last.title == "Late kettle"
    minutes = timedelta(minutes=3)
    retire_phrase(store, 1, LATER + minutes)
    change_phrase(store, 2, wanted("Green door"), LATER + minutes)
    add_in_keys(store, "Late kettle", now=LATER + 2 * minutes)  # the retired one gives its title up
    assert "Late kettle (2)" in all_titles(store)
    last = last_edited(store)
    assert last is not None
    assert last.title == "Green door"


def test_the_last_edit_is_known_though_a_clock_was_ahead_before(store: Store) -> None:
    """An undo that names no phrase doesn't take back one that was made in a year to come."""
    add_in_keys(store, "Late kettle", "Blue door")
    change_phrase(store, 1, wanted("Early kettle"), LATER + timedelta(days=365))
    change_phrase(store, 2, wanted("Red door"), LATER)
    last = last_edited(store)
    assert last is not None
    assert last.title == "Red door"


@pytest.mark.parametrize("breaking", [False, True])
def test_an_edit_of_an_older_drillbox_leaves_octave_breaks_in_its_undo(
    store: Store, breaking: bool
) -> None:
    """It kept nothing of them, as none could change them."""
    add_phrases(store, [wanted(octave_breaks=breaking)], NOW)
    change_phrase(store, 1, wanted("Early kettle", octave_breaks=breaking), LATER)
    with store.write() as connection:
        words = "UPDATE phrase SET former = json_remove(former, '$.octave_breaks')"
        connection.execute(change(words))
    former = former_of(store, 1)
    assert isinstance(former, Content)
    assert (former.phrase.title, former.octave_breaks) == ("Late kettle", breaking)


def test_begun_afresh_nothing_is_remembered_and_nothing_lost(store: Store, other: Store) -> None:
    """The former phrase keeps its attempts, retired; a merge of both stores keeps it so."""
    add_in_keys(store, "Late kettle")
    go(store, cards_of(store, 1)[0].id, session(store))
    take_in(other, store)
    new = begin_afresh(store, 1, wanted(), LATER)
    assert new.title == "Late kettle"
    assert not any(card.state.attempts for card in cards_of(store, new.id))
    assert phrase(store, 1).retired
    assert phrase(store, 1).title == "Late kettle (2)"
    assert len(attempts_of(store, cards_of(store, 1)[0].id)) == 1
    take_in(other, store)
    take_in(store, other)
    assert document(store) == document(other)


@pytest.mark.parametrize("attempted", [False, True])
def test_beginning_afresh_is_taken_back(store: Store, attempted: bool) -> None:
    """The former phrase is in practice under its title; the other is gone, or retired if it
    was drilled meanwhile."""
    add_in_keys(store, "Late kettle")
    new = begin_afresh(store, 1, wanted(), LATER)
    if attempted:
        go(store, cards_of(store, new.id)[0].id, session(store))
    uid = former_of(store, new.id)
    assert isinstance(uid, str)
    back = undo_afresh(store, new.id, uid, LATER)
    assert back is not None
    assert (back.id, back.title, back.retired) == (1, "Late kettle", False)
    last = last_edited(store)
    assert last is not None
    assert former_of(store, last.id) is None
    assert all_titles(store) == ["Late kettle", *(["Late kettle (3)"] if attempted else [])]


def test_beginning_afresh_of_one_that_was_joined_with_it_is_not_taken_back(store: Store) -> None:
    """Another store knew both for one: what was before is gone, what there is stays."""
    add_in_keys(store, "Late kettle")
    uid = phrase(store, 1).uid
    new = begin_afresh(store, 1, wanted(), LATER)
    delete_phrase(store, 1, LATER)
    with store.write() as connection:
        words = change("UPDATE phrase SET also = :also WHERE id = :id")
        connection.execute(words, {"also": [uid], "id": new.id})
    assert undo_afresh(store, new.id, uid, LATER) is None
    assert phrase(store, new.id).title == new.title


@pytest.mark.parametrize(
    "damage", ["tags = 'null'", "chart = '[]'", "key = 'H'", "aside = '5'", "line = '7'"]
)
def test_what_was_damaged_before_an_import_mended_it_is_not_undone(
    store: Store, other: Store, damage: str
) -> None:
    """It is told where the undo is asked for; what there is stays."""
    add_in_keys(store, "Late kettle")
    take_in(other, store)
    change_phrase(other, 1, wanted(tags=("duo",)), LATER)
    with store.write() as connection:
        connection.execute(change(f"UPDATE phrase SET {damage}"))
    take_in(store, other)
    with pytest.raises(BadInput, match="What 'Late kettle' was before its last edit can't be read"):
        former_of(store, 1)
    assert phrase(store, 1).tags == ("duo",)


@pytest.mark.parametrize("former", [5, [7], {"at": 5}, {"at": "x"}, {"at": "2026-03-02"}])
def test_a_damaged_undo_of_one_phrase_stops_no_edit(store: Store, former: object) -> None:
    """Neither its own next one nor that of another, which is the last then."""
    add_in_keys(store, "Late kettle", "Side gate")
    change_phrase(store, 1, wanted(tags=("duo",)), LATER)
    with store.write() as connection:
        words = change("UPDATE phrase SET former = :former WHERE id = 1")
        connection.execute(words, {"former": former})
    assert change_phrase(store, 2, wanted("Side gate", tags=("trio",)), LATER).tags == ("trio",)
    last = last_edited(store)
    assert last is not None
    assert last.id == 2
    assert change_phrase(store, 1, wanted(tags=()), LATER).tags == ()


@pytest.mark.parametrize("also", [5, [[1]], {"a": 1}])
def test_damaged_uids_of_one_phrase_stop_no_edit(store: Store, also: object) -> None:
    """Both phrases can be looked for, read and played, and a check tells."""
    add_in_keys(store, "Late kettle", "Side gate")
    with store.write() as connection:
        words = change("UPDATE phrase SET also = :also WHERE id = 1")
        connection.execute(words, {"also": also})
    for each in (1, 2):
        check_there(store, phrase(store, each))
        (read, *_) = cards_of(store, each)
        assert card_again(store, read) == read
    assert any("also" in each.text for each in check_store(store))


def test_a_retired_phrase_gives_its_title_away(store: Store) -> None:
    """The new one has it, the old one a number; in practice a title stays taken."""
    add_in_keys(store, "Late kettle")
    with pytest.raises(BadInput):
        add_phrases(store, [new_phrase("late KETTLE")], NOW)
    retire_phrase(store, 1, NOW)
    add_phrases(store, [new_phrase("late KETTLE")], LATER)
    assert all_titles(store) == ["Late kettle (2)", "late KETTLE"]
    assert find_phrase(store, "late").id == 2
