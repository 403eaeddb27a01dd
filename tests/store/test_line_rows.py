"""Lines laid anew with a setting: all of it or nothing, and nothing else touched."""

from __future__ import annotations

from dataclasses import replace

import pytest

from drillbox.music.pitch import Interval
from drillbox.store.access import Store
from drillbox.store.card_rows import cards_of
from drillbox.store.line_rows import set_and_lay
from drillbox.store.setting_rows import Set, get_settings

from .making import LINE, NOW, add, go, session

UP = Interval(7, 12)
HIGHER = tuple(replace(note, pitch=note.pitch.up(UP)) for note in LINE)


def test_every_line_is_laid_and_what_is_remembered_stays(store: Store):
    """Two phrases of twelve cards: 24 lines an octave up, the rated card's state as it was."""
    first, second = add(store, "Late kettle", "Red door")
    rated = cards_of(store, first.id)[0]
    go(store, rated.id, session(store))
    before = [card.state for card in cards_of(store, first.id)]
    assert before[0].attempts == 1
    assert (
        set_and_lay(store, Set("instrument", "flute", NOW), lambda phrase, key, breaking: HIGHER)
        == 24
    )
    for record in (first, second):
        assert {card.line for card in cards_of(store, record.id)} == {HIGHER}
    assert [card.state for card in cards_of(store, first.id)] == before
    assert get_settings(store)["instrument"] == "flute"


def test_lines_that_stay_are_not_counted(store: Store):
    """The same lines once more change nothing, but the setting is set."""
    add(store, "Late kettle")
    assert (
        set_and_lay(
            store, Set("instrument", "piano", NOW), lambda phrase, key, breaking: phrase.line
        )
        == 0
    )
    assert get_settings(store)["instrument"] == "piano"


def test_a_failure_half_way_leaves_setting_and_lines_as_they_were(store: Store):
    """The seventh card's line can't be made: no card and no setting is changed."""
    (record,) = add(store, "Late kettle")
    seen = []

    def breaks(phrase, key, breaking):
        seen.append(key)
        if len(seen) == 7:
            raise RuntimeError("no line")
        return HIGHER

    with pytest.raises(RuntimeError, match="no line"):
        set_and_lay(store, Set("instrument", "flute", NOW), breaks)
    assert {card.line for card in cards_of(store, record.id)} == {LINE}
    assert "instrument" not in get_settings(store)
