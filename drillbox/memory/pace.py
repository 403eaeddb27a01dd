"""How long an attempt takes, learnt from the player's own attempts."""

from __future__ import annotations

from collections.abc import Iterable
from statistics import median
from typing import NamedTuple

from drillbox.memory.rules import Rules

FEWEST = 8  # with fewer attempts a median says more about the day than about the player
_BOUNDS = (0.25, 4.0)
UNTIL_A_KEY = 2  # the loops assumed where the player set no number


class Timed(NamedTuple):
    """One attempt as the clock saw it: seconds from its screen to its rating.

    ``quarters`` is the length of the chart in quarter notes, ``loops`` the rounds asked for;
    0: until a key.
    """

    seconds: float
    quarters: float
    tempo: int
    loops: int


class Pace(NamedTuple):
    """Real seconds as a multiple of the computed ones, and the attempts that tell so."""

    ratio: float = 1.0
    attempts: int = 0


def learn_pace(timed: Iterable[Timed], rules: Rules) -> Pace:
    """Return the player's pace: the median of real against computed seconds.

    A median, so that a telephone call within an attempt changes nothing. Under ``FEWEST``
    attempts the ratio stays 1, and it is held between a quarter and four.
    """
    ratios = [
        each.seconds / _computed(each.quarters, each.tempo, each.loops, rules)
        for each in timed
        if each.seconds > 0
    ]
    if len(ratios) < FEWEST:
        return Pace(1.0, len(ratios))
    low, high = _BOUNDS
    return Pace(min(high, max(low, median(ratios))), len(ratios))


def expected_seconds(quarters: float, tempo: int, pace: Pace, rules: Rules) -> float:
    """Return how many seconds an attempt at a chart of that many quarter notes will take."""
    return pace.ratio * _computed(quarters, tempo, rules.loops, rules)


def _computed(quarters: float, tempo: int, loops: int, rules: Rules) -> float:
    return (loops or UNTIL_A_KEY) * quarters * 60.0 / tempo + rules.between_goes
