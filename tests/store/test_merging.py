"""Merging: nothing twice, nothing lost, and both computers come to the same log."""

from __future__ import annotations

import copy
import json
import shutil
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction
from itertools import permutations
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, example, given, settings
from hypothesis import strategies as st

from drillbox.errors import UPDATE, BadInput
from drillbox.memory.cards import replay
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules
from drillbox.music.keys import in_order
from drillbox.music.moving.instruments import find_instrument, laid
from drillbox.music.moving.transposition import phrase_to
from drillbox.music.phrases import LONGEST_TITLE, LineNote
from drillbox.music.pitch import parse_pitch
from drillbox.practice.changing import change_setting
from drillbox.practice.preferences import preferences_from
from drillbox.store.access import Store
from drillbox.store.card_rows import candidates, card, cards_of, due_counts, set_note
from drillbox.store.checks import check_store
from drillbox.store.first_tries import evidence, open_cards
from drillbox.store.log import attempted_of
from drillbox.store.merging import merge as merge_members
from drillbox.store.opening import open_store
from drillbox.store.phrase_edits import begin_afresh, change_phrase, former_of, undo_afresh
from drillbox.store.phrase_rows import (
    add_phrases,
    all_titles,
    delete_phrase,
    list_phrases,
    phrase,
    restore_phrase,
    retire_phrase,
)
from drillbox.store.reckoning import undo_attempt
from drillbox.store.sessions import end_session, open_sessions
from drillbox.store.setting_rows import get_settings, set_setting
from drillbox.store.sql import change
from drillbox.store.values import (
    FIRST_YEAR,
    LAST_YEAR,
    LONGEST_NOTE,
    MOST_SECONDS,
    Merged,
    NewPhrase,
    new_cards,
)
from tests.store.making import DAY, NOW, add_in_keys, go, laid_out, new_phrase, session
from tests.store.reading import attempts_of, document, members_in

RULES = Rules()
LATER = NOW + timedelta(days=2)


def merge(store: Store, found: Any, **options: Any) -> Merged:
    """Merge a document that is in memory."""
    return merge_members(store, members_in(found), preferences_from, **options)


@pytest.fixture
def second(empty: Path, tmp_path: Path) -> Iterator[Store]:
    """The store of the player's other computer, empty."""
    place = tmp_path / "second.sqlite3"
    shutil.copyfile(empty, place)
    with open_store(place, now=NOW) as opened:
        yield opened


@pytest.fixture
def third(empty: Path, tmp_path: Path) -> Iterator[Store]:
    """The store of one more computer, empty."""
    place = tmp_path / "third.sqlite3"
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


def test_an_empty_store_comes_to_equal_data_and_schedules(store: Store, second: Store) -> None:
    """Every value is the same, and so is all that the future depends on."""
    add_in_keys(store, "Late kettle", "Ça va ‘ñ’ [bold]")
    add_in_keys(store, "Blue door; --", now=LATER)
    plays(store, 1, Recall.CLEAN, Recall.LOST)
    plays(store, 2, Recall.FLUENT, days=1)
    plays(store, 1, Recall.FLUENT, Recall.ROUGH, days=2)
    plays(store, 13, Recall.CLEAN, days=4)
    set_note(store, 14, "thumb", LATER)
    retire_phrase(store, 2, LATER)
    set_setting(store, "minutes", 30, NOW)
    set_setting(store, "loops", None, LATER)
    merged = merge(second, through_text(store))
    assert (merged.phrases, merged.sessions, merged.attempts) == (3, 4, 6)
    assert document(second) == document(store)
    assert candidates(second) == candidates(store)
    assert due_counts(second, DAY) == due_counts(store, DAY)
    assert open_cards(second) == open_cards(store)
    assert evidence(second, DAY, DAY, 9.0) == evidence(store, DAY, DAY, 9.0)
    assert [cards_of(second, n) for n in (1, 2, 3)] == [cards_of(store, n) for n in (1, 2, 3)]
    assert get_settings(second) == get_settings(store)
    for card_id in (1, 2, 13, 14):
        assert [each.first_of_day for each in attempts_of(second, card_id)] == [
            each.first_of_day for each in attempts_of(store, card_id)
        ]
    assert check_store(second) == []


def test_what_can_be_made_anew_is_not_believed(store: Store, second: Store) -> None:
    """A document's analysis, and its cards' charts, lines and states, are its own business."""
    add_in_keys(store, "Late kettle")
    plays(store, 1, Recall.CLEAN, Recall.CLEAN)
    data = through_text(store)
    (told,) = data["phrases"]
    told["analysis"] = {"chords": "x"}
    for each in told["cards"]:
        each |= {"chart": None, "line": [["1/0"]], "stability": 1e9, "tempo": 1, "due_day": "x"}
    merge(second, data)
    assert document(second) == document(store)


def test_importing_twice_changes_nothing(store: Store, second: Store) -> None:
    """The second time there is nothing to add, not even after playing on."""
    add_in_keys(store, "Late kettle", "Blue door")
    plays(store, 1, Recall.LOST, Recall.CLEAN)
    data = through_text(store)
    assert not merge(second, data).nothing
    before = document(second)
    assert merge(second, data).nothing
    assert document(second) == before
    plays(second, 1, Recall.FLUENT, days=1)
    before = document(second)
    assert merge(second, data).nothing
    assert document(second) == before


