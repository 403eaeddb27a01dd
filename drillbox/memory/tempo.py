"""The tempo ladder of a card: slow at first, up after sure attempts, down after a lost one."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import NamedTuple

from drillbox.memory.recall import Recall


@dataclass(frozen=True, slots=True)
class TempoRules:
    """The ladder's numbers. They are conventions of practice, not facts: all are settings."""

    start_share: float = 0.6
    rung: float = 0.05
    clean_in_a_row: int = 2
    floor: int = 40
    break_below: float = 0.8
    break_step: float = 0.1


class TempoState(NamedTuple):
    """The tempo to play next, in quarter notes a minute, and the clean attempts in a row at it."""

    tempo: int
    clean_run: int = 0


def first_tempo(goal: int, rules: TempoRules) -> int:
    """Return the tempo of a card's first attempt: a share of the goal, to the nearest bpm."""
    return _within(int(goal * rules.start_share + 0.5), goal, rules)


def rung(goal: int, rules: TempoRules) -> int:
    """Return one rung in whole quarter notes a minute, 1 at least: a share of the goal."""
    return max(1, int(goal * rules.rung + 0.5))


def next_tempo(state: TempoState, recall: Recall, goal: int, rules: TempoRules) -> TempoState:
    """Return the ladder's place after an attempt at ``state.tempo``.

    A fluent attempt, or the last of enough clean ones in a row, goes a rung up; a lost one a
    rung down; a rough one stays and begins the row anew.
    """
    step = rung(goal, rules)
    if recall is Recall.LOST:
        return TempoState(_within(state.tempo - step, goal, rules))
    if recall is Recall.ROUGH:
        return TempoState(_within(state.tempo, goal, rules))
    run = state.clean_run + 1
    if recall is Recall.FLUENT or run >= rules.clean_in_a_row:
        return TempoState(_within(state.tempo + step, goal, rules))
    return TempoState(_within(state.tempo, goal, rules), run)


def tempo_after_break(
    state: TempoState, goal: int, retrievability: float, rules: TempoRules
) -> int:
    """Return the tempo to show now that recall has faded to ``retrievability`` (0 to 1).

    Under ``break_below`` it is one rung lower, and one more for each further ``break_step``,
    though never lower than where the card began.
    """
    fall = rules.break_below - retrievability
    # Rounded first, so that .8 - .7 counts as one step and not as a hair more than one.
    rungs = max(0, ceil(round(fall / rules.break_step, 9)))
    lowest = min(state.tempo, first_tempo(goal, rules))
    return max(lowest, state.tempo - rungs * rung(goal, rules))


def _within(tempo: int, goal: int, rules: TempoRules) -> int:
    """Keep a tempo at or over the floor and, before all else, at or under the goal."""
    return min(goal, max(rules.floor, tempo))
