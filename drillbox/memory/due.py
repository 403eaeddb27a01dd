"""On which day a card is due: where recall falls to the target, spread to even the load."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import date, timedelta

from drillbox.memory.mixing import mixed, seeded
from drillbox.memory.recall import MemoryState, interval_days
from drillbox.memory.rules import Rules


def window(interval: int, spread: float) -> int:
    """Return by how many days either way a due day may move.

    That is the share ``spread`` of the interval, to the nearest day, and one day at least
    from an interval of three on; shorter ones don't move.
    """
    return 0 if interval < 3 else max(1, int(interval * spread + 0.5))


def choose_due(
    memory: MemoryState,
    rules: Rules,
    seed: str,
    count: int,
    load: Mapping[date, int],
    siblings: Collection[date],
) -> date:
    """Return the day on which a card is due after its latest attempt.

    ``seed`` names the card and ``count`` its attempts so far: the same values always yield the
    same day. ``load`` counts the cards due on each day; ``siblings`` holds the days on which
    other keys of the phrase are due. Inside the window a day without siblings comes first,
    then the least loaded, then the one that a hash picks, which leans neither way.
    """
    interval = interval_days(memory.stability, rules.recall_target, rules.weights)
    half = window(interval, rules.spread)
    days = [memory.last_day + timedelta(days=interval + shift) for shift in range(-half, half + 1)]
    hashed = seeded(f"{seed}/{count}")
    return min(
        days,
        key=lambda day: (day in siblings, load.get(day, 0), mixed(hashed, day.toordinal())),
    )
