"""How long work shows that it is going on."""

from __future__ import annotations

from collections.abc import Callable

Tick = Callable[[int, int], object]
"""Hears how much of how much work is done."""


def silent(_done: int, _of: int) -> None:
    """Tell nobody."""


def stage(tick: Tick, number: int, of: int) -> Tick:
    """Return what one stage of several that last about as long tells, in thousandths of all."""
    return lambda done, whole: tick((number * whole + done) * 1000 // (of * max(1, whole)), 1000)
