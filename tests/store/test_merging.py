"""Merging: nothing twice, nothing lost, and both computers come to the same log."""

from __future__ import annotations

import copy
import json
import shutil
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from drillbox.errors import UPDATE, BadInput
from drillbox.memory.cards import replay
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules
from drillbox.memory.tempo import TempoRules
from drillbox.store.attempts import attempts_of, undo_attempt
from drillbox.store.cards import candidates, card, cards_of, due_counts, set_note
from drillbox.store.checks import check_store
from drillbox.store.documents import document
from drillbox.store.evidence import evidence, open_cards
from drillbox.store.merging import merge
from drillbox.store.opening import Store, open_store
from drillbox.store.phrases import add_phrases, phrase, titles
from drillbox.store.sessions import end_session, open_sessions
from drillbox.store.settings import get_settings, set_setting
from tests.store.making import DAY, NOW, add, go, new_phrase, session
from tests.store.test_upgrading import RELEASED, released

RULES = Rules()
LATER = NOW + timedelta(days=2)


@pytest.fixture
def second(empty: Path, tmp_path: Path) -> Iterator[Store]:
    """The store of the player's other computer, empty."""
    place = tmp_path / "second.sqlite3"
    shutil.copyfile(empty, place)
    with open_store(place, now=NOW) as opened:
        yield opened


def through_text(store: Store) -> dict[str, Any]:
    """Return the store's document as it is after having been a file."""
    return json.loads(json.dumps(document(store)))


def plays(store: Store, card_id: int, *recalls: Recall, days: int = 0) -> None:
    """Rate a card in a session of its own, so many days from now."""
    at = NOW + timedelta(days=days)
    go(store, card_id, session(store, at), recalls, at=at, day=DAY + timedelta(days=days))


def logs(store: Store) -> dict[str, Any]:
    """Return what is known of every attempt and card, whatever number its row has."""
    data = document(store)
    cards = {(p["title"], c["key"]): c for p in data["phrases"] for c in p["cards"]}
    attempts = {
        a["uid"]: {name: a[name] for name in a if name != "phrase"} for a in data["attempts"]
    }
    return {
        "cards": cards,
        "attempts": attempts,
        "sessions": {s["uid"]: s for s in data["sessions"]},
    }


def test_an_empty_store_comes_to_equal_data_and_schedules(second: Store, tmp_path: Path) -> None:
    """Every value is the same, and so is all that the future depends on."""
    place = released(RELEASED[-1], tmp_path / "first.sqlite3")
    with open_store(place, now=NOW, backups=False) as first:
        merged = merge(second, through_text(first), RULES)
        assert (merged.phrases, merged.sessions, merged.attempts) == (3, 2, 8)
        assert document(second) == document(first)
        assert candidates(second) == candidates(first)
        assert due_counts(second, DAY) == due_counts(first, DAY)
        assert open_cards(second) == open_cards(first)
        assert evidence(second, DAY, DAY, 9.0) == evidence(first, DAY, DAY, 9.0)
        assert [cards_of(second, n) for n in (1, 2, 3)] == [cards_of(first, n) for n in (1, 2, 3)]
        assert get_settings(second) == get_settings(first)
        for card_id in (1, 2, 13, 14):
            assert [each.first_of_day for each in attempts_of(second, card_id)] == [
                each.first_of_day for each in attempts_of(first, card_id)
            ]
    assert check_store(second, RULES) == []


def test_states_of_former_rules_come_over_as_they_are(store: Store, second: Store) -> None:
    """A card whose whole log comes from one store isn't reckoned by other rules."""
    add(store, "Late kettle")
    plays(store, 1, Recall.CLEAN, Recall.CLEAN)
    other = replace(RULES, tempo=TempoRules(clean_in_a_row=1))
    merge(second, through_text(store), other)
    assert card(second, 1).state == card(store, 1).state


def test_importing_twice_changes_nothing(store: Store, second: Store) -> None:
    """The second time there is nothing to add, not even after playing on."""
    add(store, "Late kettle", "Blue door")
    plays(store, 1, Recall.LOST, Recall.CLEAN)
    data = through_text(store)
    assert not merge(second, data, RULES).nothing
    before = document(second)
    assert merge(second, data, RULES).nothing
    assert document(second) == before
    plays(second, 1, Recall.FLUENT, days=1)
    before = document(second)
    assert merge(second, data, RULES).nothing
    assert document(second) == before


