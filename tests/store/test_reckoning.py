"""Reckoning anew: when the rules have changed every card is what its log gives by the new ones."""

from __future__ import annotations

from collections.abc import Mapping

from drillbox.memory.recall import DEFAULT_WEIGHTS, Recall
from drillbox.store.access import Store
from drillbox.store.card_rows import card
from drillbox.store.checks import check_store
from drillbox.store.reckoning import reckon_all
from drillbox.store.setting_rows import set_setting
from tests.store.making import add, go, session
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
