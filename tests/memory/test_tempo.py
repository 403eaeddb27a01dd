"""The tempo ladder climbs on sure attempts, steps down after a lost one and stays in bounds."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.memory.recall import Recall
from drillbox.memory.tempo import (
    TempoRules,
    TempoState,
    first_tempo,
    next_tempo,
    rung,
    tempo_after_break,
)

RULES = TempoRules()


@pytest.mark.parametrize(
    ("goal", "first", "step"), [(132, 79, 7), (200, 120, 10), (60, 40, 3), (30, 30, 2), (10, 10, 1)]
)
def test_start_and_rung(goal, first, step):
    """A card starts at 60 % of its goal, halves up; a rung is 5 %; a slow goal stands."""
    assert first_tempo(goal, RULES) == first
    assert rung(goal, RULES) == step


def test_one_fluent_or_two_clean_lift_a_rung():
    """A fluent attempt lifts at once, clean ones when there are two in a row."""
    state = TempoState(120)
    assert next_tempo(state, Recall.FLUENT, 200, RULES) == TempoState(130, 0)
    once = next_tempo(state, Recall.CLEAN, 200, RULES)
    assert once == TempoState(120, 1)
    assert next_tempo(once, Recall.CLEAN, 200, RULES) == TempoState(130, 0)


def test_rough_keeps_the_tempo_and_breaks_the_row():
    """After a rough attempt two clean ones are needed anew."""
    assert next_tempo(TempoState(120, 1), Recall.ROUGH, 200, RULES) == TempoState(120, 0)


def test_lost_steps_down_and_breaks_the_row():
    """A lost attempt costs a rung, down to the floor."""
    assert next_tempo(TempoState(120, 1), Recall.LOST, 200, RULES) == TempoState(110, 0)
    assert next_tempo(TempoState(42), Recall.LOST, 200, RULES) == TempoState(40, 0)


def test_goal_is_the_top():
    """Nothing lifts a card over its goal."""
    assert next_tempo(TempoState(196), Recall.FLUENT, 200, RULES).tempo == 200
    assert next_tempo(TempoState(200), Recall.FLUENT, 200, RULES).tempo == 200


@settings(max_examples=200, deadline=None)
@given(st.integers(20, 400), st.lists(st.sampled_from(list(Recall)), max_size=60))
def test_never_over_the_goal_nor_under_the_floor(goal, recalls):
    """Whatever the attempts, the tempo lies between the floor and the goal."""
    state = TempoState(first_tempo(goal, RULES))
    for recall in recalls:
        state = next_tempo(state, recall, goal, RULES)
        assert min(goal, RULES.floor) <= state.tempo <= goal


@pytest.mark.parametrize(
    ("recalled", "tempo"),
    [(1.0, 180), (0.8, 180), (0.79, 170), (0.7, 170), (0.69, 160), (0.5, 150), (0.0, 120)],
)
def test_after_a_break_the_tempo_starts_lower(recalled, tempo):
    """Under .8 it is a rung lower, and one more for each further .1, but not under the start."""
    assert tempo_after_break(TempoState(180), 200, recalled, RULES) == tempo


def test_a_break_never_raises_the_tempo():
    """A card that stands under its first tempo stays where it is."""
    assert tempo_after_break(TempoState(90), 200, 0.1, RULES) == 90
