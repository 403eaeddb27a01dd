"""What a report shows, to look at or to hand to a teacher."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from drillbox.practice.settings.preferences import Preferences
from drillbox.practice.summary.progress import Week, progress
from drillbox.practice.summary.summing import Summary, summary
from drillbox.practice.tunes.fits import TuneFits, fits_in, repertoire
from drillbox.store.access import Store
from drillbox.store.tune_rows import list_tunes
from drillbox.tick import Tick


@dataclass(frozen=True, slots=True)
class Report:
    """What a report shows: the summary of all phrases in practice, the latest weeks, the tunes."""

    summary: Summary
    weeks: tuple[Week, ...]
    tunes: tuple[TuneFits, ...] = ()


def gather(
    store: Store,
    preferences: Preferences,
    now: datetime,
    weeks: int,
    tick: Tick = lambda _done, _all: None,
) -> Report:
    """Return what the report shows; ``tick`` hears of cards replayed, as in ``progress``."""
    found = summary(store, preferences, now)
    tunes = _tunes(store, preferences, found.today)
    return Report(found, progress(store, preferences, now, weeks, tick), tunes)


def _tunes(store: Store, preferences: Preferences, day: date) -> tuple[TuneFits, ...]:
    records = list_tunes(store)
    if not records:
        return ()
    own = repertoire(store, preferences.rules, day)
    return tuple(fits_in(each.tune, own, preferences) for each in records)
