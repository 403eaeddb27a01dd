"""Progress by week: minutes, attempts, share recalled, keys started and owned, tempo."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from drillbox.memory.rules import Rules
from drillbox.practice.settings.preferences import Preferences
from drillbox.practice.summary.changes import WEEK, stretch
from drillbox.practice.summary.owning import all_turns, owned_on
from drillbox.store.access import Store
from drillbox.store.weeks import first_day, opened_by_day, sums_by_day
from drillbox.tick import Tick

SUNDAY = timedelta(days=6)


@dataclass(frozen=True, slots=True)
class Week:
    """What was played in one week from Monday on, and what stood at its end.

    ``recalled`` of ``tries`` first tries of a day; ``tempo`` the mean of all attempts as a
    share of the goal, None where there were none; ``started`` and ``owned`` count keys of the
    phrases in practice so far.
    """

    monday: date
    attempts: int
    minutes: float
    tries: int
    recalled: int
    tempo: float | None
    started: int
    owned: int

    @property
    def share(self) -> float | None:
        """Return the share recalled, None where nothing was tried."""
        return self.recalled / self.tries if self.tries else None


def progress(
    store: Store,
    preferences: Preferences,
    now: datetime,
    weeks: int,
    tick: Tick = lambda _done, _all: None,
) -> tuple[Week, ...]:
    """Return the latest weeks, oldest first, none before the first attempt; () without any.

    ``tick`` hears how many cards of how many were replayed.
    """
    begun, day = first_day(store), preferences.today(now)
    if begun is None:
        return ()
    begun = min(begun, day)  # a clock may have been ahead
    this_monday = day - timedelta(days=day.weekday())
    back = min(weeks - 1, (this_monday - date.min) // WEEK)
    since = max(this_monday - back * WEEK, begun - timedelta(days=begun.weekday()))
    mondays = [since + n * WEEK for n in range((this_monday - since) // WEEK + 1)]
    started = sorted(opened_by_day(store).items())
    owned = _owned(store, mondays, preferences.rules, tick)
    sums = sums_by_day(store, since)
    found = []
    for monday, count in zip(mondays, owned, strict=True):
        days = [each for each in sums if monday <= each.day <= monday + SUNDAY]
        played = stretch(days)
        found.append(
            Week(
                monday,
                played.attempts,
                played.minutes,
                played.tries,
                played.recalled,
                sum(each.tempo for each in days) / played.attempts if played.attempts else None,
                sum(number for at, number in started if at <= monday + SUNDAY),
                count,
            )
        )
    return tuple(found)


def _owned(store: Store, mondays: Sequence[date], rules: Rules, tick: Tick) -> list[int]:
    """Count the cards owned at the end of each week."""
    counts = [0] * len(mondays)
    for found in all_turns(store, rules, tick):
        if not found:
            continue
        first = max(0, bisect_right(mondays, found[0][0]) - 1)
        for place in range(first, len(mondays)):
            counts[place] += owned_on(found, mondays[place] + SUNDAY)
    return counts
