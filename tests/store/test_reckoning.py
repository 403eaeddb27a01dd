"""Reckoning anew: when the rules have changed every card is what its log gives by the new ones."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest

from drillbox.memory.recall import DEFAULT_WEIGHTS, Recall
from drillbox.music.pitch import Interval
from drillbox.store.access import Store
from drillbox.store.card_rows import card, cards_of
from drillbox.store.checks import check_store
from drillbox.store.reckoning import reckon_all, set_and_lay
from drillbox.store.setting_rows import Set, get_settings, set_setting
from tests.store.making import LINE, NOW, add, go, session
from tests.store.reading import attempts_of

OTHER = {
    "start_tempo": 0.5,
    "tempo_step": 0.1,
    "weights": [*(each * 1.1 for each in DEFAULT_WEIGHTS[:20]), *DEFAULT_WEIGHTS[20:]],
}


def set_others(store: Store, settings: Mapping[str, object]) -> None:
    """Set settings of the rules, and leave the cards as they are."""
    for name, value in settings.items():
        set_setting(store, name, value)


def test_every_card_follows_the_new_rules(store: Store) -> None:
    """Open cards are replayed, untried ones begin at the new share; due days stay."""
    add(store, "Late kettle")
    go(store, 1, session(store), (Recall.LOST, Recall.CLEAN))
    before = card(store, 1)
    set_others(store, OTHER)
    assert check_store(store)
    assert reckon_all(store) == 12
    after = card(store, 1)
    assert check_store(store) == []
    assert after.state.memory != before.state.memory
    assert after.state.due == before.state.due
    assert after.opened_day == before.opened_day
    assert card(store, 2).state.tempo.tempo == 66


def test_going_back_to_the_former_rules_restores_all(store: Store) -> None:
    """A state is a function of log and rules: there and back changes nothing."""
    add(store, "Late kettle")
    go(store, 1, session(store), (Recall.LOST, Recall.CLEAN, Recall.FLUENT))
    before = [card(store, card_id) for card_id in range(1, 13)]
    assert reckon_all(store) == 0
    set_others(store, OTHER)
    reckon_all(store)
    set_others(store, dict.fromkeys(OTHER))
    reckon_all(store)
    assert [card(store, card_id) for card_id in range(1, 13)] == before


def test_marks_of_first_attempts_are_set_right_with_the_card(store: Store) -> None:
    """A mark that an older drillbox set by another rule is found, and is as the card counts."""
    add(store, "Late kettle")
    first, second = go(store, 1, session(store), (Recall.LOST, Recall.CLEAN))
    with store.write() as connection:
        connection.exec_driver_sql("UPDATE attempt SET first_of_day = NOT first_of_day")
    assert [each.text for each in check_store(store)] == [
        "'Late kettle' in Bb: its state doesn't match its 2 ratings"
    ]
    reckon_all(store)
    assert attempts_of(store, 1) == [first, second]
    assert check_store(store) == []


UP = Interval(7, 12)
HIGHER = tuple(replace(note, pitch=note.pitch.up(UP)) for note in LINE)


def test_every_line_is_laid_and_what_is_remembered_stays(store: Store):
    """Two phrases of twelve cards: 24 lines an octave up, the rated card's state as it was."""
    first, second = add(store, "Late kettle", "Red door")
    rated = cards_of(store, first.id)[0]
    go(store, rated.id, session(store))
    before = [card.state for card in cards_of(store, first.id)]
    assert before[0].attempts == 1
    flute = Set("instrument", "flute", NOW)
    assert set_and_lay(store, flute, lambda phrase, *_, **__: replace(phrase, line=HIGHER)) == 24
    for record in (first, second):
        assert {card.line for card in cards_of(store, record.id)} == {HIGHER}
    assert [card.state for card in cards_of(store, first.id)] == before
    assert get_settings(store)["instrument"] == "flute"


def test_lines_that_stay_are_not_counted(store: Store):
    """The same lines once more change nothing, but the setting is set."""
    add(store, "Late kettle")
    assert set_and_lay(store, Set("instrument", "piano", NOW), lambda phrase, *_, **__: phrase) == 0
    assert get_settings(store)["instrument"] == "piano"


def test_a_failure_half_way_leaves_setting_and_lines_as_they_were(store: Store):
    """The seventh card's line can't be made: no card and no setting is changed."""
    (record,) = add(store, "Late kettle")
    seen = []

    def breaks(phrase, key, breaking):
        seen.append(key)
        if len(seen) == 7:
            raise RuntimeError("no line")
        return replace(phrase, line=HIGHER)

    with pytest.raises(RuntimeError, match="no line"):
        set_and_lay(store, Set("instrument", "flute", NOW), breaks)
    assert {card.line for card in cards_of(store, record.id)} == {LINE}
    assert "instrument" not in get_settings(store)
