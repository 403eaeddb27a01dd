"""Reckoning anew: when the rules have changed every card is what its log gives by the new ones."""

from __future__ import annotations

from dataclasses import replace

from drillbox.memory.recall import DEFAULT_WEIGHTS, Recall
from drillbox.memory.rules import Rules
from drillbox.memory.tempo import TempoRules
from drillbox.store.access import Store
from drillbox.store.card_rows import card
from drillbox.store.checks import check_store
from drillbox.store.reckoning import reckon_all
from tests.store.making import add, go, session

OTHER = replace(
    Rules(),
    tempo=TempoRules(start_tempo=0.5, tempo_step=0.1),
    weights=tuple(each * 1.1 for each in DEFAULT_WEIGHTS[:20]) + DEFAULT_WEIGHTS[20:],
)


def test_every_card_follows_the_new_rules(store: Store) -> None:
    """Open cards are replayed, untried ones begin at the new share; due days stay."""
    add(store, "Late kettle")
    go(store, 1, session(store), (Recall.LOST, Recall.CLEAN))
    before = card(store, 1)
    assert check_store(store, OTHER)
    assert reckon_all(store, OTHER) == 12
    after = card(store, 1)
    assert check_store(store, OTHER) == []
    assert after.state.memory != before.state.memory
    assert after.state.due == before.state.due
    assert after.opened_day == before.opened_day
    assert card(store, 2).state.tempo.tempo == 66


def test_going_back_to_the_former_rules_restores_all(store: Store) -> None:
    """A state is a function of log and rules: there and back changes nothing."""
    add(store, "Late kettle")
    go(store, 1, session(store), (Recall.LOST, Recall.CLEAN, Recall.FLUENT))
    before = [card(store, card_id) for card_id in range(1, 13)]
    assert reckon_all(store, Rules()) == 0
    reckon_all(store, OTHER)
    reckon_all(store, Rules())
    assert [card(store, card_id) for card_id in range(1, 13)] == before