def test_two_computers_come_to_the_same_log(store: Store, second: Store) -> None:
    """Attempts of both are united in the order of time and each card is replayed."""
    add_in_keys(store, "Late kettle")
    plays(store, 1, Recall.CLEAN)
    merge(second, through_text(store))
    plays(store, 1, Recall.LOST, days=1)
    plays(second, 1, Recall.FLUENT, Recall.FLUENT, days=2)
    plays(second, 2, Recall.ROUGH, days=2)
    plays(store, 1, Recall.CLEAN, days=3)
    one, two = through_text(store), through_text(second)
    assert merge(store, two).attempts == 3
    assert merge(second, one).attempts == 2
    assert logs(store) == logs(second)
    log = attempts_of(store, 1)
    assert [each.recall for each in log] == [
        Recall.CLEAN, Recall.LOST, Recall.FLUENT, Recall.FLUENT, Recall.CLEAN,
    ]  # fmt: skip
    assert [each.first_of_day for each in log] == [True, True, True, False, True]
    assert card(store, 1).state == replay(132, [attempted_of(each) for each in log], RULES)
    assert check_store(store) == check_store(second) == []


def test_what_either_side_undid_stays_undone(store: Store, second: Store) -> None:
    """An attempt taken back on one computer is taken back on the other."""
    add_in_keys(store, "Late kettle")
    before = card(store, 1)
    (made,) = go(store, 1, session(store))
    merge(second, through_text(store))
    undo_attempt(store, made.uid, LATER)
    data = through_text(store)
    assert merge(second, data).undone == 1
    assert attempts_of(second, 1) == []
    assert card(second, 1) == before
    assert merge(second, data).nothing
    assert merge(store, through_text(second)).nothing
    assert document(store) == document(second)


def test_a_session_that_ended_elsewhere_has_ended(store: Store, second: Store) -> None:
    """One that was open at the first merge gets its end; an end that is there stands."""
    at = session(store)
    merge(second, through_text(store))
    assert len(open_sessions(second, NOW)) == 1
    end_session(store, at, LATER)
    merge(second, through_text(store))
    assert open_sessions(second, NOW) == []
    assert document(second) == document(store)


def test_a_phrase_written_down_twice_is_one(store: Store, second: Store) -> None:
    """The same title, key, chart and line, brought in on both computers before they met."""
    add_in_keys(store, "Late kettle")
    add_in_keys(second, "late  KETTLE", now=LATER)
    plays(store, 1, Recall.CLEAN)
    plays(second, 1, Recall.LOST, days=1)
    data = through_text(store)
    merged = merge(second, data)
    assert (merged.phrases, merged.attempts, merged.renamed) == (0, 1, {})
    assert all_titles(second) == ["late  KETTLE"]
    assert [each.recall for each in attempts_of(second, 1)] == [Recall.CLEAN, Recall.LOST]
    assert merge(second, data).nothing
    # The other way round as well.
    merge(store, through_text(second))
    assert logs(store)["attempts"] == logs(second)["attempts"]
    assert card(store, 1).state == card(second, 1).state


def test_another_phrase_of_the_same_title_gets_a_number(store: Store, second: Store) -> None:
    """Neither is lost, and importing again finds it under its new title."""
    add_in_keys(store, "Late kettle")
    add_phrases(second, [new_phrase("Late Kettle", key="C"), new_phrase("Late kettle (2)")], NOW)
    data = through_text(store)
    merged = merge(second, data)
    assert merged.renamed == {"Late kettle": "Late kettle (3)"}
    assert all_titles(second) == ["Late Kettle", "Late kettle (2)", "Late kettle (3)"]
    assert merge(second, data).nothing


def test_the_last_change_wins(store: Store, second: Store) -> None:
    """Of settings, notes and retirement the later one is in force on both, whoever merges."""
    add_in_keys(store, "Late kettle", "Blue door")
    merge(second, through_text(store))
    set_setting(store, "minutes", 10, NOW)
    set_setting(store, "order", "fifths", LATER)
    set_setting(second, "minutes", 40, LATER)
    set_setting(second, "order", "own", NOW)
    set_note(store, 1, "before", NOW)
    set_note(second, 1, "after", LATER)
    set_note(store, 2, "only there", NOW)
    set_note(second, 3, "gone", NOW)
    set_note(store, 3, None, LATER)
    retire_phrase(store, 1, NOW)
    retire_phrase(second, 2, NOW)
    restore_phrase(second, 2, LATER)
    one, two = through_text(store), through_text(second)
    told = merge(second, one)
    assert (told.settings, told.retired) == ({"order": ("own", "fifths")}, ["Late kettle"])
    assert told.noted == [("Late kettle", "gone", None)]
    told = merge(store, two)
    assert (told.settings, told.retired, told.restored) == ({"minutes": (10, 40)}, [], [])
    assert told.noted == [("Late kettle", "before", "after")]
    for each in (store, second):
        assert get_settings(each) == {"minutes": 40, "order": "fifths"}
        assert [card(each, n).note for n in (1, 2, 3)] == ["after", "only there", None]
        assert (phrase(each, 1).retired, phrase(each, 2).retired) == (True, False)
    assert document(store) == document(second)
    restore_phrase(store, 1, LATER)
    assert merge(second, through_text(store)).restored == ["Late kettle"]


def test_a_setting_put_back_to_its_default_goes_over(store: Store, second: Store) -> None:
    """Not having a setting any more is a change as well."""
    set_setting(second, "minutes", 40, NOW)
    set_setting(store, "minutes", None, LATER)
    merge(second, through_text(store))
    assert get_settings(second) == {}


def test_a_setting_that_was_set_to_the_same_later_is_not_told(store: Store, second: Store) -> None:
    """Nothing is another thing by it, but for when it was set."""
    set_setting(second, "minutes", 40, NOW)
    set_setting(store, "minutes", 40, LATER)
    assert merge(second, through_text(store)).nothing
    assert document(second) == document(store)


