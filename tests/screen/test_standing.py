"""Bars of intervals: each sign in its cell, the point over all."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillbox.screen.look import Look
from drillbox.screen.standing import bar_heading, bar_width, interval_bar

NARROW, WIDE = Look(width=40), Look(width=80)


@pytest.mark.parametrize(
    ("share", "low", "high", "mean", "bar"),
    [
        (0.5, 0.3, 0.7, 0.9, "···├─●─┤·┊·"),
        (0.5, 0.3, 0.7, 0.6, "···├─●┼┤···"),
        (0.0, 0.0, 0.4, 0.5, "●───┤┊·····"),
        (1.0, 0.6, 1.0, 1.0, "······├───●"),
        (None, 0.0, 1.0, 0.5, "·····┊·····"),
        (0.5, 0.5, 0.5, None, "·····●·····"),
    ],
)
def test_drawn_bars(
    share: float | None, low: float, high: float, mean: float | None, bar: str
) -> None:
    """Eleven cells: one for each tenth."""
    assert interval_bar(share, low, high, mean, NARROW, weak=False).plain == bar


def test_in_ascii() -> None:
    """The same in brackets and dots."""
    look = Look(width=40, ascii=True)
    assert interval_bar(0.5, 0.3, 0.7, 0.9, look, weak=True).plain == "...[-o-].:."


@given(st.tuples(*[st.floats(0, 1)] * 4), st.sampled_from([NARROW, WIDE]))
def test_a_bar_fills_its_width(values: tuple[float, ...], look: Look) -> None:
    """Whatever the interval, the bar has its width, and its point stands."""
    low, share, high = sorted(values[:3])
    bar = interval_bar(share, low, high, values[3], look, weak=False).plain
    assert len(bar) == bar_width(look) == len(bar_heading(look))
    assert bar.count("●") == 1
