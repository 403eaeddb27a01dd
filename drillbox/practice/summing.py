"""Sum up: how well each key and each phrase is recalled, on how much evidence."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass
from datetime import date, datetime

from drillbox.memory.evidence import wilson
from drillbox.memory.recall import retrievability
from drillbox.memory.rules import Rules
from drillbox.music.keys import parse_key
from drillbox.practice.library import today
from drillbox.practice.preferences import Preferences
from drillbox.store.opening import Store
from drillbox.store.summaries import Tally, tallies


@dataclass(frozen=True, slots=True)
class Standing:
    """How one key or one phrase stands.

    ``share`` of ``attempts`` was clean or fluent; ``low`` to ``high`` is its Wilson 95 %
    interval. ``now`` is the mean retrievability of its ``cards``, ``tempo`` their mean tempo
    as a share of the goal, ``due`` the first day on which one is due.
    """

    name: str
    cards: int
    attempts: int
    share: float
    low: float
    high: float
    now: float
    tempo: float
    due: date | None


@dataclass(frozen=True, slots=True)
class Summary:
    """Every key and every phrase that was attempted, the least recalled first."""

    keys: tuple[Standing, ...]
    phrases: tuple[Standing, ...]
    attempts: int
    today: date


def summary(store: Store, preferences: Preferences, now: datetime) -> Summary:
    """Sum up all attempts at phrases in practice."""
    found = tallies(store)
    day = today(preferences, now)
    rules = preferences.rules
    return Summary(
        keys=_standings(found, _sounding_key, lambda tally: tally.key, day, rules),
        phrases=_standings(
            found, lambda tally: tally.phrase_id, lambda tally: tally.title, day, rules
        ),
        attempts=sum(tally.attempts for tally in found),
        today=day,
    )


def _sounding_key(tally: Tally) -> Hashable:
    """Return what makes two keys the same however they are spelled."""
    key = parse_key(tally.key)
    return key.tonic.pitch_class, key.mode


def _standings(
    found: Iterable[Tally],
    group: Callable[[Tally], Hashable],
    name: Callable[[Tally], str],
    day: date,
    rules: Rules,
) -> tuple[Standing, ...]:
    groups: dict[Hashable, list[Tally]] = {}
    for tally in found:
        groups.setdefault(group(tally), []).append(tally)
    standings = [_standing(name(each[0]), each, day, rules) for each in groups.values()]
    return tuple(sorted(standings, key=lambda each: (each.share, -each.attempts, each.name)))


def _standing(name: str, found: list[Tally], day: date, rules: Rules) -> Standing:
    attempts = sum(tally.attempts for tally in found)
    recalled = sum(tally.recalled for tally in found)
    low, high = wilson(recalled, attempts)
    chances = [
        retrievability(tally.state.memory, day, rules.weights)
        for tally in found
        if tally.state.memory
    ]
    return Standing(
        name=name,
        cards=len(found),
        attempts=attempts,
        share=recalled / attempts,
        low=low,
        high=high,
        now=sum(chances) / len(chances),
        tempo=sum(tally.state.tempo.tempo / tally.goal for tally in found) / len(found),
        due=min((tally.state.due for tally in found if tally.state.due), default=None),
    )