def test_an_undated_setting_replaces_nothing(store: Store, second: Store) -> None:
    """Of exports of an older drillbox nobody knows the time: they fill gaps."""
    set_setting(second, "minutes", 40)
    merge(second, {**through_text(store), "settings": {"minutes": 10, "loops": 3}})
    assert get_settings(second) == {"minutes": 40, "loops": 3}


def test_what_fits_one_computers_sound_stays_there(store: Store, second: Store) -> None:
    """Which port or microphone it listens to and how late that is; a new computer gets them."""
    for each, delay, port, at in ((store, 40, "", NOW), (second, 5, "Yama", LATER)):
        change_setting(each, "listen_delay", str(delay), at)
        change_setting(each, "listen_to", port, at)
    for each, other in ((store, second), (second, store)):
        before = document(each)
        assert merge(each, through_text(other)).nothing
        assert document(each) == before
    with second.write() as connection:
        connection.execute(change("DELETE FROM setting"))
    merge(second, through_text(store))
    assert get_settings(second) == {"listen_delay": 40, "listen_to": ""}


def test_settings_come_into_force_with_a_reckoning(store: Store, second: Store) -> None:
    """Another ladder moves every card, another instrument lays every line, also the old ones."""
    add_in_keys(second, "Blue door")
    plays(second, 1, Recall.CLEAN, Recall.CLEAN)
    add_in_keys(store, "Late kettle")
    change_setting(store, "instrument", "trombone", NOW)
    change_setting(store, "tempo_step", "0.2", NOW)
    merge(second, through_text(store))
    other = preferences_from(get_settings(second))
    assert other.values["instrument"] == "trombone"
    assert check_store(second) == []
    for phrase_id in (1, 2):
        written = phrase(second, phrase_id).phrase
        for each in cards_of(second, phrase_id):
            fitted = phrase_to(written, each.key, sounding_range=other.sounding_range)
            assert each.line == fitted.line


def test_what_is_owned_is_reckoned_by_a_setting_that_came(store: Store, second: Store) -> None:
    """How long a key must last to be owned decides it for every card, also for the old ones."""
    add_in_keys(second, "Blue door")
    for days in (0, 3, 9, 20, 45):
        plays(second, 1, *[Recall.FLUENT] * 12, days=days)
    assert card(second, 1).state.owned
    change_setting(store, "owned_days", "365", NOW)
    merge(second, through_text(store))
    assert not card(second, 1).state.owned
    assert check_store(second) == []


def test_after_a_clock_was_ahead_both_stores_replay_alike(store: Store, second: Store) -> None:
    """What each rated since then is dated after that day in both, and in one order."""
    add_in_keys(store, "Late kettle")
    plays(store, 1, Recall.CLEAN, days=365)
    merge(second, through_text(store))
    for days in (2, 3):
        plays(store, 1, Recall.FLUENT, days=days)
        plays(second, 1, Recall.LOST, days=days)
    one, two = through_text(store), through_text(second)
    merge(store, two)
    merge(second, one)
    assert logs(store) == logs(second)
    assert card(store, 1).state == card(second, 1).state
    assert [each.day.day for each in attempts_of(store, 1)] == [1, 3, 3, 4, 4]
    assert check_store(store) == check_store(second) == []


def test_a_change_made_after_a_clock_was_ahead_is_the_later_one(
    store: Store, second: Store
) -> None:
    """A goal, a setting, a note, retired or not: what came last on one computer stays, though
    the clock stood a year ahead when the same was changed before, on either."""
    add_in_keys(store, "Late kettle", "Blue door", "Side gate")
    merge(second, through_text(store))
    ahead = NOW + timedelta(days=365)
    edited(second, "Late kettle", days=365, tempo=150)
    set_setting(second, "minutes", 40, ahead)
    set_note(second, 1, "before", ahead)
    retire_phrase(second, 2, ahead)
    retire_phrase(second, 3, NOW)
    restore_phrase(second, 3, ahead)
    merge(store, through_text(second))
    edited(store, "Late kettle", tempo=140)
    set_setting(store, "minutes", 20, LATER)
    set_note(store, 1, "after", LATER)
    restore_phrase(store, 2, LATER)
    retire_phrase(store, 3, LATER)
    restore_phrase(store, 3, LATER)
    retire_phrase(store, 3, LATER)
    assert merge(store, through_text(second)).nothing
    merge(second, through_text(store))
    for each in (store, second):
        assert phrase(each, 1).phrase.tempo == 140
        assert get_settings(each) == {"minutes": 20}
        assert card(each, 1).note == "after"
        assert [phrase(each, number).retired for number in (2, 3)] == [False, True]
    assert document(store) == document(second)


def test_a_phrase_that_a_clock_ahead_added_is_deleted_for_both(store: Store, second: Store) -> None:
    """It is retired in the other store, though it was added there in a year to come."""
    add_in_keys(store, "Late kettle", now=NOW + timedelta(days=365))
    merge(second, through_text(store))
    delete_phrase(store, 1, LATER)
    assert merge(second, through_text(store)).deleted_there == ["Late kettle"]


def test_a_store_at_its_limits_goes_over(store: Store, second: Store) -> None:
    """The longest title twice, the longest note and go, the first and the last year."""
    title = "x" * LONGEST_TITLE
    for into, key in ((store, "C"), (second, "Bb")):
        add_phrases(into, [new_phrase(title, key=key)], NOW)
    first, last = datetime(FIRST_YEAR, 1, 1, tzinfo=UTC), datetime(LAST_YEAR, 12, 31, tzinfo=UTC)
    for at in (first, last):
        go(store, 1, session(store, at), at=at, day=at.date() - timedelta(days=1))
    set_note(store, 2, "n" * LONGEST_NOTE, last)
    merged = merge(second, through_text(store))
    (renamed,) = merged.renamed.values()
    assert (len(renamed), renamed[-4:]) == (LONGEST_TITLE, " (2)")
    assert merge(store, through_text(second)).phrases == 1
    assert merge(second, through_text(store)).nothing