def test_two_computers_come_to_the_same_log(store: Store, second: Store) -> None:
    """Attempts of both are united in the order of time and each card is replayed."""
    add(store, "Late kettle")
    plays(store, 1, Recall.CLEAN)
    merge(second, through_text(store), RULES)
    plays(store, 1, Recall.LOST, days=1)
    plays(second, 1, Recall.FLUENT, Recall.FLUENT, days=2)
    plays(second, 2, Recall.ROUGH, days=2)
    plays(store, 1, Recall.CLEAN, days=3)
    one, two = through_text(store), through_text(second)
    assert merge(store, two, RULES).attempts == 3
    assert merge(second, one, RULES).attempts == 2
    assert logs(store) == logs(second)
    log = attempts_of(store, 1)
    assert [each.recall for each in log] == [
        Recall.CLEAN, Recall.LOST, Recall.FLUENT, Recall.FLUENT, Recall.CLEAN,
    ]  # fmt: skip
    assert [each.first_of_day for each in log] == [True, True, True, False, True]
    assert card(store, 1).state == replay(132, [each.attempted() for each in log], RULES)
    assert check_store(store, RULES) == check_store(second, RULES) == []


def test_what_either_side_undid_stays_undone(store: Store, second: Store) -> None:
    """An attempt taken back on one computer is taken back on the other."""
    add(store, "Late kettle")
    before = card(store, 1)
    (made,) = go(store, 1, session(store))
    merge(second, through_text(store), RULES)
    undo_attempt(store, made.id, before.state, LATER)
    data = through_text(store)
    assert merge(second, data, RULES).undone == 1
    assert attempts_of(second, 1) == []
    assert card(second, 1) == before
    assert merge(second, data, RULES).nothing
    assert merge(store, through_text(second), RULES).nothing
    assert document(store) == document(second)


def test_a_session_that_ended_elsewhere_has_ended(store: Store, second: Store) -> None:
    """One that was open at the first merge gets its end; an end that is there stands."""
    at = session(store)
    merge(second, through_text(store), RULES)
    assert len(open_sessions(second, NOW)) == 1
    end_session(store, at, LATER)
    merge(second, through_text(store), RULES)
    assert open_sessions(second, NOW) == []
    assert document(second) == document(store)


def test_a_phrase_written_down_twice_is_one(store: Store, second: Store) -> None:
    """The same title, key, chart and line, brought in on both computers before they met."""
    add(store, "Late kettle")
    add(second, "late  KETTLE", now=LATER)
    plays(store, 1, Recall.CLEAN)
    plays(second, 1, Recall.LOST, days=1)
    data = through_text(store)
    merged = merge(second, data, RULES)
    assert (merged.phrases, merged.attempts, merged.renamed) == (0, 1, {})
    assert titles(second) == ["late  KETTLE"]
    assert [each.recall for each in attempts_of(second, 1)] == [Recall.CLEAN, Recall.LOST]
    assert merge(second, data, RULES).nothing
    # The other way round as well.
    merge(store, through_text(second), RULES)
    assert logs(store)["attempts"] == logs(second)["attempts"]
    assert card(store, 1).state == card(second, 1).state


def test_another_phrase_of_the_same_title_gets_a_number(store: Store, second: Store) -> None:
    """Neither is lost, and importing again finds it under its new title."""
    add(store, "Late kettle")
    add_phrases(second, [new_phrase("Late Kettle", key="C"), new_phrase("Late kettle (2)")], NOW)
    data = through_text(store)
    merged = merge(second, data, RULES)
    assert merged.renamed == {"Late kettle": "Late kettle (3)"}
    assert titles(second) == ["Late Kettle", "Late kettle (2)", "Late kettle (3)"]
    assert merge(second, data, RULES).nothing


def test_what_both_have_stays_as_the_store_has_it(store: Store, second: Store) -> None:
    """Settings, goals and notes of one's own; what is missing is taken over."""
    add(store, "Late kettle")
    merge(second, through_text(store), RULES)
    set_setting(store, "minutes", 10)
    set_setting(store, "order", "fifths")
    set_setting(second, "minutes", 40)
    set_note(store, 1, "theirs", NOW)
    set_note(store, 2, "theirs", NOW)
    set_note(second, 1, "mine", NOW)
    assert merge(second, through_text(store), RULES).settings == 1
    assert get_settings(second) == {"minutes": 40, "order": "fifths"}
    assert (card(second, 1).note, card(second, 2).note) == ("mine", "theirs")


def test_a_key_spelled_otherwise_is_the_same_card(store: Store, second: Store) -> None:
    """Gb of one computer is F# of the other."""
    add(store, "Late kettle")
    merge(second, through_text(store), RULES)
    gb = next(each for each in cards_of(store, 1) if each.key.text() == "Gb")
    plays(store, gb.id, Recall.CLEAN)
    text = json.dumps(document(store)).replace('"key": "Gb"', '"key": "F#"')
    assert merge(second, json.loads(text), RULES).attempts == 1
    assert len(attempts_of(second, gb.id)) == 1


