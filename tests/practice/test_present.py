"""Memory now, card by card: the levels and where one ends and the next begins."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from drillbox.memory.recall import MemoryState, interval_days, retrievability
from drillbox.memory.rules import Rules
from drillbox.memory.tempo import TempoRules
from drillbox.music.keys import Key, parse_key
from drillbox.practice.present import Cell, cells, key_id, present
from drillbox.store.evidence import OpenCard

TODAY = date(2026, 3, 2)


def same(key: Key) -> Key:
    return key


RULES = Rules()


def one(*, stability: float = 30.0, days: int = 0, tempo: int = 120, rules: Rules = RULES) -> Cell:
    card = OpenCard(
        1, 1, "Bb", 0, 16.0, 120, tempo, stability, TODAY - timedelta(days=days), TODAY, 9
    )
    (found,) = cells([card], {1: "Late kettle"}, TODAY, rules, same)
    return found


def test_now_is_the_retrievability_of_the_card() -> None:
    """As the memory tells it for the same stability and day."""
    memory = MemoryState(12.0, 5.0, TODAY - timedelta(days=9))
    assert one(stability=12.0, days=9).now == pytest.approx(retrievability(memory, TODAY))


def test_levels() -> None:
    """Owned at goal and 21 days stable; sure; fading under the wanted retention; rusty under
    the chance at which a card comes back slower."""
    assert one(stability=21.0).level == "owned"
    assert one(stability=20.9).level == "sure"
    assert one(tempo=119).level == "sure"
    assert one(stability=10.0, days=13).level == "fading"
    assert one(stability=10.0, days=40).level == "rusty"
    assert one(stability=10.0, days=40, rules=Rules(tempo=TempoRules(break_below=0.5))).level == (
        "fading"
    )


@pytest.mark.parametrize("retention", [0.8, 0.9, 0.95])
@pytest.mark.parametrize("stability", [3.0, 10.0, 40.0, 200.0])
def test_a_card_is_not_fading_before_it_is_due(retention: float, stability: float) -> None:
    """On the day before its due day, and owned or not, it counts as sure."""
    rules = Rules(retention=retention)
    days = interval_days(stability, retention) - 1
    if days:
        assert one(stability=stability, days=days, rules=rules).level in {"sure", "owned"}


def test_keys_that_sound_alike_are_one() -> None:
    """Gb and F# are; Gb and F#m are not."""
    assert key_id(parse_key("Gb")) == key_id(parse_key("F#")) == 6
    assert key_id(parse_key("F#m")) == 18


def test_the_sum_of_cards() -> None:
    """Means over what is open; nothing open divides by nothing."""
    empty = present([], 2, 24, TODAY, Rules())
    assert (empty.open, empty.now, empty.tempo, empty.cards) == (0, 0.0, 0.0, 24)
    pair = [one(), one(stability=10.0, days=40, tempo=60)]
    total = present(pair, 1, 12, TODAY, Rules())
    assert (total.open, total.owned, total.under, total.due) == (2, 1, 1, 2)
    assert total.tempo == pytest.approx(0.75)
