"""What changed since last week, or since a day that the player names."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import NamedTuple

from drillbox.memory.rules import Rules
from drillbox.memory.weakness import Estimate, Weakness
from drillbox.practice.summary.cells import Cell
from drillbox.practice.summary.owning import owned_on, turns
from drillbox.practice.summary.standing import WEAK
from drillbox.store.access import Store
from drillbox.store.weeks import DaySum, logs_of, opened_by_day, sums_by_day

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
        owned=_came_to_be_owned(store, found, since, rules),
    )


def stretch(sums: Sequence[DaySum]) -> Stretch:
    """Add days up."""
    return Stretch(
        sum(each.attempts for each in sums),
        sum(each.seconds for each in sums) / 60,
        sum(each.tries for each in sums),
        sum(each.recalled for each in sums),
    )


def _came_to_be_owned(store: Store, found: Sequence[Cell], since: date, rules: Rules) -> int:
    """Count the cards that are owned now and weren't on the day before ``since``."""
    moved = [cell.card_id for cell in found if cell.owned and cell.last_day >= since]
    eve = since - timedelta(days=1)
    return sum(not owned_on(turns(log, rules), eve) for log in logs_of(store, moved))


def turned(
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
        were, are = _weak(old), _weak(new)
        known = {each.id for each in new}
        weaker += [Named(kind, names[kind, id_]) for id_ in are if id_ not in were]
        better += [Named(kind, names[kind, id_]) for id_ in were if id_ not in are and id_ in known]
    return tuple(weaker), tuple(better)


def _weak(estimates: Sequence[Estimate]) -> list[int]:
    return [each.id for each in estimates if each.verdict == WEAK]
