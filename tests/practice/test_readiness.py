"""What has piled up is counted, timed and told in days, as a range."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from drillbox.memory.candidates import Candidate, Pace
from drillbox.memory.chances import Chances
from drillbox.memory.learning import Learned
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules
from drillbox.practice.readiness import PiledUp, Ready, chances_of, piled_up
from drillbox.store.access import Store
from drillbox.store.card_rows import card, record_attempt
from drillbox.store.values import NewAttempt
from tests.store.making import DAY, NOW, ZONE, add_in_keys, go, session, step

TODAY = date(2026, 6, 1).toordinal()
RULES = Rules(loops=2, between_goes=10, minutes=20)


def cards(count: int, due: int, first: int = 0) -> list[Candidate]:
    """Return sure cards at goal tempo of 20 s each (10 s of playing, 10 s besides)."""
    return [
        Candidate(first + each, each, 0, 10.0, 120, 120, 20.0, 5.0, TODAY - 5, TODAY + due, 9, 0, 9)
        for each in range(count)
    ]


def told(some: list[Candidate]) -> PiledUp:
    chances = Chances(Learned(base=5.0), some, TODAY, RULES)
    return piled_up(some, chances, RULES, Pace())


def test_counts_what_is_due_at_goal():
    """Three keys due are a minute; keys not due, below the goal or never begun aren't in it."""
    climbing = cards(1, 0, 50)[0]._replace(tempo=90)
    found = told([*cards(3, 0), *cards(2, 40, 20), climbing, Candidate(99, 9, 0, 10.0, 120, 72)])
    assert found.keys == 3
    assert found.minutes == pytest.approx(1.0)


def test_what_is_not_due_has_not_piled_up():
    """However unsure a key is: what the summary and the recap call due is the same."""
    some = cards(2, 40)
    unsure = Chances(Learned(base=-1.0), some, TODAY, RULES)
    assert piled_up(some, unsure, RULES, Pace()).keys == 0


def test_nothing_piled_up():
    """Without a key nothing is due."""
    assert told([]) == (0, 0.0)


def missed(store: Store, sitting: int, day: int, first: Recall, later: Recall) -> None:
    """Miss each key once, each other one a fifth below the tempo reached, and later on that day
    again."""
    for card_id in range(1, 13):
        before = card(store, card_id).state
        attempted, after = step(before, first, DAY + timedelta(days=day))
        slow = attempted._replace(tempo=80 if card_id % 2 else 100)
        at = NOW + timedelta(days=day)
        record_attempt(
            store,
            NewAttempt(card_id, sitting, at, ZONE, slow, before.attempts, reached=100),
            after,
        )
        go(store, card_id, sitting, (later,), at=at + timedelta(minutes=5),
           day=DAY + timedelta(days=day))  # fmt: skip


@pytest.mark.parametrize(
    ("slips", "good", "lenient"),
    [(Recall.LOST, True, True), (Recall.ROUGH, True, False), (Recall.LOST, False, False)],
    ids=["lost", "rough", "never comes out"],
)
def test_whose_clean_goes_count_as_rough(
    store: Store, slips: Recall, good: bool, lenient: bool
) -> None:
    """The log tells: what was lost where the fingers could do it, and what where memory could;
    but nothing at keys that hardly ever come out."""
    add_in_keys(store, "Late kettle")
    sitting = session(store)
    for day in range(6):
        first = Recall.LOST if day % 2 else Recall.ROUGH
        missed(store, sitting, 2 * day, first, slips if day % 2 else Recall.ROUGH)
        for card_id in range(1, 13) if good else ():
            at = timedelta(days=2 * day + 1)
            go(store, card_id, sitting, (Recall.FLUENT,), at=NOW + at, day=DAY + at)
    found = chances_of(store, Rules(), DAY + timedelta(days=14))
    assert found.learned.lenient is lenient


@pytest.mark.parametrize(
    ("days", "said"),
    [(0, ""), (1, "58%, few goes"), (3, "58%, few goes"), (4, "58%, some goes"),
     (9, "58%, some goes"), (10, "58%, many goes")],
)  # fmt: skip
def test_a_chance_is_told_with_what_it_rests_on(days: int, said: str):
    """On how many days' goes; it isn't called sure, a word for what comes out clean. What is new
    has none."""
    assert Ready(1, 0.58, days).figures == said
