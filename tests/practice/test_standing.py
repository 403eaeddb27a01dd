"""Each card as it stands, and the sums over them."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from drillbox.memory.candidates import Candidate
from drillbox.memory.chances import SURE_ENOUGH
from drillbox.memory.rules import Rules
from drillbox.music.keys import Key, parse_key
from drillbox.practice.standing import Cell, Slipping, cells, present, slipping, waits_for
from drillbox.store.first_tries import OpenCard

TODAY = date(2026, 3, 2)
RULES = Rules()


def same(key: Key) -> Key:
    return key


def one(
    *, now: float = 0.9, tempo: int = 120, stability: float = 10.0, owned: bool = False
) -> Cell:
    card = OpenCard(
        1, 1, "Bb", 0, 120, tempo, stability, TODAY - timedelta(days=3), TODAY, 9, 0, owned
    )
    (found,) = cells([card], {1: "Late kettle"}, {1: now}, RULES, same)
    return found


def test_now_is_the_chance_that_was_asked_for() -> None:
    """The cell shows the model's chance of a clean cold go at goal, and no other."""
    assert one(now=0.613).now == 0.613


def test_levels() -> None:
    """Owned whatever the chance; else climbing below the goal; at it sure from .85 on, or not."""
    assert one(owned=True, now=0.3).level == "owned"
    assert one(tempo=119, now=0.99).level == "climbing"
    assert one(now=SURE_ENOUGH).level == "sure"
    assert one(now=SURE_ENOUGH - 0.01).level == "unsure"


def test_what_a_card_waits_for() -> None:
    """Tempo below the goal with a memory that lasts 28 days; both with less; memory at goal,
    where clean goes must still prove it; nothing once owned."""
    assert one(tempo=119, stability=28.0).waits == "tempo"
    assert one(tempo=119, stability=27.9).waits == "both"
    assert one(stability=90.0).waits == "memory"
    assert one(owned=True).waits == ""


def test_what_never_stays() -> None:
    """Missed on eight days, and four more for each clean one; the most missed first, and only of
    the cards in scope."""
    card = Candidate(1, 1, 0, 16.0, 120, 100, last_day=TODAY.toordinal(), clean=1, missed=12)
    other = one()._replace(card_id=2, title="Four lamps")
    pool = [card, card._replace(card_id=2, clean=0, missed=40), card._replace(card_id=3)]
    named = [Slipping("Four lamps", "Bb", 0, 40), Slipping("Late kettle", "Bb", 1, 12)]
    assert slipping([one(), other], pool) == tuple(named)
    assert slipping([one()], [card._replace(missed=11)]) == ()


def test_a_group_waits_for_what_half_of_it_lacks() -> None:
    """Cards that are owned don't count; a card that lacks both counts for each."""
    tempo, memory, both = one(tempo=90, stability=40.0), one(), one(tempo=90)
    assert waits_for([tempo, tempo, memory]) == "tempo"
    assert waits_for([memory, both]) == "both"
    assert waits_for([memory, memory, both]) == "memory"
    assert waits_for([one(owned=True), one(owned=True), tempo]) == "tempo"
    assert waits_for([one(owned=True)]) == ""


def test_keys_that_sound_alike_are_one() -> None:
    """Gb and F# are; Gb and F#m are not."""
    assert parse_key("Gb").number == parse_key("F#").number == 6
    assert parse_key("F#m").number == 18


def test_the_sum_of_cards() -> None:
    """Means over what was started; nothing started divides by nothing."""
    empty = present([], 2, 24, TODAY)
    assert (empty.started, empty.now, empty.tempo, empty.cards) == (0, 0.0, 0.0, 24)
    total = present([one(owned=True), one(now=0.3), one(now=0.6, tempo=60)], 1, 12, TODAY)
    assert (total.started, total.owned, total.at_goal, total.unsure, total.due) == (3, 1, 2, 1, 3)
    assert total.tempo == pytest.approx(2.5 / 3)
    assert total.now == pytest.approx(0.6)