@settings(
    max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    rounds=st.lists(
        st.tuples(
            st.integers(0, 2),
            st.integers(1, 3),
            st.sampled_from(Recall),
            st.sampled_from(["keep", "keep", "undo", "merge"]),
        ),
        max_size=14,
    )
)
def test_three_stores_that_merge_in_any_order_agree_at_last(
    empty: Path,
    tmp_path_factory: pytest.TempPathFactory,
    rounds: list[tuple[int, int, Recall, str]],
) -> None:
    """Whatever was rated, undone and merged in between, once all have met all are the same."""
    folder = tmp_path_factory.mktemp("three")
    with ExitStack() as stack:
        stores = []
        for number in range(3):
            place = Path(shutil.copyfile(empty, folder / f"{number}.sqlite3"))
            stores.append(stack.enter_context(open_store(place, now=NOW, backups=False)))
        add(stores[0], "Late kettle")
        for other in stores[1:]:
            merge(other, through_text(stores[0]), RULES)
        for number, (who, card_id, recall, then) in enumerate(rounds):
            play_round(stores, number, who, card_id, recall, then)
        for _ in range(2):
            for one in stores:
                for other in stores:
                    merge(one, through_text(other), RULES)
        assert logs(stores[0]) == logs(stores[1]) == logs(stores[2])
        assert check_store(stores[0], RULES) == []
        assert all(merge(one, through_text(stores[0]), RULES).nothing for one in stores)


def play_round(
    stores: list[Store], number: int, who: int, card_id: int, recall: Recall, then: str
) -> None:
    """Rate on one of the stores, then undo that or merge from the next store."""
    store = stores[who]
    before = card(store, card_id).state
    at = NOW + timedelta(hours=7 * number + who)
    (made,) = go(store, card_id, session(store, at), (recall,), at=at, day=at.date())
    if then == "undo":
        undo_attempt(store, made.id, before, at)
    elif then == "merge":
        merge(store, through_text(stores[(who + 1) % 3]), RULES)


@pytest.fixture
def sound(store: Store) -> dict[str, Any]:
    """A document that is as it should be."""
    add(store, "Late kettle")
    plays(store, 1, Recall.CLEAN)
    return through_text(store)


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (("format",), "other"),
        (("phrases",), None),
        (("phrases", 0, "title"), 7),
        (("phrases", 0, "tempo"), 10_000),
        (("phrases", 0, "key"), "H"),
        (("phrases", 0, "chart"), {"meter": "4/4", "bars": [["x"]]}),
        (("phrases", 0, "chart", "meter"), "0/0"),
        (("phrases", 0, "cards", 3, "line"), [["1/0", "1", "C4"]]),
        (("phrases", 0, "cards", 3, "key"), "Bb"),
        (("phrases", 0, "added_at"), "2026-03-01T18:00:00"),
        (("phrases", 0, "added_at"), "yesterday"),
        (("sessions", 0, "minutes"), 0),
        (("sessions", 0, "kind"), "nap"),
        (("attempts", 0, "recall"), "splendid"),
        (("attempts", 0, "phrase"), "nobody"),
        (("attempts", 0, "session"), "nobody"),
        (("attempts", 0, "key"), "Cm"),
        (("attempts", 0, "hint"), 9),
        (("attempts", 0, "day"), "2026-13-01"),
        (("attempts", 0, "uid"), None),
        (("attempts", 0, "seconds"), "'; DROP TABLE attempt; --"),
        (("settings",), [1]),
    ],
    ids=lambda each: ".".join(map(str, each)) if isinstance(each, tuple) else None,
)
def test_a_document_that_is_not_sound_changes_nothing(
    sound: dict[str, Any], second: Store, path: tuple[str | int, ...], value: object
) -> None:
    """Wherever it is wrong, all of it is refused with one line, and none of it is stored."""
    add(second, "Blue door")
    before = document(second)
    broken: Any = copy.deepcopy(sound)
    inner = broken
    for name in path[:-1]:
        inner = inner[name]
    inner[path[-1]] = value
    with pytest.raises(BadInput, match="no export of drillbox") as caught:
        merge(second, broken, RULES)
    assert len(caught.value.line()) < 500
    assert document(second) == before


@pytest.mark.parametrize("other", [[], "text", 3, None, {"format": "drillbox"}])
def test_what_is_no_document_is_refused(second: Store, other: Any) -> None:
    """Any JSON at all ends in one clear line."""
    with pytest.raises(BadInput):
        merge(second, other, RULES)


def test_a_newer_document_is_refused(sound: dict[str, Any], second: Store) -> None:
    """It says which version is read and what to do."""
    with pytest.raises(BadInput, match="version 2, and this drillbox reads up to 1") as caught:
        merge(second, {**sound, "version": 2}, RULES)
    assert caught.value.remedy == UPDATE


def test_a_phrase_keeps_its_own_times(sound: dict[str, Any], second: Store) -> None:
    """When it was added and retired is of the other store, not of the merge."""
    sound["phrases"][0]["retired_at"] = "2026-03-02T10:00:00.000000Z"
    merge(second, sound, RULES)
    found = phrase(second, 1)
    assert found.added_at == NOW
    assert found.retired_at is not None
    assert found.retired_at.date() == date(2026, 3, 2)
