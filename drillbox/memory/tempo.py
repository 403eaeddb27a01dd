"""The tempo ladder of a card: slow at first, up with each clean go, down after a lost one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from drillbox.memory.recall import Recall

SHORTEST, FIRST_STRIDE, LONGEST = 1, 2, 6  # in half rungs: half a rung at the edge, three far off


@dataclass(frozen=True, slots=True)
class TempoRules:
    """The ladder's numbers. They are conventions of practice, not facts: all are settings."""

    start_tempo: float = 0.6
    tempo_step: float = 0.05
    slowest_tempo: int = 40


class TempoState(NamedTuple):
    """How far a card has climbed, in quarter notes a minute, and how far the next clean go
    carries it: ``stride`` in half rungs."""

    tempo: int
    stride: int = FIRST_STRIDE


def first_tempo(goal: int, rules: TempoRules) -> int:
    """Return the tempo of a card's first attempt: a share of the goal, to the nearest bpm."""
    return within(int(goal * rules.start_tempo + 0.5), goal, rules)


def rung(goal: int, rules: TempoRules) -> int:
    """Return one rung in whole quarter notes a minute, 1 at least: a share of the goal."""
    return _half_rungs(2, goal, rules)


def next_tempo(
    state: TempoState, played: int, recall: Recall, goal: int, rules: TempoRules
) -> TempoState:
    """Return the ladder's place after a go at ``played``.

    A clean go carries the card one stride beyond what was played and lengthens the stride by
    half a rung, a fluent one by a whole one: where it goes easily the steps grow. A rough go
    stays and halves the stride; a lost one goes down a rung at least and makes it the shortest,
    so that the steps are small near the edge. A clean go below the card's own place leaves it
    there.
    """
    tempo, stride = state
    if recall is Recall.LOST:
        fallen = min(tempo, played) - _half_rungs(max(2, stride), goal, rules)
        return TempoState(within(fallen, goal, rules), SHORTEST)
    if recall is Recall.ROUGH:
        return TempoState(within(min(tempo, played), goal, rules), max(SHORTEST, stride // 2))
    climbed = played + _half_rungs(stride, goal, rules)
    longer = min(LONGEST, stride + (2 if recall is Recall.FLUENT else 1))
    return TempoState(within(max(tempo, climbed), goal, rules), longer)


def within(tempo: int, goal: int, rules: TempoRules) -> int:
    """Keep a tempo at or over the floor and, before all else, at or under the goal."""
    return min(goal, max(rules.slowest_tempo, tempo))


def _half_rungs(count: int, goal: int, rules: TempoRules) -> int:
    return max(1, int(goal * rules.tempo_step * count / 2 + 0.5))
