"""What a report shows, to look at or to hand to a teacher."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from drillbox.practice.preferences import Preferences
from drillbox.practice.progress import Week, progress
from drillbox.practice.summing import Summary, summary
from drillbox.store.opening import Store
from drillbox.tick import Tick


@dataclass(frozen=True, slots=True)
class Report:
    """What a report shows: the summary of all phrases in practice, and the latest weeks."""

    summary: Summary
    weeks: tuple[Week, ...]


def gather(
    store: Store,
    preferences: Preferences,
    now: datetime,
    weeks: int,
    tick: Tick = lambda _done, _all: None,
) -> Report:
    """Return what the report shows; ``tick`` hears of cards replayed, as in ``progress``."""
    return Report(summary(store, preferences, now), progress(store, preferences, now, weeks, tick))
