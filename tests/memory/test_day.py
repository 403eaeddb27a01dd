"""The practice day begins at a set hour of the local clock, whatever the clocks do."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.errors import BadInput
from drillbox.memory.day import knows, offset_minutes, practice_day

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


@settings(max_examples=100, deadline=None)
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
    assert not knows("Atlantis/Reef")
