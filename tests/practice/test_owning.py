"""What is kept of when cards were owned is what replaying their logs gives, whatever happened."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date, timedelta

import pytest

from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules
from drillbox.memory.tempo import TempoRules
from drillbox.practice.progress import all_turns, turns
from drillbox.store.access import Store
from drillbox.store.attempts import undo_attempt
from drillbox.store.card_rows import card
from drillbox.store.phrase_rows import delete_phrase, retire
from drillbox.store.reckoning import reckon_all
from drillbox.store.sql import query
from drillbox.store.turns import kept_turns, played_cards
from drillbox.store.weeks import logs_of
from tests.store.making import NOW, add, go, session

EASY = replace(Rules(), owned_days=3)
RULES = (EASY, replace(EASY, owned_days=8), replace(EASY, tempo=TempoRules(tempo_step=0.2)))


def replayed(store: Store, rules: Rules) -> list[list[tuple[date, bool]]]:
    """Return the turns of every card by replaying its whole log."""
    cards = [each.card_id for each in played_cards(store)]
    return [found for log in logs_of(store, cards) if (found := turns(log, rules))]


def nothing(_done: int, _of: int) -> None:
    """Hear nothing."""


@pytest.mark.parametrize("seed", range(6))
def test_what_is_kept_is_what_the_log_gives(store: Store, seed: int) -> None:
    """Rated, undone, reckoned by other rules, a phrase retired or deleted: after each step."""
    dice = random.Random(seed)
    add(store, "Late kettle", "Blue door")
    sitting, made = session(store), []
    for step in range(30):
        day = NOW.date() + timedelta(days=step * 2)
        rules = dice.choice(RULES)
        deed = dice.choice(("rate", "rate", "rate", "rate", "undo", "reckon"))
        if deed == "rate":
            number = dice.choice((1, 2, 13))
            before = card(store, number).state
            recall = dice.choices(list(Recall), (1, 1, 2, 8))[0]
            at = NOW + timedelta(days=step * 2)
            made.append((go(store, number, sitting, (recall,), at=at, day=day)[0], before))
        elif deed == "undo" and made:
            attempt, before = made.pop()
            undo_attempt(store, attempt.id, before, NOW)
        elif deed == "reckon":
            reckon_all(store, EASY)
            made.clear()
        found = [each for each in all_turns(store, rules, nothing) if each]
        assert found == replayed(store, rules)
    retire(store, 2, NOW)
    assert [each for each in all_turns(store, EASY, nothing) if each] == replayed(store, EASY)


def test_a_log_is_replayed_once(store: Store) -> None:
    """The second time nothing is; after one more rating that card alone."""
    add(store, "Late kettle", "Blue door")
    sitting = session(store)
    for number in (1, 2, 13):
        for times in range(14):
            at = NOW + timedelta(days=times)
            go(store, number, sitting, (Recall.FLUENT,), at=at, day=at.date())
    told: list[int] = []
    all_turns(store, EASY, lambda _done, of: told.append(of))
    assert told == [3, 3, 3]
    all_turns(store, EASY, lambda _done, of: told.append(of))
    assert told == [3, 3, 3]
    at = NOW + timedelta(days=20)
    go(store, 2, sitting, (Recall.LOST,), at=at, day=at.date())
    all_turns(store, EASY, lambda _done, of: told.append(of))
    assert told == [3, 3, 3, 1]
    delete_phrase(store, 2, NOW)
    assert set(kept_turns(store)) == {1, 2}


def test_a_store_that_may_only_be_read_shows_it_too(store: Store) -> None:
    """What can't be kept is found all the same."""
    add(store, "Late kettle")
    for times in range(14):
        at = NOW + timedelta(days=times)
        go(store, 1, session(store), (Recall.FLUENT,), at=at, day=at.date())
    store.place.chmod(0o400)
    with store.read() as connection:
        connection.execute(query("PRAGMA query_only = ON"))
    assert [each for each in all_turns(store, EASY, nothing) if each] == replayed(store, EASY)
