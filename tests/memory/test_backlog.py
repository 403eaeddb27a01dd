"""What has piled up is counted, timed and told in days."""

from __future__ import annotations

from datetime import date

import pytest

from drillbox.memory.backlog import backlog
from drillbox.memory.candidates import Candidate
from drillbox.memory.pace import Pace
from drillbox.memory.rules import Rules

DAY = date(2026, 6, 1)
RULES = Rules(loops=2, overhead_seconds=10, minutes=20)


def cards(count: int, stability: float, overdue: int) -> list[Candidate]:
    """Return open cards of 20 s each (10 s of playing, 10 s besides)."""
    due = DAY.toordinal() - overdue
    return [
        Candidate(each, each, 0, 10.0, 120, 120, stability, 5.0, due - 20, due)
        for each in range(count)
    ]


def test_counts_only_what_is_due():
    """Three cards due are a minute; cards not due or never opened aren't in it."""
    some = [*cards(3, 8.0, 0), *cards(2, 8.0, -1), Candidate(9, 9, 0, 10.0, 120, 120)]
    told = backlog(some, DAY, RULES, Pace())
    assert (told.cards, told.days_to_clear) == (3, 1)
    assert told.minutes == pytest.approx(1.0)


def test_nothing_due():
    """With nothing due there is nothing to clear."""
    assert backlog([], DAY, RULES, Pace()) == (0, 0.0, 0)


def test_days_to_clear_leave_room_for_what_comes_back():
    """240 cards are 80 minutes; at 20 a day, 4 of them for what comes back, that is 5 days."""
    told = backlog(cards(240, 8.0, 30), DAY, RULES, Pace())
    assert told.minutes == pytest.approx(80.0)
    # Each comes back every 8 × 2.5 = 20 days: 240 × 20 s / 20 = 240 s a day.
    assert told.days_to_clear == 5


def test_a_backlog_that_grows_faster_than_it_is_played():
    """Where what comes back takes all the minutes, there is no number of days to tell."""
    assert backlog(cards(240, 0.4, 30), DAY, RULES, Pace()).days_to_clear is None
