"""Breaks in practice are found by the days between."""

from __future__ import annotations

from drillbox.memory.breaks import Break, latest_break


def test_a_break_ends_on_the_day_of_return():
    """Seven days away are a break of seven, six are none; the latest one counts."""
    assert latest_break([1, 2, 10, 11], 12, 7) == Break(10, 7)
    assert latest_break([1, 2, 9, 10], 11, 7) is None
    assert latest_break([1, 20, 21, 21, 40], 41, 7) == Break(40, 18)


def test_today_may_be_the_day_of_return():
    """On the first day back nothing is in the log yet."""
    assert latest_break([1, 2], 30, 7) == Break(30, 27)


def test_no_practice_no_break():
    """Who never practised has no break to come back from."""
    assert latest_break([], 30, 7) is None
