"""Due days follow the wanted retention, spread evenly and keep the keys of a phrase apart."""

from __future__ import annotations

import random
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.memory.due import choose_due, window
from drillbox.memory.recall import MemoryState, interval_days
from drillbox.memory.rules import Rules

RULES = Rules()
DAY = date(2026, 5, 1)


def shift(stability: float, **more) -> int:
    """Return how far from its plain interval the card was put, in days."""
    memory = MemoryState(stability, 5.0, DAY)
    facts = {"seed": "card 1", "count": 1, "load": {}, "siblings": ()} | more
    due = choose_due(memory, RULES, **facts)
    return (due - DAY).days - interval_days(stability, RULES.recall_target)


@pytest.mark.parametrize(
    ("interval", "days"), [(1, 0), (2, 0), (3, 1), (14, 1), (15, 2), (40, 4), (365, 37)]
)
def test_window(interval, days):
    """The window is a tenth of the interval, a day at least from three days on."""
    assert window(interval, 0.1) == days


def test_short_intervals_stay():
    """A card due in a day or two isn't moved, whatever the load."""
    load = {DAY + timedelta(days=each): 9 for each in (1, 2)}
    assert shift(1.0, load=load) == 0
    assert shift(2.3, load=load) == 0


def test_least_loaded_day_wins():
    """Inside the window the day with the fewest cards is taken."""
    load = {DAY + timedelta(days=20 + each): 3 for each in (-2, -1, 0, 2)}
    assert shift(20.0, load=load) == 1


def test_days_of_sibling_keys_are_avoided_before_load_counts():
    """A day on which another key of the phrase is due is taken only when all are."""
    days = [DAY + timedelta(days=20 + each) for each in range(-2, 3)]
    load = dict.fromkeys(days, 0) | {days[4]: 50}
    assert shift(20.0, load=load, siblings=days[:4]) == 2
    assert shift(20.0, load=load, siblings=days) != 2


@settings(max_examples=100, deadline=None)
@given(st.floats(0.1, 800), st.text(max_size=8), st.integers(0, 99))
def test_same_facts_same_day_inside_the_window(stability, seed, count):
    """The day is determined by the facts and lies inside the stated window."""
    moved = shift(stability, seed=seed, count=count)
    assert moved == shift(stability, seed=seed, count=count)
    assert abs(moved) <= window(interval_days(stability, 0.9), RULES.spread)


def test_spread_is_even_and_leans_neither_way():
    """Over many cards each day of the window is taken equally often: mean shift 0."""
    shifts = [shift(40.0, seed=f"card {each}") for each in range(4500)]
    counts = [shifts.count(each) for each in range(-4, 5)]
    assert sum(counts) == 4500
    # Uniform: 500 each, standard deviation 21; the mean's is .0385.
    assert all(abs(count - 500) < 5 * 21 for count in counts)
    assert abs(sum(shifts) / 4500) < 4 * 0.0385


def test_load_that_leans_neither_way_moves_no_average():
    """With loads that fall at random the mean shift is 0 too."""
    source = random.Random(7)
    shifts = []
    for each in range(2000):
        load = {DAY + timedelta(days=days): source.randrange(5) for days in range(60)}
        shifts.append(shift(40.0, seed=f"card {each}", load=load))
    assert abs(sum(shifts) / 2000) < 4 * 0.058


def test_load_evens_out():
    """Cards put one after the other fill the days of the window evenly."""
    load: dict[date, int] = {}
    for each in range(90):
        memory = MemoryState(40.0, 5.0, DAY)
        due = choose_due(memory, RULES, f"card {each}", 1, load, ())
        load[due] = load.get(due, 0) + 1
    assert sorted(load.values()) == [10] * 9
