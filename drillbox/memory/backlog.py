"""How much has piled up, and how long the daily minutes need to work through it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from math import ceil
from typing import NamedTuple

from drillbox.memory.candidates import Candidate
from drillbox.memory.pace import Pace, expected_seconds
from drillbox.memory.recall import interval_days
from drillbox.memory.rules import Rules

# A recalled card comes back after about this many times its stability before (an average
# over the default weights near R = .9; it only serves to tell days, not to choose).
GROWTH = 2.5


class Backlog(NamedTuple):
    """Cards due, the minutes they take, and the days until no due card is left over.

    ``days_to_clear`` is an estimate at the daily minutes; 0 where nothing is due, None where
    the minutes don't even carry what keeps coming back.
    """

    cards: int
    minutes: float
    days_to_clear: int | None


def backlog(candidates: Iterable[Candidate], day: date, rules: Rules, pace: Pace) -> Backlog:
    """Return what is due on a practice day, and how long it takes to clear."""
    today = day.toordinal()
    cards, seconds, carried = 0, 0.0, 0.0
    for card in candidates:
        if not card.last_day:
            continue
        each = expected_seconds(card.quarters, card.tempo, pace, rules)
        interval = interval_days(card.stability * GROWTH, rules.retention, rules.weights)
        carried += each / interval
        if card.due <= today:
            cards += 1
            seconds += each
    return Backlog(cards, seconds / 60, _days(seconds, carried, rules.minutes * 60))


def _days(seconds: float, carried: float, daily: float) -> int | None:
    """Return the days to clear ``seconds``; one day's worth is no more than today's practice."""
    if seconds <= daily:
        return 1 if seconds > 0 else 0
    return ceil(seconds / (daily - carried)) if carried < daily else None
