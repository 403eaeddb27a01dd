"""Breaks in practice: when the player came back from the latest one, and how long it was."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple


class Break(NamedTuple):
    """The practice day on which the player was back (``date.toordinal()``), and the days away."""

    day: int
    away: int


def latest_break(days: Iterable[int], today: int, least: int) -> Break | None:
    """Return the latest break of ``least`` days or more, one that ends today among them.

    ``days`` are practice days as ``date.toordinal()``, in order; a day may come repeatedly.
    """
    found, last = None, None
    for day in (*days, today):
        if last is not None and day - last > least:
            found = Break(day, day - last - 1)
        last = day
    return found
