"""Days: the practice day begins at a set hour of the local clock; due days spread evenly."""

from __future__ import annotations

import random
from datetime import UTC, date, datetime, timedelta
from zlib import crc32

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.errors import BadInput
from drillbox.memory.days import (
    choose_due,
    due_window,
    knows_zone,
    mixed,
    offset_minutes,
    practice_day,
    seed_of,
)
from drillbox.memory.recall import MemoryState, interval_days
from drillbox.memory.rules import Rules

NAIVE = datetime(2020, 1, 1)  # noqa: DTZ001 - naive on purpose: Hypothesis draws naive ones


def at(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


@pytest.mark.parametrize(
    ("instant", "zone", "day"),
    [
        # Midnight: a session from 23:30 to 00:30 is one day, and so are the small hours.
        ("2026-11-20 22:30", "Europe/Berlin", date(2026, 11, 20)),
        ("2026-11-20 23:30", "Europe/Berlin", date(2026, 11, 20)),
        ("2026-11-21 02:59", "Europe/Berlin", date(2026, 11, 20)),
        ("2026-11-21 03:00", "Europe/Berlin", date(2026, 11, 21)),
        # Clocks forward in Berlin on 29 March 2026: 02:00 becomes 03:00 summer time, UTC+2.
        ("2026-03-29 01:59", "Europe/Berlin", date(2026, 3, 28)),
        ("2026-03-29 02:00", "Europe/Berlin", date(2026, 3, 29)),
        # Clocks back in Berlin on 25 October 2026: 03:00 becomes 02:00 winter time, UTC+1.
        ("2026-10-25 02:59", "Europe/Berlin", date(2026, 10, 24)),
        ("2026-10-25 03:00", "Europe/Berlin", date(2026, 10, 25)),
        # The same instant while travelling.
        ("2026-11-21 08:00", "America/New_York", date(2026, 11, 20)),
        ("2026-11-21 08:00", "Asia/Tokyo", date(2026, 11, 21)),
        ("2026-11-20 20:00", "Pacific/Kiritimati", date(2026, 11, 21)),
    ],
)
def test_day_of_an_instant(instant, zone, day):
    """With a day from 04:00, this instant belongs to that day there."""
    assert practice_day(at(instant), zone, 4) == day


@pytest.mark.parametrize(
    ("start", "hours"), [("2026-03-28", 23), ("2026-10-24", 25), ("2026-06-01", 24)]
)
def test_length_of_a_day(start, hours):
    """A practice day in which the clocks change has 23 or 25 hours."""
    day = date.fromisoformat(start)
    first = at(f"{start} 00:00")
    count = sum(
        practice_day(first + timedelta(minutes=30 * half), "Europe/Berlin", 4) == day
        for half in range(96)
    )
    assert count == hours * 2


@settings(max_examples=100)
@given(
    st.datetimes(NAIVE, NAIVE + timedelta(days=5000)),
    st.integers(0, 23),
    st.sampled_from(["Europe/Berlin", "America/St_Johns", "Australia/Lord_Howe", "UTC"]),
)
def test_days_never_run_backwards(instant, start, zone):
    """An hour later it is the same practice day or the next, in any season."""
    now = instant.replace(tzinfo=UTC)
    step = practice_day(now + timedelta(hours=1), zone, start) - practice_day(now, zone, start)
    assert step in {timedelta(0), timedelta(days=1)}


def test_bad_zone_and_naive_instant():
    """An unknown zone is told with a remedy; a naive instant is a programming fault."""
    for zone in ("Nowhere/Land", "../etc/passwd", ""):
        with pytest.raises(BadInput) as caught:
            practice_day(at("2026-01-01 00:00"), zone, 4)
        assert "IANA" in caught.value.remedy
    with pytest.raises(ValueError, match="aware"):
        practice_day(NAIVE, "UTC", 4)


def test_an_attempt_carries_how_far_its_clock_was_off() -> None:
    """In summer and in winter; nothing where the zone isn't known."""
    assert offset_minutes(at("2026-07-01 12:00"), "Europe/Berlin") == 120
    assert offset_minutes(at("2026-01-01 12:00"), "Asia/Kathmandu") == 345
    assert offset_minutes(at("2026-01-01 12:00"), "America/St_Johns") == -210
    assert offset_minutes(at("2026-01-01 12:00"), "Atlantis/Reef") is None
    assert not knows_zone("Atlantis/Reef")


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
    assert due_window(interval, 0.1) == days


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


@settings(max_examples=100)
@given(st.floats(0.1, 800), st.text(max_size=8), st.integers(0, 99))
def test_same_facts_same_day_inside_the_window(stability, seed, count):
    """The day is determined by the facts and lies inside the stated window."""
    moved = shift(stability, seed=seed, count=count)
    assert moved == shift(stability, seed=seed, count=count)
    assert abs(moved) <= due_window(interval_days(stability, 0.9), RULES.spread)


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


def test_known_values():
    """The finalizer gives MurmurHash3's fmix32, and a text its CRC-32."""
    # fmix32(0) = 0 and fmix32(1) = 0x514E28B7 are test values of the published algorithm.
    assert mixed(0, 0) == 0
    assert mixed(1, 0) == 0x514E28B7
    # The CRC-32 check value of "123456789" in every catalogue of CRCs.
    assert seed_of("123456789") == 0xCBF43926 == crc32(b"123456789")


def test_least_of_neighbours_is_even():
    """Which of five neighbouring numbers has the least hash is as good as a fair die."""
    wins = [0] * 5
    for seed in range(5000):
        wins[min(range(5), key=lambda number: mixed(seed, number))] += 1
    # 1000 each; standard deviation 28.
    assert all(abs(each - 1000) < 5 * 28.3 for each in wins)
