"""Phrases: stored all or none, found by what a player types, put aside and taken back."""

from __future__ import annotations

import shlex
from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from drillbox.errors import BadInput, NotFound
from drillbox.memory.recall import Recall
from drillbox.music.analysis.whole import analyse
from drillbox.music.keys import Key
from drillbox.music.phrases import folded_title
from drillbox.music.pitch import Name
from drillbox.store.access import Store
from drillbox.store.card_rows import candidates, cards_of
from drillbox.store.log import Kept, keep_turns, kept_turns
from drillbox.store.naming import pasted
from drillbox.store.phrase_rows import (
    add_phrases,
    all_titles,
    delete_phrase,
    find_phrase,
    list_phrases,
    phrase,
    restore_phrase,
    retire_phrase,
)
from drillbox.store.setting_rows import set_setting
from drillbox.store.sql import ATTEMPT, CARD, HEARD, KEPT, change, query
from tests.store.making import CHART, DAY, LINE, NOW, add, go, new_phrase, session


def test_a_phrase_comes_back_as_it_went_in(store: Store) -> None:
    """Every value of a phrase survives the store exactly."""
    new = replace(new_phrase(), phrase=replace(new_phrase().phrase, double_time=True))
    (stored,) = add_phrases(store, [new], NOW)
    assert phrase(store, stored.id) == stored
    assert stored.phrase == new.phrase
    assert (stored.order, stored.added_at, stored.retired_at) == ("fourths", NOW, None)
    assert stored.analysis() is None
    assert len(stored.uid) == 32


def test_its_analysis_comes_back(store: Store) -> None:
    """What was found in the line when it came in is read, not found again."""
    new = new_phrase()
    found = analyse(new.phrase)
    (stored,) = add_phrases(store, [replace(new, analysis=found)], NOW)
    assert stored.analysis() == found
    assert phrase(store, stored.id).analysis() == found
    assert stored.title == "Late kettle"


def test_an_analysis_of_other_rules_is_not_believed(store: Store) -> None:
    """What an older version has found is left aside, to be found anew from the line."""
    new = new_phrase()
    (stored,) = add_phrases(store, [replace(new, analysis=analyse(new.phrase))], NOW)
    assert stored.analysis_document
    older = {**stored.analysis_document, "rules": 1}
    assert replace(stored, analysis_document=older).analysis() is None


def test_its_cards_come_back_in_the_order_of_opening(store: Store) -> None:
    """Twelve cards, written key first, each with chart and line and an untried state."""
    (stored,) = add(store, "Late kettle")
    cards = cards_of(store, stored.id)
    assert [each.key.text() for each in cards] == [
        "Bb", "Eb", "Ab", "Db", "Gb", "B", "E", "A", "D", "G", "C", "F",
    ]  # fmt: skip
    assert [each.position for each in cards] == list(range(12))
    assert all(each.chart == CHART and each.line == LINE for each in cards)
    # 60 % of 132 is 79.2.
    assert {each.state.tempo.tempo for each in cards} == {79}
    assert {each.opened_day for each in cards} == {None}


def test_its_cards_begin_at_the_share_of_its_goal_that_is_set(store: Store) -> None:
    """By another setting than the usual 60 %: half of 132."""
    set_setting(store, "start_tempo", 0.5)
    (stored,) = add_phrases(store, [new_phrase()], NOW)
    assert {each.state.tempo.tempo for each in cards_of(store, stored.id)} == {66}


@pytest.mark.parametrize("again", ["Late kettle", "LATE  KETTLE ", "late kettle"])
def test_a_taken_title_is_refused_whatever_its_case(store: Store, again: str) -> None:
    """The same title with other capitals or blanks is the same title."""
    add(store, "Late kettle")
    with pytest.raises(BadInput, match="There is a phrase 'Late kettle' already"):
        add(store, again)


