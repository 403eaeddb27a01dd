"""Laying cards out for another instrument: all or none, and nothing that is remembered changes."""

from __future__ import annotations

import pytest

from drillbox.memory.recall import Recall
from drillbox.music.moving.instruments import find_instrument, laid
from drillbox.store.access import Store
from drillbox.store.card_rows import cards_of
from drillbox.store.laying import set_and_lay
from drillbox.store.setting_rows import Set, get_settings
from drillbox.store.sql import change
from tests.store.making import LINE, NOW, add, go, session

CELLO = find_instrument("cello")
SETTING = Set("instrument", "cello", NOW)


def test_every_line_is_laid_and_what_is_remembered_stays(store: Store) -> None:
    """Two phrases of twelve cards: each in the octave for a cello, the rated card as it was."""
    first, second = add(store, "Late kettle", "Red door")
    rated = cards_of(store, first.id)[0]
    go(store, rated.id, session(store), (Recall.CLEAN,))
    before = [card.state for card in cards_of(store, first.id)]
    assert before[0].attempts == 1
    set_and_lay(store, SETTING, CELLO.sounding_range)
    for record in (first, second):
        for card in cards_of(store, record.id):
            there = laid(record.phrase, card.key, breaking=False,
                         sounding_range=CELLO.sounding_range)  # fmt: skip
            assert (card.line, card.chart) == (there.line, there.chart)
    assert [card.state for card in cards_of(store, first.id)] == before
    assert get_settings(store)["instrument"] == "cello"


def test_a_failure_half_way_leaves_setting_and_lines_as_they_were(store: Store) -> None:
    """Broken off at the second phrase: no card and no setting is changed."""
    records = add(store, "Late kettle", "Red door")

    def broken_off(done: int, _of: int) -> None:
        if done == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        set_and_lay(store, SETTING, CELLO.sounding_range, broken_off)
    assert {card.line for each in records for card in cards_of(store, each.id)} == {LINE}
    assert "instrument" not in get_settings(store)


def test_a_phrase_that_cannot_be_read_is_left_as_it_is(store: Store) -> None:
    """It keeps no other from being laid; whoever reads it is told."""
    add(store, "Late kettle", "Red door")
    with store.write() as connection:
        connection.execute(change("UPDATE phrase SET key = 'H' WHERE id = 1"))
    set_and_lay(store, SETTING, CELLO.sounding_range)
    assert {card.line for card in cards_of(store, 1)} == {LINE}
    assert len({card.line for card in cards_of(store, 2)}) == 12