def test_what_once_was_longer_comes_in(store: Store, second: Store) -> None:
    """A title with a number beyond the longest, and a go of two days: both are cut."""
    add_in_keys(store, "Late kettle")
    plays(store, 1, Recall.CLEAN)
    data = through_text(store)
    data["phrases"][0]["title"] = "y" * LONGEST_TITLE + " (2)"
    data["attempts"][0]["seconds"] = 200_000.0
    merge(second, data)
    assert all_titles(second) == ["y" * LONGEST_TITLE]
    assert attempts_of(second, 1)[0].seconds == MOST_SECONDS


def test_another_order_of_ones_own_goes_over(store: Store, second: Store) -> None:
    """It is called own before and after; of two the later one is in force in both stores."""
    add_in_keys(store, "Late kettle")
    merge(second, through_text(store))
    there = replace(laid_out(new_phrase()), order="own")
    turned = replace(there, cards=(there.cards[0], *there.cards[:0:-1]))
    for made, at in ((there, NOW + timedelta(days=1)), (turned, LATER)):
        change_phrase(store, 1, made, at)
        assert merge(second, through_text(store)).changed == 1
        assert [each.key for each in cards_of(second, 1)] == [each.key for each in made.cards]
    change_phrase(second, 1, there, LATER + timedelta(days=1))
    assert merge(second, through_text(store)).nothing
    assert merge(store, through_text(second)).changed == 1
    assert document(store) == document(second)


def test_octaves_that_are_broken_go_along(store: Store, second: Store, third: Store) -> None:
    """To a new store, also by the cards of an export of before that was told; to one in which the
    line was written down unbroken before; with an edit that doesn't know it; and back again."""
    for each in (store, second, third):
        set_setting(each, "instrument", "C C4-C5", NOW)
    reach = find_instrument("C C4-C5").sounding_range
    bar = Fraction(4)
    notes = [LineNote(bar * n, bar, parse_pitch(name)) for n, name in enumerate(("C4", "D5"))]
    made = replace(new_phrase().phrase, line=tuple(notes))
    order = in_order(made.key, "fourths")
    broken, whole = (
        NewPhrase(
            made,
            "fourths",
            new_cards(laid(made, key, breaking=breaking, sounding_range=reach) for key in order),
            octave_breaks=breaking,
        )
        for breaking in (True, False)
    )
    add_phrases(store, [broken], NOW)
    add_phrases(third, [whole], NOW - timedelta(1))
    data = through_text(store)
    assert data["phrases"][0].pop("octave_breaks")
    merge(second, data)
    merge(third, through_text(store))
    assert [phrase(each, 1).octave_breaks for each in (second, third)] == [True, True]
    change_phrase(second, 1, replace(whole, tags=("duo",)), LATER)
    data = through_text(second)
    assert not data["phrases"][0].pop("octave_breaks")
    assert merge(store, data).changed == 1
    assert (phrase(store, 1).tags, phrase(store, 1).octave_breaks) == (("duo",), True)
    for made_there, at in ((broken, LATER + timedelta(1)), (whole, LATER + timedelta(2))):
        change_phrase(second, 1, made_there, at)
        for each in (store, third):
            merge(each, through_text(second))
        for each in (store, second, third):
            assert phrase(each, 1).octave_breaks == made_there.octave_breaks
            assert [card.line for card in cards_of(each, 1)] == [
                card.line for card in made_there.cards
            ]


def test_another_goal_is_reckoned(store: Store, second: Store) -> None:
    """A card never stands over its goal: the goal that was set last is the ladder's."""
    add_in_keys(store, "Late kettle")
    merge(second, through_text(store))
    plays(second, 1, *[Recall.FLUENT] * 12)
    assert card(second, 1).state.tempo.tempo == 132
    data = through_text(store)
    data["phrases"][0] |= {"tempo": 100, "changed_at": "2026-03-02T10:00:00Z"}
    assert merge(second, data).changed == 1
    assert phrase(second, 1).phrase.tempo == 100
    assert card(second, 1).state.tempo.tempo == 100
    assert check_store(second) == []
    assert merge(second, data).nothing


def test_a_setting_that_cannot_be_used_is_left_out(store: Store, second: Store) -> None:
    """It is named; all else comes in."""
    add_in_keys(store, "Late kettle")
    data = through_text(store)
    data["settings"] = {"weights": [1, 2, 3], "day_start_hour": "abc", "nonsense": 1, "loops": 3}
    merged = merge(second, data)
    assert merged.left_out == ["day_start_hour", "nonsense", "weights"]
    assert get_settings(second) == {"loops": 3}
    assert all_titles(second) == ["Late kettle"]


def test_a_deleted_phrase_stays_deleted(store: Store, second: Store) -> None:
    """Unless it is asked for; where the other store has it still, it is retired, not lost."""
    add_in_keys(store, "Late kettle", "Blue door")
    plays(store, 1, Recall.CLEAN)
    merge(second, through_text(store))
    delete_phrase(store, 1, LATER)
    assert all_titles(store) == ["Blue door"]
    merged = merge(store, through_text(second))
    assert (merged.stayed_deleted, merged.nothing) == (["Late kettle"], True)
    assert merge(second, through_text(store)).deleted_there == ["Late kettle"]
    assert phrase(second, 1).retired
    assert merge(second, through_text(store)).nothing
    merged = merge(store, through_text(second), bring_back=LATER)
    assert (merged.phrases, merged.attempts) == (1, 1)
    assert sorted(all_titles(store)) == ["Blue door", "Late kettle"]
    assert check_store(store) == []