def test_one_taken_title_keeps_all_out(store: Store) -> None:
    """Of several phrases all are stored or none."""
    add(store, "Late kettle")
    with pytest.raises(BadInput):
        add(store, "Blue door", "late kettle")
    with pytest.raises(BadInput):
        add(store, "Stone step", "stone STEP")
    assert all_titles(store) == ["Late kettle"]
    assert len(candidates(store)) == 12


def test_lists_hold_what_each_phrase_came_to(store: Store) -> None:
    """Cards, opened ones, attempts, the latest day and the next due day are counted."""
    first, second = add(store, "Late kettle", "Blue door")
    at = session(store)
    one, two, *_ = cards_of(store, first.id)
    go(store, one.id, at, (Recall.LOST, Recall.CLEAN))
    go(store, two.id, at, day=DAY + timedelta(days=1))
    kettle, door = list_phrases(store)
    assert (kettle.title, kettle.cards, kettle.opened, kettle.attempts) == ("Late kettle", 12, 2, 3)
    assert (kettle.last_day, kettle.next_due) == (DAY + timedelta(days=1), DAY + timedelta(days=3))
    assert (door.id, door.opened, door.attempts, door.last_day) == (second.id, 0, 0, None)
    assert list_phrases(store, retired=True) == []


def test_retired_phrases_stay_out_until_they_are_restored(store: Store) -> None:
    """A retired phrase is offered no more, and back it is as it was."""
    first, second = add(store, "Late kettle", "Blue door")
    before = cards_of(store, first.id)
    retire_phrase(store, first.id, NOW)
    assert {each.phrase_id for each in candidates(store)} == {second.id}
    assert [each.title for each in list_phrases(store)] == ["Blue door"]
    assert [each.retired_at for each in list_phrases(store, retired=True)] == [NOW]
    assert phrase(store, first.id).retired
    retire_phrase(store, first.id, NOW + timedelta(days=9))
    assert phrase(store, first.id).retired_at == NOW  # the first time stands
    restore_phrase(store, first.id, NOW)
    assert not phrase(store, first.id).retired
    assert cards_of(store, first.id) == before


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        ("Late kettle", "Late kettle"),
        ("late KETTLE", "Late kettle"),
        ("Lat", "Late kettle"),
        ("2", "Blue door"),
        ("002", "Blue door"),
        ("12", "12"),
        ("Blue door", "Blue door"),
        ("blue door r", "Blue door revisited"),
    ],
)
def test_a_phrase_is_found_by_title_beginning_or_number(
    store: Store, typed: str, found: str
) -> None:
    """A whole title wins over a beginning, a beginning over a number."""
    add(store, "Late kettle", "Blue door", "Blue door revisited", "12")
    assert find_phrase(store, typed).title == found


def test_several_that_fit_are_named(store: Store) -> None:
    """A beginning that fits several phrases names them and picks none."""
    add(store, "Blue door", "Blue lamp", "Green lamp")
    with pytest.raises(NotFound) as caught:
        find_phrase(store, "blue")
    assert caught.value.what == "'blue' could be 'Blue door', 'Blue lamp'"


@pytest.mark.parametrize(
    ("typed", "in_practice", "retired"),
    [
        ("blue", "Blue lamp", "Blue door"),
        ("blue door", "Blue door", "Blue door"),
        ("green", "Green lamp", "Green lamp"),
        ("1", "Blue door", "Blue door"),
    ],
)
def test_a_beginning_means_the_kind_that_is_asked_for(
    store: Store, typed: str, in_practice: str, retired: str
) -> None:
    """One in practice, or one to be brought back; where there is none, one of the others."""
    first, *_ = add(store, "Blue door", "Blue lamp", "Green lamp")
    retire_phrase(store, first.id, NOW)
    assert find_phrase(store, typed).title == in_practice
    assert find_phrase(store, typed, retired=True).title == retired


