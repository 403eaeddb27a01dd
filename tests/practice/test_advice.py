"""The one thing to do next, in every state that a player can be in; and what waits for what."""

from __future__ import annotations

from datetime import timedelta

import pytest

from drillbox.memory.candidates import Candidate, Pace, Sitting
from drillbox.memory.chances import Chances
from drillbox.memory.choose import next_go
from drillbox.memory.learning import UNLEARNT, Learned
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules
from drillbox.memory.weakness import FINE, WEAK
from drillbox.music.keys import parse_key
from drillbox.practice.readiness import piled_up
from drillbox.practice.standing import (
    Cell,
    Standing,
    Waiting,
    Waits,
    bottlenecks,
)
from drillbox.practice.summing import Advice, advise
from drillbox.store.access import Store
from drillbox.store.card_rows import candidates
from tests.store.making import DAY, add, go, session

RULES = Rules()
SURELY = Learned(base=30.0)


def cell(
    number: int = 1, *, key: str = "C", phrase: int = 1, waits: Waits = "both", now: float = 0.5,
    tempo: int = 90,
) -> Cell:  # fmt: skip
    return Cell(
        number, phrase, f"Line {phrase}", parse_key(key), parse_key(key).number, 0, 120, tempo,
        now, not waits, "climbing" if waits else "owned", waits, DAY, DAY - timedelta(days=3), 4,
    )  # fmt: skip


def standing(id_: int, verdict: str) -> Standing:
    return Standing(id_, "x", verdict, 9, 3, 0.4, 0.3, 0.5, 1, 0, 0.9, 0.8, "both", DAY)


def advised(
    store: Store,
    *cells: Cell,
    pool: list[Candidate] | None = None,
    keys: tuple[Standing, ...] = (),
    phrases: tuple[Standing, ...] = (),
    learned: Learned = UNLEARNT,
    days: int = 1,
    rules: Rules = RULES,
) -> Advice:
    pool = candidates(store) if pool is None else pool
    chances = Chances(learned, pool, DAY.toordinal() + days, rules)
    return advise(store, pool, keys, phrases, cells, chances, rules, Pace())


def owned(card: Candidate) -> Candidate:
    return card._replace(
        tempo=card.goal, owned=True, clean=9, run=9, stability=90.0, difficulty=5.0,
        last_day=DAY.toordinal(), due=DAY.toordinal() + 60,
    )  # fmt: skip


def test_before_anything_was_played(store: Store) -> None:
    """Without a phrase: add one; with one: start."""
    assert advised(store).kind == "add"
    add(store, "Late kettle")
    assert advised(store).kind == "start"


def test_it_names_what_a_drill_begins_with(store: Store) -> None:
    """The card and the tempo are those of ``next_go``, with the model's chances of both tempi."""
    add(store, "Late kettle")
    go(store, 1, session(store), (Recall.LOST,))
    found = advised(store, cell())
    pool = candidates(store)
    chances = Chances(UNLEARNT, pool, DAY.toordinal() + 1, RULES)
    first = next_go(pool, Sitting(20), RULES, Pace(), chances)
    assert first is not None
    assert (found.kind, found.title, found.key, found.tempo) == (
        "climb", "Late kettle", parse_key("Bb"), first.tempo,
    )  # fmt: skip
    assert found.now == chances.at_goal(pool[0])
    assert found.at == chances.at(pool[0], first.tempo)


def test_a_new_key_follows_a_clean_one(store: Store) -> None:
    """The latest key came out at its goal today: what the drill begins with is the next one."""
    add(store, "Late kettle")
    go(store, 1, session(store), (Recall.FLUENT,) * 4)
    found = advised(store, cell(), days=0)
    assert (found.kind, found.title, found.key) == ("new key", "Late kettle", parse_key("Eb"))