def test_a_title_goes_to_the_phrase_in_practice(store: Store, second: Store) -> None:
    """What stands in for a phrase there is deleted in an undo, and retired here under a number."""
    add_in_keys(store, "Late kettle")
    plays(store, 1, Recall.CLEAN)
    merge(second, through_text(store))
    anew = begin_afresh(store, 1, laid_out(new_phrase("Late kettle", key="F")), LATER)
    merge(second, through_text(store))
    uid = former_of(store, anew.id)
    assert isinstance(uid, str)
    undo_afresh(store, anew.id, uid, LATER + timedelta(hours=1))
    merged = merge(second, through_text(store))
    titles = {each.title: each.retired for each in (phrase(second, 1), phrase(second, 2))}
    assert titles == {"Late kettle": False, "Late kettle (2)": True}
    assert (merged.deleted_there, merged.renamed) == (["Late kettle (2)"], {})
    assert merge(second, through_text(store)).nothing
    assert merge(store, through_text(second)).nothing
    assert all_titles(store) == ["Late kettle"]
    assert check_store(second) == []


def test_two_phrases_in_practice_keep_their_numbers(store: Store, second: Store) -> None:
    """Only a retired one gives its title away, and it says so nowhere, as in adding."""
    add_in_keys(store, "Late kettle", "Blue door")
    add_phrases(second, [new_phrase("Late kettle", key="C"), new_phrase("Blue door", key="C")], NOW)
    retire_phrase(second, 2, LATER)
    merged = merge(second, through_text(store))
    assert merged.renamed == {"Late kettle": "Late kettle (2)"}
    assert all_titles(second) == ["Late kettle", "Blue door (2)", "Late kettle (2)", "Blue door"]


@pytest.mark.parametrize("days", [0, 365], ids=["before", "by a clock ahead"])
def test_what_was_brought_back_stays_in_both_stores(store: Store, second: Store, days: int) -> None:
    """Though the other store had retired it when it heard that it was deleted."""
    add_in_keys(store, "Late kettle")
    merge(second, through_text(store))
    delete_phrase(store, 1, LATER + timedelta(days=days))
    merge(second, through_text(store))
    assert phrase(second, 1).retired
    merge(store, through_text(second), bring_back=LATER + timedelta(hours=1))
    assert not phrase(store, 1).retired
    merge(store, through_text(second))
    merge(second, through_text(store))
    assert not phrase(store, 1).retired
    assert not phrase(second, 1).retired


def test_a_key_spelled_otherwise_is_the_same_card(store: Store, second: Store) -> None:
    """Gb of one computer is F# of the other."""
    add_in_keys(store, "Late kettle")
    merge(second, through_text(store))
    gb = next(each for each in cards_of(store, 1) if each.key.text() == "Gb")
    plays(store, gb.id, Recall.CLEAN)
    text = json.dumps(document(store)).replace('"key": "Gb"', '"key": "F#"')
    assert merge(second, json.loads(text)).attempts == 1
    assert len(attempts_of(second, gb.id)) == 1


@contextmanager
def three_alike(empty: Path, folder: Path) -> Iterator[list[Store]]:
    """Open three stores that hold the same phrase."""
    with ExitStack() as stack:
        stores = []
        for number in range(3):
            place = Path(shutil.copyfile(empty, folder / f"{number}.sqlite3"))
            stores.append(stack.enter_context(open_store(place, now=NOW, backups=False)))
        add_in_keys(stores[0], "Late kettle")
        for other in stores[1:]:
            merge(other, through_text(stores[0]))
        yield stores


DEEDS = ["rate", "undo", "merge", "note", "setting", "default", "retire", "restore", "edit"]


