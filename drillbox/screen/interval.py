"""Intervals drawn in a row of text: from nothing recalled at the left to all at the right."""

from __future__ import annotations

from typing import NamedTuple

from rich.text import Text

from drillbox.screen import style
from drillbox.screen.look import Look


class _Signs(NamedTuple):
    track: str
    low: str
    inside: str
    point: str
    high: str
    mean: str
    mean_inside: str


_DRAWN = _Signs("·", "├", "─", "●", "┤", "┊", "┼")
_ASCII = _Signs(".", "[", "-", "o", "]", ":", "+")


def bar_width(look: Look) -> int:
    """Return how many cells a bar takes at this width."""
    return 20 if look.width >= 76 else 11


def interval_bar(
    share: float | None, low: float, high: float, mean: float | None, look: Look, *, weak: bool
) -> Text:
    """Draw an interval with its point and the player's mean, all shares from 0 to 1."""
    signs, width = _ASCII if look.ascii else _DRAWN, bar_width(look)
    row = [signs.track] * width
    if share is not None:
        row[_at(low, width) : _at(high, width) + 1] = [signs.inside] * (
            _at(high, width) - _at(low, width) + 1
        )
        row[_at(low, width)], row[_at(high, width)] = signs.low, signs.high
    if mean is not None:
        here = _at(mean, width)
        row[here] = signs.mean_inside if row[here] != signs.track else signs.mean
    if share is not None:
        row[_at(share, width)] = signs.point
    return Text("".join(row), style.WEAK if weak else "")


def mean_sign(look: Look) -> str:
    """Return the sign that marks the player's mean in a bar."""
    return (_ASCII if look.ascii else _DRAWN).mean


def bar_heading(look: Look) -> str:
    """Return the scale over a column of bars."""
    width = bar_width(look)
    middle = "recalled" if width >= 16 else ""
    return "0%" + middle.center(width - 6) + "100%"


def _at(share: float, width: int) -> int:
    return min(width - 1, max(0, round(share * (width - 1))))
