"""Days: which practice day it is, and on which one a card is due again.

The practice day is the local date, with the small hours still part of the evening before. A card
is due where recall falls to the target, spread to even the load.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import date, datetime, timedelta, timezone
from functools import lru_cache
from zlib import crc32
from zoneinfo import ZoneInfo

from drillbox.errors import BadInput
from drillbox.memory.recall import MemoryState, interval_days
from drillbox.memory.rules import Rules


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
    ahead = at.astimezone(_zone(zone)).utcoffset() if knows_zone(zone) else None
    return None if ahead is None else round(ahead.total_seconds() / 60)


def knows_zone(zone: str) -> bool:
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


def due_window(interval: int, spread: float) -> int:
    """Return by how many days either way a due day may move.

    That is the share ``spread`` of the interval, to the nearest day, and one day at least
    from an interval of three on; shorter ones don't move.
    """
    return 0 if interval < 3 else max(1, int(interval * spread + 0.5))


def choose_due(
    memory: MemoryState,
    rules: Rules,
    seed: str,
    count: int,
    load: Mapping[date, int],
    siblings: Collection[date],
) -> date:
    """Return the day on which a card is due after its latest attempt.

    ``seed`` names the card and ``count`` its attempts so far: the same values always yield the
    same day. ``load`` counts the cards due on each day; ``siblings`` holds the days on which
    other keys of the phrase are due. Inside the window a day without siblings comes first,
    then the least loaded, then the one that a hash picks, which leans neither way.
    """
    interval = interval_days(memory.stability, rules.recall_target, rules.weights)
    half = due_window(interval, rules.spread)
    days = [memory.last_day + timedelta(days=interval + shift) for shift in range(-half, half + 1)]
    hashed = seed_of(f"{seed}/{count}")
    return min(
        days,
        key=lambda day: (day in siblings, load.get(day, 0), mixed(hashed, day.toordinal())),
    )


_MASK = 0xFFFFFFFF


def seed_of(text: str) -> int:
    """Return a 32-bit number that stands for a text."""
    return crc32(text.encode())


def mixed(seed: int, number: int) -> int:
    """Return a 32-bit number that looks random for each pair of seed and number.

    The finalizer of MurmurHash3 (Appleby); a bare CRC is linear, and its least value over
    neighbouring days is not spread evenly.
    """
    value = (seed + number * 0x9E3779B1) & _MASK
    value ^= value >> 16
    value = value * 0x85EBCA6B & _MASK
    value ^= value >> 13
    value = value * 0xC2B2AE35 & _MASK
    return value ^ value >> 16
