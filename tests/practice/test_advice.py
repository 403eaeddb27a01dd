"""The one thing to do next, in every state that a player can be in."""

from __future__ import annotations

from datetime import timedelta

import pytest

from drillbox.memory.pace import Pace
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules
from drillbox.music.keys import parse_key
from drillbox.practice.advice import Advice, advise
from drillbox.practice.present import Cell, key_id, present
from drillbox.practice.standing import FINE, WEAK, Standing
from drillbox.store.access import Store
from tests.store.making import DAY, add, go, session

RULES = Rules()


def cell(number: int = 1, *, key: str = "C", due: int = 0, now: float = 0.9) -> Cell:
    return Cell(
        number, number, f"Line {number}", parse_key(key), key_id(parse_key(key)), 0, 120, 90,
        now, False, "sure", DAY + timedelta(days=due), DAY - timedelta(days=3), 4, 16.0,
    )  # fmt: skip


def standing(id_: int, verdict: str) -> Standing:
    return Standing(id_, "x", verdict, 9, 3, 0.4, 0.3, 0.5, 1, 0, 0.9, 0.8, DAY)


def advised(
    store: Store,
    *cells: Cell,
    keys: tuple[Standing, ...] = (),
    phrases: tuple[Standing, ...] = (),
    cards: int = 99,
    rules: Rules = RULES,
) -> Advice:
    total = present(cells, len(cells), cards, DAY, rules)
    return advise(store, cells, keys, phrases, total, DAY, rules, Pace())


def test_the_most_faded_of_what_is_due(store: Store) -> None:
    """Without weakness, the card that drill would show first, and how much waits."""
    found = advised(store, cell(1, now=0.9), cell(2, now=0.7), cell(3, now=0.1, due=2))
    assert (found.kind, found.title, found.cards) == ("due", "Line 2", 2)
    assert found.minutes == pytest.approx(2 * (2 * 16 * 60 / 90 + 10) / 60)


def test_a_weak_key_that_is_due_comes_first(store: Store) -> None:
    """Its most faded card, though another one has faded more."""
    found = advised(
        store, cell(1, key="Db", now=0.9), cell(2, key="C", now=0.5),
        keys=(standing(1, WEAK), standing(0, FINE)), phrases=(standing(2, WEAK),),
    )  # fmt: skip
    assert (found.kind, found.title, found.key, found.share) == (
        "weak key", "Line 1", parse_key("Db"), 0.4,
    )  # fmt: skip


def test_a_weak_phrase_that_is_due(store: Store) -> None:
    """Where no weak key waits."""
    found = advised(
        store, cell(1, key="Db", due=3), cell(2),
        keys=(standing(1, WEAK),), phrases=(standing(2, WEAK),),
    )  # fmt: skip
    assert (found.kind, found.title) == ("weak phrase", "Line 2")


def test_a_backlog_comes_before_all(store: Store) -> None:
    """More than a day's minutes due: begin with what has faded most."""
    cells = [cell(n, now=1 - n / 100) for n in range(1, 60)]
    found = advised(store, *cells, keys=(standing(0, WEAK),))
    assert (found.kind, found.title, found.cards) == ("backlog", "Line 59", 59)


def test_nothing_due_opens_a_new_key(store: Store) -> None:
    """The next key of the phrase that holds, at its first tempo."""
    add(store, "Late kettle")
    go(store, 1, session(store), (Recall.FLUENT,))
    found = advised(store, cell(1, due=8))
    assert (found.kind, found.title, found.key, found.tempo) == (
        "open", "Late kettle", parse_key("Eb"), 79,
    )  # fmt: skip


def test_nothing_due_and_nothing_to_open_is_rest(store: Store) -> None:
    """The first that comes is named; so it is with new keys turned off."""
    found = advised(store, cell(1, due=3), cell(2, due=1))
    assert (found.kind, found.title, found.due) == ("wait", "Line 2", DAY + timedelta(days=1))
    add(store, "Late kettle")
    assert advised(store, cell(1, due=3), rules=Rules(new_a_day=0)).kind == "wait"


def test_everything_owned(store: Store) -> None:
    """Nothing due and every card owned: time for a new phrase."""
    mine = cell(1, due=9)._replace(owned=True)
    assert advised(store, mine, cards=1).kind == "all owned"
