"""The practice day: the local date, with the small hours still part of the evening before."""

from __future__ import annotations

from datetime import date, datetime, timedelta, timezone
from functools import lru_cache
from zoneinfo import ZoneInfo

from drillbox.errors import BadInput


def practice_day(now: datetime, zone: str, day_start_hour: int) -> date:
    """Return the practice day of an instant for a player in an IANA zone.

    ``now`` is aware. The day begins when the local clock shows ``day_start_hour`` (0 to 23),
    so a day in which clocks change lasts 23 or 25 hours. Raises BadInput for a zone that the
    system doesn't know, ValueError for a naive ``now``.
    """
    if now.tzinfo is None:
        raise ValueError("a practice day needs an aware instant")
    return _day(now.astimezone(_zone(zone)), day_start_hour)


def practice_day_ahead(now: datetime, minutes: int, day_start_hour: int) -> date:
    """Return the practice day of an instant where the clock is so many minutes ahead of UTC."""
    return _day(now.astimezone(timezone(timedelta(minutes=minutes))), day_start_hour)


def offset_minutes(at: datetime, zone: str) -> int | None:
    """Return how many minutes the clock of a zone was ahead of UTC; None for an unknown zone."""
    ahead = at.astimezone(_zone(zone)).utcoffset() if knows(zone) else None
    return None if ahead is None else round(ahead.total_seconds() / 60)


def knows(zone: str) -> bool:
    """Return whether the system knows a zone."""
    try:
        _zone(zone)
    except BadInput:
        return False
    return True


def _day(local: datetime, day_start_hour: int) -> date:
    # Arithmetic on the wall clock, not on elapsed time: 04:00 is 04:00 in every season.
    return (local.replace(tzinfo=None) - timedelta(hours=day_start_hour)).date()


@lru_cache(maxsize=16)
def _zone(name: str) -> ZoneInfo:
    """Return the zone, or raise BadInput."""
    try:
        return ZoneInfo(name)
    except (KeyError, OSError, ValueError) as error:
        raise _unknown(name) from error


def _unknown(name: str) -> BadInput:
    return BadInput(
        f"{name!r} isn't a time zone that this system knows",
        "Use an IANA name such as Europe/Berlin or America/New_York.",
    )
