"""Drills around the hours in which clocks change: each rating on its day, by its zone's offset."""

from __future__ import annotations

import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from drillbox.memory.rules import Rules

# When clocks change, in UTC: by an hour, by half an hour, at midnight, and by a whole day.
CHANGES = (
    ("Europe/Lisbon", "2026-03-29T01:00"), ("Europe/Lisbon", "2026-10-25T01:00"),
    ("America/New_York", "2026-03-08T07:00"), ("America/New_York", "2026-11-01T06:00"),
    ("Australia/Lord_Howe", "2026-04-04T15:00"), ("Australia/Lord_Howe", "2026-10-03T15:30"),
    ("America/Havana", "2026-03-08T05:00"), ("Africa/Casablanca", "2026-02-15T02:00"),
    ("Pacific/Apia", "2011-12-30T10:00"), ("Asia/Kathmandu", "2026-03-01T00:00"),
)  # fmt: skip
HOURS = (-72, -48, -30, -24, -4.5, -2, -1, -0.5, -0.01, 0, 0.01, 0.5, 1, 2, 3, 4.5, 23, 24, 25, 48)
LATEST = "SELECT day, at, utc_offset FROM attempt ORDER BY id DESC LIMIT 1"


def told(moment: datetime) -> str:
    """Write an instant as DRILLBOX_NOW has it."""
    return f"{moment:%Y-%m-%dT%H:%M:%SZ}"


@pytest.mark.parametrize(
    ("zone", "changes"),
    [
        pytest.param(*each, marks=() if number in {1, 5} else pytest.mark.slow)
        for number, each in enumerate(CHANGES)
    ],
)
def test_drills_while_clocks_change(
    drillbox, place: Path, monkeypatch: pytest.MonkeyPatch, zone: str, changes: str
) -> None:
    """Twenty in five days: none is refused, and the log gives every card."""
    monkeypatch.setenv("TZ", zone)
    at = datetime.fromisoformat(changes).replace(tzinfo=UTC)
    words = (
        "--title",
        "Late kettle",
        "--key",
        "Bb",
        "--tempo",
        "132",
        "--chart",
        "Cm7 F7 | Bbmaj7",
    )
    assert drillbox("add", *words, now=told(at - timedelta(days=4))).code == 0
    for hours in HOURS:
        moment = at + timedelta(hours=hours)
        ran = drillbox("drill", keys="c\nf\n", now=told(moment))
        assert (ran.code, ran.err) == (0, "")
        local = moment.astimezone(ZoneInfo(zone))
        day = (local.replace(tzinfo=None) - timedelta(hours=Rules().day_start_hour)).date()
        ahead = local.utcoffset()
        assert ahead is not None
        with sqlite3.connect(place) as raw:
            assert raw.execute(LATEST).fetchone() == (
                str(day), f"{moment:%Y-%m-%d %H:%M:%S.000000}", ahead.total_seconds() / 60
            )  # fmt: skip
    assert drillbox("store", "check", now=told(moment)).out.startswith("Nothing is wrong")
    assert drillbox("progress", now=told(moment)).err == ""
