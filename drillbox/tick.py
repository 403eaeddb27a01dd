"""How long work shows that it is going on, and what it tells the player before it begins."""

from __future__ import annotations

from collections.abc import Callable

Tick = Callable[[int, int], object]
"""Hears how much of how much work is done."""

Tell = Callable[[str], object]
"""Is given a line for the player on work that may take seconds, before it is begun."""


def silent(*_: object) -> None:
    """Tell nobody."""


def stage(tick: Tick, number: int, of: int) -> Tick:
    """Return what one stage of several that last about as long tells, in thousandths of all."""
    return lambda done, whole: tick((number * whole + done) * 1000 // (of * max(1, whole)), 1000)
