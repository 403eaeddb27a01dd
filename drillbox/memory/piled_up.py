"""How much has piled up, and how long the daily minutes need to work through it."""

from __future__ import annotations

from collections.abc import Iterable
from math import ceil
from typing import NamedTuple

from drillbox.memory.candidates import Candidate
from drillbox.memory.chances import Chances
from drillbox.memory.pace import Pace, expected_seconds
from drillbox.memory.rules import Rules

AHEAD = 14  # what falls due within so many days tells what comes back while one catches up
LEAST = 0.05  # with a smaller share of the minutes left one never catches up
UNSURE = 0.25  # the share by which the estimate may be off either way


class PiledUp(NamedTuple):
    """Keys at goal tempo that want playing today, the minutes that they take, and the days in
    which the daily minutes clear them: at least, and at most.

    ``days`` is None where the minutes don't carry what keeps coming back.
    """

    keys: int
    minutes: float
    days: tuple[int, int] | None


def piled_up(
    candidates: Iterable[Candidate], chances: Chances, rules: Rules, pace: Pace
) -> PiledUp:
    """Return what has piled up today, and how long it takes to clear."""
    keys, seconds, coming = 0, 0.0, 0.0
    for card in candidates:
        if not card.begun or not card.at_goal:
            continue
        each = expected_seconds(card.quarters, card.goal, pace, rules)
        if chances.wants_keeping(card):
            keys += 1
            seconds += each
        elif card.due <= chances.today + AHEAD:
            coming += each / AHEAD
    daily = rules.minutes * 60
    if coming > daily * (1 - LEAST):
        return PiledUp(keys, seconds / 60, None)
    days = seconds / (daily - coming)
    return PiledUp(
        keys, seconds / 60, (ceil(days * (1 - UNSURE)), max(1, ceil(days * (1 + UNSURE))))
    )