def test_near_ones_are_named(store: Store) -> None:
    """A title mistyped names those near to it, and one that holds the words."""
    add(store, "Blue door", "Stone step")
    with pytest.raises(NotFound) as caught:
        find_phrase(store, "blu dor")
    assert caught.value.remedy == "Near it: 'Blue door'."
    with pytest.raises(NotFound) as caught:
        find_phrase(store, "step")
    assert caught.value.remedy == "Near it: 'Stone step'."


@pytest.mark.parametrize("typed", ["", "   ", "zzz", "99", "0", "²", "-1"])
def test_what_names_nothing_finds_nothing(store: Store, typed: str) -> None:
    """Blank, unknown and out-of-range names end in one clear failure."""
    add(store, "Blue door")
    with pytest.raises(NotFound):
        find_phrase(store, typed)
    with pytest.raises(NotFound):
        phrase(store, 99)


def test_an_empty_store_says_how_to_begin(store: Store) -> None:
    """Without any phrase the remedy is to add one."""
    with pytest.raises(NotFound, match="no phrase 'x'") as caught:
        find_phrase(store, "x")
    assert "drillbox add" in caught.value.remedy


@settings(max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    title=st.text(st.characters(exclude_categories=("Cs",), exclude_characters="\0"), min_size=1)
)
def test_any_title_is_kept_and_found_as_it_is(store: Store, title: str) -> None:
    """Quotes, SQL, escapes, markup and right-to-left marks are text and nothing else."""
    taken = {folded_title(each) for each in all_titles(store)}
    if not folded_title(title) or folded_title(title) in taken:
        return
    add(store, title)
    assert all_titles(store)[-1] == title
    assert find_phrase(store, title).title == title


@pytest.mark.parametrize(
    "title",
    [
        "'); DROP TABLE phrase; --",
        "\x1b[2J\x1b]0;gone\x07",
        "[bold red]loud[/]",
        "\u202egnol",
        "🎷" * 5000,
        "%s %(title)s :id ?",
        "-5 blues",
        "--help",
    ],
)
def test_hostile_titles_are_only_text(store: Store, title: str) -> None:
    """None of them runs, breaks a query or comes back changed, nor is pasted as an option."""
    add(store, title, "Blue door")
    (typed,) = shlex.split(pasted(title))
    assert not typed.startswith("-")
    assert find_phrase(store, title).title == find_phrase(store, typed).title == title
    assert all_titles(store) == [title, "Blue door"]


def test_a_deleted_phrase_is_gone_with_all_that_is_of_it(store: Store) -> None:
    """Whatever table points at its cards and attempts; other phrases keep theirs."""
    first, _ = add(store, "Late kettle", "Blue door")
    for card_id in (1, 13):
        (made,) = go(store, card_id, session(store))
        with store.write() as connection:
            values = {"attempt_id": made.id, "ear": "midi", "proposed": None, "other": None,
                      "features": {}}  # fmt: skip
            connection.execute(change(HEARD.insert()), values)
        keep_turns(store, [Kept(card_id, "x", 1, 0, [])])
    delete_phrase(store, first.id, NOW)
    assert all_titles(store) == ["Blue door"]
    with store.read() as connection:
        for table in (CARD, ATTEMPT, HEARD, KEPT):
            found = connection.execute(query(f"SELECT count(*) FROM {table.name}")).scalar()
            assert found == (12 if table is CARD else 1)
    with pytest.raises(NotFound):
        delete_phrase(store, first.id, NOW)
    keep_turns(store, [Kept(card_id, "y", 1, 0, []) for card_id in (1, 13)])  # replayed meanwhile
    assert {card_id: kept.rules for card_id, kept in kept_turns(store).items()} == {13: "y"}


def test_a_phrase_in_a_key_that_no_signature_holds_is_refused(store: Store) -> None:
    """What a row couldn't be read with isn't written: F flat major."""
    new = new_phrase()
    far = replace(new, phrase=replace(new.phrase, key=Key(Name("F", -1))))
    with pytest.raises(BadInput, match="Fb would need more accidentals"):
        add_phrases(store, [far], NOW)
    assert list_phrases(store) == []
