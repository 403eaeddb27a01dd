"""How long work tells that it goes on."""

from __future__ import annotations

from collections.abc import Callable

Tick = Callable[[int, int], object]
"""Hears how much of how much work is done."""


def silent(_done: int, _of: int) -> None:
    """Tell nobody."""
