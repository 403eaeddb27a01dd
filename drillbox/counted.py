"""A number with what it counts."""

from __future__ import annotations


def counted(number: int, noun: str) -> str:
    """Return them as words: ``1 key``, ``2 keys``, ``0 keys``."""
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"