@settings(
    max_examples=7,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
)
@given(
    rounds=st.lists(
        st.tuples(
            st.integers(0, 2), st.integers(1, 3), st.sampled_from(Recall), st.sampled_from(DEEDS)
        ),
        max_size=14,
    ),
    order=st.permutations(list(permutations(range(3), 2))),
)
@example([(0, 1, Recall.LOST, "edit")], list(permutations(range(3), 2)))
def test_three_stores_that_merge_in_any_order_agree_at_last(
    empty: Path,
    tmp_path_factory: pytest.TempPathFactory,
    rounds: list[tuple[int, int, Recall, str]],
    order: list[tuple[int, int]],
) -> None:
    """Whatever was rated, undone, noted, set, retired, edited and merged in between."""
    with three_alike(empty, tmp_path_factory.mktemp("three")) as stores:
        for number, (who, card_id, recall, deed) in enumerate(rounds):
            play_round(stores, number // 2, who, card_id, recall, deed)
        for one, other in [*order, *order]:
            merge(stores[one], through_text(stores[other]))
        known = [everything(each) for each in stores]
        assert known[0] == known[1] == known[2]
        assert check_store(stores[0]) == []
        assert all(merge(one, through_text(stores[0])).nothing for one in stores)


def everything(store: Store) -> dict[str, Any]:
    """Return the whole document, whatever order things came in."""
    data = document(store)
    return {
        name: {each["uid"]: each for each in value} if isinstance(value, list) else value
        for name, value in data.items()
    }


def play_round(
    stores: list[Store], number: int, who: int, card_id: int, recall: Recall, deed: str
) -> None:
    """Do one deed on one of the stores; two deeds in a row are of the same moment."""
    store = stores[who]
    at = NOW + timedelta(hours=7 * number)
    if deed in {"rate", "undo"}:
        rules = preferences_from(get_settings(store)).rules
        at_it = session(store, at)
        (made,) = go(store, card_id, at_it, (recall,), at=at, day=at.date(), rules=rules)
        if deed == "undo":
            undo_attempt(store, made.uid, at)
    elif deed == "merge":
        merge(store, through_text(stores[(who + 1) % 3]))
    elif deed == "note":
        set_note(store, card_id, recall.word if recall > Recall.LOST else None, at)
    elif deed == "setting":
        change_setting(store, ("tempo_step", "minutes", "loops")[card_id - 1], f"0.0{recall}"
                       if card_id == 1 else str(recall + 1), at)  # fmt: skip
    elif deed == "default":
        set_setting(store, "minutes", None, at)
    elif deed == "edit":
        wanted = laid_out(new_phrase("Late kettle", tempo=110 + 10 * (recall % 2)))
        change_phrase(store, 1, replace(wanted, octave_breaks=recall > Recall.ROUGH), at)
    else:
        {"retire": retire_phrase, "restore": restore_phrase}[deed](store, 1, at)


@settings(
    max_examples=4,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
)
@given(
    rounds=st.lists(
        st.tuples(
            st.integers(0, 2), st.sampled_from(["retire", "restore", "afresh", "add", "merge"])
        ),
        max_size=10,
    ),
    order=st.permutations(list(permutations(range(3), 2))),
)  # fmt: skip
@example([(0, "afresh"), (1, "retire"), (1, "add")], list(permutations(range(3), 2)))
def test_three_stores_agree_but_for_titles(
    empty: Path,
    tmp_path_factory: pytest.TempPathFactory,
    rounds: list[tuple[int, str]],
    order: list[tuple[int, int]],
) -> None:
    """Whatever started over, was retired and written down again under one title in between.

    No two are in one key: of the same ones only those that meet under one title become one.
    """
    with three_alike(empty, tmp_path_factory.mktemp("titles")) as stores:
        for number, (who, deed) in enumerate(rounds):
            write_again(stores, who, deed, OTHER_KEYS[number], NOW + timedelta(hours=number))
        for one, other in [*order, *order]:
            merge(stores[one], through_text(stores[other]))
        known = [everything(each) for each in stores]
        for each in known:
            for told in each["phrases"].values():
                del told["title"]
        assert known[0] == known[1] == known[2]
        for each in stores:
            assert check_store(each) == []
            assert merge(each, through_text(stores[0])).nothing


OTHER_KEYS = ["C", "F", "Eb", "Ab", "Db", "Gb", "B", "E", "A", "D"]  # than the first phrase's


def write_again(stores: list[Store], who: int, deed: str, key: str, at: datetime) -> None:
    """Retire, restore, start over or add a phrase of one title, or merge the next store."""
    store, wanted = stores[who], laid_out(new_phrase("Late kettle", key=key))
    live, retired = list_phrases(store), list_phrases(store, retired=True)
    if deed == "merge":
        merge(store, through_text(stores[(who + 1) % 3]))
    elif deed == "restore" and retired:
        restore_phrase(store, retired[0].id, at)
    elif deed == "retire" and live:
        retire_phrase(store, live[-1].id, at)
    elif deed == "afresh" and live:
        with suppress(BadInput):  # a title may be taken by another in practice
            begin_afresh(store, live[0].id, wanted, at)
    elif deed == "add":
        with suppress(BadInput):
            add_phrases(store, [wanted], at)


TWINS = [("1", "2"), ("2", "1")]


def twins(store: Store, second: Store, uids: tuple[str, str]) -> None:
    """Write one phrase down in both stores, under these uids, and rate it twice in each."""
    for into, uid, days in ((store, uids[0], 0), (second, uids[1], 1)):
        add_in_keys(into, "Late kettle")
        with into.write() as connection:
            connection.execute(change("UPDATE phrase SET uid = :uid"), {"uid": uid})
        plays(into, 1, Recall.CLEAN, Recall.ROUGH, days=days)


def edited(store: Store, title: str, number: int = 1, days: int = 5, tempo: int = 132) -> None:
    """Give a phrase another title and tempo, so many days from now."""
    wanted = laid_out(new_phrase(title, tempo=tempo))
    change_phrase(store, number, wanted, NOW + timedelta(days=days))


@pytest.mark.parametrize("uids", TWINS)
@pytest.mark.parametrize("again", [False, True], ids=["as it is", "an old export"])
def test_twins_stay_one_whatever_becomes_of_them(
    store: Store, second: Store, uids: tuple[str, str], again: bool
) -> None:
    """Renamed and edited on either side after the first merge, and merged once more."""
    twins(store, second, uids)
    old = through_text(second)
    merge(store, old)
    edited(store, "Early kettle")
    if not again:
        edited(second, "Copper kettle", days=4)
    for _ in range(2):
        merge(store, old if again else through_text(second))
        merge(second, through_text(store))
        old = through_text(second)
    for each in (store, second):
        assert all_titles(each) == ["Early kettle"]
        assert len(attempts_of(each, 1)) == 4
        assert check_store(each) == []
    assert document(store)["phrases"][0]["uid"] == "1"
    assert document(store)["phrases"][0]["also"] == ["2"]
    assert everything(store) == everything(second)
    assert merge(store, through_text(second)).nothing
    assert merge(second, through_text(store)).nothing


@pytest.mark.parametrize("uids", TWINS)
def test_a_deleted_phrase_takes_its_twin_along(
    store: Store, second: Store, uids: tuple[str, str]
) -> None:
    """An export from before the two met brings it back only where that is asked for."""
    twins(store, second, uids)
    old = through_text(second)
    merge(store, old)
    delete_phrase(store, 1, LATER)
    merged = merge(store, old)
    assert (merged.stayed_deleted, merged.nothing) == (["Late kettle"], True)
    assert {each["uid"] for each in document(store)["deleted"]} == {"1", "2"}
    assert merge(second, through_text(store)).deleted_there == ["Late kettle"]
    assert phrase(second, 1).retired
    merged = merge(store, through_text(second), bring_back=LATER + timedelta(hours=1))
    assert (merged.phrases, merged.attempts) == (1, 2)
    merge(second, through_text(store))
    assert not phrase(second, 1).retired
    assert merge(store, through_text(second)).nothing


def test_what_is_said_to_be_the_deleted_one_stays_away_as_well(
    store: Store, second: Store, third: Store
) -> None:
    """A store that joined both tells which other uid the deleted phrase went by."""
    twins(store, second, ("1", "2"))
    for each in (store, second):
        merge(third, through_text(each))
    delete_phrase(store, 1, LATER)
    assert merge(store, through_text(third)).stayed_deleted == ["Late kettle"]
    assert merge(store, through_text(second)).stayed_deleted == ["Late kettle"]
    assert all_titles(store) == []


def test_a_phrase_written_down_anew_is_not_the_deleted_one(store: Store, second: Store) -> None:
    """The other store, which has the former still, plays on what was written down again."""
    twins(store, second, ("1", "1"))
    delete_phrase(store, 1, LATER)
    add_in_keys(store, "Late kettle", now=LATER + timedelta(hours=1))
    for _ in range(2):
        merge(second, through_text(store))
        merge(store, through_text(second))
    for each in (store, second):
        assert [phrase.title for phrase in list_phrases(each)] == ["Late kettle"]
        assert len(attempts_of(each, only_card(each))) == 2
        assert document(each)["deleted"] == []
    assert everything(store) == everything(second)


def only_card(store: Store) -> int:
    """Return the number of the first card of the only phrase."""
    (found,) = list_phrases(store)
    return cards_of(store, found.id)[0].id


def test_phrases_that_are_one_elsewhere_become_one(
    store: Store, second: Store, third: Store
) -> None:
    """Two that met too late to be twins are joined when a store comes that knows: attempts,
    notes and the later edit of both."""
    twins(store, second, ("1", "2"))
    for each in (store, second):
        merge(third, through_text(each))
    set_note(second, 3, "thumb", LATER)
    edited(store, "Early kettle", tempo=120)
    merge(store, through_text(second))
    assert all_titles(store) == ["Early kettle", "Late kettle"]
    merged = merge(store, through_text(third))
    assert (merged.phrases, merged.attempts) == (0, 0)
    assert merged.joined == {"Late kettle": "Early kettle"}
    assert all_titles(store) == ["Early kettle"]
    assert len(attempts_of(store, 1)) == 4
    assert card(store, 3).note == "thumb"
    assert check_store(store) == []
    for into in (third, second, store):
        for each in (store, second, third):
            merge(into, through_text(each))
    assert everything(store) == everything(second) == everything(third)


def test_phrases_that_are_one_by_way_of_a_third_become_one(store: Store, second: Store) -> None:
    """Two pairs of the other store, of which one of each is one here."""
    titles = ["Late kettle", "Blue door", "Side gate"]
    add_in_keys(store, *titles)
    add_in_keys(second, "Early kettle", "Red door", now=LATER)
    for into, uids in (
        (store, {1: ("c", []), 2: ("a", ["e"]), 3: ("b", [])}),
        (second, {1: ("a", ["b"]), 2: ("c", ["e"])}),
    ):
        with into.write() as connection:
            for number, (uid, also) in uids.items():
                values = {"uid": uid, "also": also, "id": number}
                words = "UPDATE phrase SET uid = :uid, also = :also WHERE id = :id"
                connection.execute(change(words), values)
    edited(store, "Iron gate", number=3, days=1)
    merged = merge(store, through_text(second))
    (left,) = all_titles(store)
    assert set(merged.joined.values()) == {left}
    assert check_store(store) == []
    assert merge(store, through_text(second)).nothing


def test_a_phrase_beside_the_other_is_not_its_twin(store: Store, second: Store) -> None:
    """What the other store has as two, one of them renamed to write it down again, stays two."""
    add_in_keys(store, "Late kettle")
    merge(second, through_text(store))
    edited(store, "Early kettle", days=2)
    add_in_keys(store, "Late kettle", now=NOW + timedelta(days=3))
    change_phrase(second, 1, laid_out(new_phrase(tempo=90)), NOW + timedelta(days=4))
    merge(second, through_text(store))
    assert len(all_titles(second)) == 2
    merge(store, through_text(second))
    assert len(all_titles(store)) == 2


def test_a_phrase_begun_afresh_is_taken_back_though_its_uid_is_another(
    store: Store, second: Store
) -> None:
    """An undo finds the former phrase by any uid that it went by."""
    twins(store, second, ("2", "1"))
    anew = begin_afresh(store, 1, laid_out(new_phrase("Late kettle", key="F")), LATER)
    set_title_of(second, phrase(store, 1).title)
    merge(store, through_text(second))
    assert phrase(store, 1).uid == "1"
    uid = former_of(store, anew.id)
    assert uid == "2"
    back = undo_afresh(store, anew.id, uid, LATER + timedelta(hours=1))
    assert back is not None
    assert (back.title, back.retired) == ("Late kettle", False)


def set_title_of(store: Store, title: str) -> None:
    """Retitle the first phrase without keeping that as an edit."""
    with store.write() as connection:
        values = {"title": title, "folded": title.casefold()}
        connection.execute(change("UPDATE phrase SET title = :title, folded = :folded"), values)


TWIN_DEEDS = ["rate", "rename", "rewrite", "retire", "restore", "note", "merge"]


@settings(
    max_examples=7,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
)
@given(
    uids=st.permutations(["1", "2", "3"]),
    rounds=st.lists(st.tuples(st.integers(0, 2), st.sampled_from(TWIN_DEEDS)), max_size=12),
    order=st.permutations(list(permutations(range(3), 2))),
)
@example(["2", "3", "1"], [(0, "rename"), (2, "rewrite"), (1, "rate")],
         list(permutations(range(3), 2)))  # fmt: skip
def test_three_that_wrote_one_phrase_down_agree_at_last(
    empty: Path,
    tmp_path_factory: pytest.TempPathFactory,
    uids: list[str],
    rounds: list[tuple[int, str]],
    order: list[tuple[int, int]],
) -> None:
    """Once any store has taken all three for one, whatever was renamed and rated in between."""
    folder = tmp_path_factory.mktemp("twins")
    with ExitStack() as stack:
        stores = []
        for number, uid in enumerate(uids):
            place = Path(shutil.copyfile(empty, folder / f"{number}.sqlite3"))
            store = stack.enter_context(open_store(place, now=NOW, backups=False))
            add_in_keys(store, "Late kettle")
            with store.write() as connection:
                connection.execute(change("UPDATE phrase SET uid = :uid"), {"uid": uid})
            plays(store, 1, Recall.CLEAN, days=number)
            stores.append(store)
        for other in stores[1:]:
            merge(stores[0], through_text(other))
        for number, (who, deed) in enumerate(rounds):
            live_on(stores, who, deed, number)
        for one, other in [*order, *order]:
            merge(stores[one], through_text(stores[other]))
        known = [everything(each) for each in stores]
        assert known[0] == known[1] == known[2]
        (found,) = known[0]["phrases"].values()
        assert (found["uid"], found["also"]) == ("1", ["2", "3"])
        rated = sum(deed == "rate" for _, deed in rounds)
        assert len(known[0]["attempts"]) == len(attempts_of(stores[0], 1)) == 3 + rated
        for each in stores:
            assert check_store(each) == []
            assert merge(each, through_text(stores[0])).nothing


def live_on(stores: list[Store], who: int, deed: str, number: int) -> None:
    """Do one deed at the first phrase of one of the stores, or merge the next one."""
    store, days = stores[who], 5 + number
    at = NOW + timedelta(days=days)
    if deed == "merge":
        merge(store, through_text(stores[(who + 1) % 3]))
    elif deed == "rate":
        plays(store, 1, Recall.ROUGH, days=days)
    elif deed == "note":
        set_note(store, 1, f"note {number}", at)
    elif deed in {"retire", "restore"}:
        {"retire": retire_phrase, "restore": restore_phrase}[deed](store, 1, at)
    else:
        title = f"Kettle {number}" if deed == "rename" else phrase(store, 1).title
        edited(store, title, days=days, tempo=100 + number)


@pytest.fixture
def sound(store: Store) -> dict[str, Any]:
    """A document that is as it should be."""
    add_in_keys(store, "Late kettle")
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
        (("phrases", 0, "line"), [["1/0", "1", "C4"]]),
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
    add_in_keys(second, "Blue door")
    before = document(second)
    broken: Any = copy.deepcopy(sound)
    inner = broken
    for name in path[:-1]:
        inner = inner[name]
    inner[path[-1]] = value
    with pytest.raises(BadInput, match="can't be used") as caught:
        merge(second, broken)
    assert len(caught.value.line()) < 500
    assert document(second) == before


@pytest.mark.parametrize("part", ["phrases", "tunes"])
def test_two_things_that_share_a_uid_are_refused(
    sound: dict[str, Any], second: Store, part: str
) -> None:
    """Also where one only went by it: nobody could say which of the two is meant."""
    sound["tunes"] = [
        {
            "uid": "a", "title": "Corner lamp", "key": "C", "tempo": 120, "form": "", "tags": [],
            "chart": sound["phrases"][0]["chart"], "added_at": "2026-03-01T18:00:00Z",
        }
    ]  # fmt: skip
    (told,) = sound[part]
    sound[part].append({**told, "uid": "another", "title": "Blue door", "also": [told["uid"]]})
    with pytest.raises(BadInput, match=f"two of its {part} have the same uid"):
        merge(second, sound)


@pytest.mark.parametrize("other", [[], "text", 3, None, {"format": "drillbox"}])
def test_what_is_no_document_is_refused(second: Store, other: Any) -> None:
    """Any JSON at all ends in one clear line."""
    with pytest.raises(BadInput):
        merge(second, other)


def test_a_newer_document_is_refused(sound: dict[str, Any], second: Store) -> None:
    """It says which version is read and what to do."""
    with pytest.raises(BadInput, match="version 4, and this drillbox reads up to 3") as caught:
        merge(second, {**sound, "version": 4})
    assert caught.value.remedy == UPDATE


def test_a_phrase_keeps_its_own_times(sound: dict[str, Any], second: Store) -> None:
    """When it was added and retired is of the other store, not of the merge."""
    sound["phrases"][0]["retired_at"] = "2026-03-02T10:00:00.000000Z"
    merge(second, sound)
    found = phrase(second, 1)
    assert found.added_at == NOW
    assert found.retired_at is not None
    assert found.retired_at.date() == date(2026, 3, 2)