def test_why_it_comes_first(store: Store) -> None:
    """A weak key before a weak phrase, with its share; at goal it is kept, below it climbs."""
    add(store, "Late kettle")
    go(store, 1, session(store), (Recall.LOST,))
    mine = cell(key="Bb")
    weak, fine = standing(10, WEAK), standing(1, WEAK)
    found = advised(store, mine, keys=(weak,), phrases=(fine,))
    assert (found.kind, found.share) == ("weak key", 0.4)
    assert advised(store, mine, keys=(standing(10, FINE),), phrases=(fine,)).kind == "weak phrase"
    (first, *_) = candidates(store)
    assert advised(store, mine, pool=[owned(first)._replace(owned=False)]).kind == "keep"


def test_more_at_goal_than_a_day_holds(store: Store) -> None:
    """With a minute a day and twelve keys due at goal it says how many, as a drill does."""
    add(store, "Late kettle")
    go(store, 1, session(store), (Recall.CLEAN,))
    pool = [owned(each)._replace(due=DAY.toordinal()) for each in candidates(store)]
    rules = Rules(minutes=1)
    found = advised(store, cell(), pool=pool, rules=rules)
    chances = Chances(UNLEARNT, pool, DAY.toordinal() + 1, rules)
    assert (found.kind, found.piled_up) == (
        "catch up", piled_up(pool, chances, rules, Pace()),
    )  # fmt: skip
    assert found.piled_up is not None
    assert found.piled_up.keys == 12


def test_nothing_stands_in_the_way(store: Store) -> None:
    """Every card owned, not due and sure: time for a new phrase; one less sure: it is kept."""
    add(store, "Late kettle")
    go(store, 1, session(store), (Recall.CLEAN,))
    pool = [owned(each) for each in candidates(store)]
    assert advised(store, cell(), pool=pool, learned=SURELY).kind == "all owned"
    pool[3] = pool[3]._replace(due=DAY.toordinal())
    assert advised(store, cell(4), pool=pool, learned=SURELY).kind == "keep"


def test_bottlenecks_of_phrases_and_of_the_key_least_clean_at_goal() -> None:
    """The phrases with most keys left and the key with the least chances, each once for what some
    of its cards lack, with how many do; what is owned doesn't count."""
    cells = [
        cell(1, key="C", waits="tempo", tempo=60, now=0.2), cell(2, key="F", waits="tempo"),
        cell(3, key="C", phrase=2, waits="memory", tempo=120), cell(4, key="F", phrase=2, now=0.9),
        cell(5, key="Bb", phrase=2, waits="memory", tempo=120), cell(6, phrase=3, waits=""),
    ]  # fmt: skip
    assert bottlenecks(cells) == (
        Waiting("phrase", "Line 2", "memory", 2, pytest.approx(1)),
        Waiting("phrase", "Line 2", "both", 1, pytest.approx(0.75)),
        Waiting("phrase", "Line 1", "tempo", 2, pytest.approx(0.625)),
        Waiting("key", "C", "tempo", 1, pytest.approx(0.5)),
        Waiting("key", "C", "memory", 1, pytest.approx(1)),
    )
    assert bottlenecks([cell(waits="")]) == ()


def test_the_key_least_clean_at_goal_is_so_by_all_of_its_phrases() -> None:
    """As in the table of keys: what is owned counts for the mean, too."""
    cells = [cell(n, key="C", phrase=n, now=0.4) for n in (1, 2)]
    cells += [cell(n + 2, key="F", phrase=n, now=0.5) for n in (1, 2)]
    assert bottlenecks(cells)[-1].name == "C"
    cells.append(cell(5, key="C", phrase=3, waits="", now=0.95))
    assert bottlenecks(cells)[-1].name == "F"


def test_no_key_is_named_where_there_is_but_one() -> None:
    """Ten phrases share it: each is there for itself alone."""
    found = bottlenecks([cell(n, phrase=n) for n in range(1, 11)])
    assert [each.kind for each in found] == ["phrase"] * 10
