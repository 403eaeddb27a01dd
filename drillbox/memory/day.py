"""The practice day: the local date, with the small hours still part of the evening before."""

from __future__ import annotations

from datetime import date, datetime, timedelta
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
    local = now.astimezone(_zone(zone))
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
