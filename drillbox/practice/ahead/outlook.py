"""What the next days will bring, for a summary: the forecast where it takes no time to speak of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from drillbox.memory.candidates import Candidate
from drillbox.memory.chances import Chances
from drillbox.practice.ahead.coming import Whole, minutes_played, player_of, runs_for, wholes
from drillbox.practice.ahead.forecast import Range, forecast
from drillbox.practice.settings.preferences import Preferences
from drillbox.store.access import Store
from drillbox.store.first_tries import phrase_titles

DAYS = (28, 14, 7)  # so many where they can be played through at once, else fewer
RUNS = 3
WORK = 4000  # choices of a go: under half a second


@dataclass(frozen=True, slots=True)
class Outlook:
    """How things stand after ``days`` days, at the end of ``day``, with ``minutes`` of practice on
    each: keys started, at goal tempo and owned; ``whole`` the phrases owned in all keys by then."""

    days: int
    day: date
    minutes: int
    started: Range
    at_goal: Range
    owned: Range
    whole: tuple[Whole, ...]


def outlook(
    store: Store, preferences: Preferences, day: date, chances: Chances, pool: Sequence[Candidate]
) -> Outlook | None:
    """Return what the next days bring, None where playing them through would take too long."""
    player = player_of(store, preferences, day, chances, pool)
    days = next((each for each in DAYS if runs_for(player, each, WORK, RUNS) == RUNS), None)
    if days is None:
        return None
    found = forecast(player, day, days, played_today=minutes_played(store, day), runs=RUNS)
    last = found.days[-1]
    return Outlook(
        days,
        day + timedelta(days=days - 1),
        preferences.rules.minutes,
        last.started,
        last.at_goal,
        last.owned,
        wholes(found, phrase_titles(store), player, day),
    )
