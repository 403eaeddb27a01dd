"""What changed: since last week or a day that the player names, and week by week."""

from __future__ import annotations

import hashlib
from bisect import bisect_right
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass
from datetime import date, datetime, timedelta
from typing import NamedTuple

from drillbox.errors import StoreFailure
from drillbox.memory.cards import states
from drillbox.memory.rules import Rules
from drillbox.memory.weakness import WEAK, Estimate, Weakness
from drillbox.practice.preferences import Preferences
from drillbox.practice.standing import Cell
from drillbox.store.access import Store
from drillbox.store.log import (
    CardLog,
    DaySum,
    Kept,
    Turns,
    first_day,
    keep_turns,
    kept_turns,
    logs_of,
    opened_by_day,
    played_cards,
    sums_by_day,
)
from drillbox.tick import Tick, silent

# Goes up when memory or the ladder decide otherwise, so that what is kept is recomputed.
EDITION = 3


def all_turns(store: Store, rules: Rules, tick: Callable[[int, int], object]) -> list[Turns]:
    """Return the turns of every card in practice that was ever owned.

    Only logs that have changed since, or were read by other rules, are replayed; ``tick``
    hears how many of how many.
    """
    near = [each for each in played_cards(store) if each.highest >= each.goal]
    kept = kept_turns(store)
    stale = {}
    for each in near:
        wanted = (_fingerprint(rules, each.goal), each.attempts, each.undone)
        if each.card_id not in kept or kept[each.card_id][1:4] != wanted:
            stale[each.card_id] = wanted
    new = []
    for number, log in enumerate(logs_of(store, list(stale))):
        tick(number, len(stale))
        new.append(Kept(log.card_id, *stale[log.card_id], turns(log, rules)))
    if new:
        with suppress(StoreFailure):  # a store that may only be read is read again each time
            keep_turns(store, new)
    kept |= {each.card_id: each for each in new}
    return [kept[each.card_id].turns for each in near if each.card_id in kept]


def _fingerprint(rules: Rules, goal: int) -> str:
    """Return what tells the rules that owning depends on from any others, for one goal."""
    words = repr((EDITION, goal, rules.owned_days, rules.tempo, rules.weights))
    return hashlib.sha256(words.encode()).hexdigest()[:16]


def turns(log: CardLog, rules: Rules) -> Turns:
    """Return the practice days on which a card became owned (True) or ceased to be."""
    was, found = False, []
    for attempted, state in zip(log.attempts, states(log.goal, log.attempts, rules), strict=True):
        if state.owned != was:
            found.append((attempted.day, state.owned))
        was = state.owned
    return found


def owned_on(found: Sequence[tuple[date, bool]], day: date) -> bool:
    """Return whether a card was owned at the end of a practice day, given its turns."""
    return next((now for turn, now in reversed(found) if turn <= day), False)


WEEK = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class Stretch:
    """What was played in some days: ``recalled`` of the ``tries`` (first ones of a day)."""

    attempts: int
    minutes: float
    tries: int
    recalled: int

    @property
    def share(self) -> float | None:
        """Return the share recalled, None where nothing was tried."""
        return self.recalled / self.tries if self.tries else None


class Named(NamedTuple):
    """A key or a phrase by its name; ``kind`` is "key" or "phrase"."""

    kind: str
    name: str


@dataclass(frozen=True, slots=True)
class Changes:
    """These days from ``since`` on against as many before them.

    ``started`` keys were played for the first time, ``owned`` became owned and still are;
    ``weaker`` and ``better`` name keys and phrases that were first called weak or ceased to be.
    """

    since: date
    now: Stretch
    before: Stretch
    started: int
    owned: int
    weaker: tuple[Named, ...] = ()
    better: tuple[Named, ...] = ()


def changes(store: Store, found: Sequence[Cell], since: date, today: date, rules: Rules) -> Changes:
    """Return what changed from ``since`` on, but for the verdicts."""
    length = max(1, (today - since).days + 1)
    before = since - min(timedelta(days=length), since - date.min)
    sums = sums_by_day(store, before)
    return Changes(
        since,
        stretch([each for each in sums if each.day >= since]),
        stretch([each for each in sums if each.day < since]),
        started=sum(count for day, count in opened_by_day(store).items() if day >= since),
        owned=_count_newly_owned(store, found, since, rules),
    )


def stretch(sums: Sequence[DaySum]) -> Stretch:
    """Add days up."""
    return Stretch(
        sum(each.attempts for each in sums),
        sum(each.seconds for each in sums) / 60,
        sum(each.tries for each in sums),
        sum(each.recalled for each in sums),
    )


def _count_newly_owned(store: Store, found: Sequence[Cell], since: date, rules: Rules) -> int:
    """Count the cards that are owned now and weren't on the day before ``since``."""
    moved = [cell.card_id for cell in found if cell.owned and cell.last_day >= since]
    eve = since - timedelta(days=1)
    return sum(not owned_on(turns(log, rules), eve) for log in logs_of(store, moved))


def verdicts_turned(
    before: Weakness, now: Weakness, names: Mapping[tuple[str, int], str]
) -> tuple[tuple[Named, ...], tuple[Named, ...]]:
    """Return what became weak, and what no longer is.

    ``names`` go by kind and number. What wasn't estimated before can come to
    be weak; what isn't any more can't be said to be better.
    """
    weaker: list[Named] = []
    better: list[Named] = []
    kinds = (("key", before.keys, now.keys), ("phrase", before.phrases, now.phrases))
    for kind, old, new in kinds:
        were, are = _weak_ids(old), _weak_ids(new)
        known = {each.id for each in new}
        weaker += [Named(kind, names[kind, id_]) for id_ in are if id_ not in were]
        better += [Named(kind, names[kind, id_]) for id_ in were if id_ not in are and id_ in known]
    return tuple(weaker), tuple(better)


def _weak_ids(estimates: Sequence[Estimate]) -> list[int]:
    return [each.id for each in estimates if each.verdict == WEAK]


SUNDAY = timedelta(days=6)


@dataclass(frozen=True, slots=True)
class Week(Stretch):
    """What was played in one week from Monday on, and what stood at its end.

    ``tempo`` is the mean of all attempts as a share of the goal, None where there were none;
    ``started`` and ``owned`` count keys of the phrases in practice so far.
    """

    monday: date
    tempo: float | None
    started: int
    owned: int


def progress(
    store: Store,
    preferences: Preferences,
    now: datetime,
    weeks: int,
    tick: Tick = silent,
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
    owned = _owned_by_week(store, mondays, preferences.rules, tick)
    sums = sums_by_day(store, since)
    found = []
    for monday, count in zip(mondays, owned, strict=True):
        days = [each for each in sums if monday <= each.day <= monday + SUNDAY]
        played = stretch(days)
        found.append(
            Week(
                **asdict(played),
                monday=monday,
                tempo=sum(each.tempo for each in days) / played.attempts
                if played.attempts
                else None,
                started=sum(number for at, number in started if at <= monday + SUNDAY),
                owned=count,
            )
        )
    return tuple(found)


def _owned_by_week(store: Store, mondays: Sequence[date], rules: Rules, tick: Tick) -> list[int]:
    """Count the cards owned at the end of each week."""
    counts = [0] * len(mondays)
    for found in all_turns(store, rules, tick):
        if not found:
            continue
        first = max(0, bisect_right(mondays, found[0][0]) - 1)
        for place in range(first, len(mondays)):
            counts[place] += owned_on(found, mondays[place] + SUNDAY)
    return counts
