"""The ladder climbs in growing steps while it goes easily, and in small ones near the edge."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.memory.recall import Recall
from drillbox.memory.tempo import (
    LONGEST,
    SHORTEST,
    TempoRules,
    TempoState,
    first_tempo,
    next_tempo,
    rung,
)

RULES = TempoRules()


@pytest.mark.parametrize(
    ("goal", "first", "step"), [(132, 79, 7), (200, 120, 10), (60, 40, 3), (30, 30, 2), (10, 10, 1)]
)
def test_start_and_rung(goal, first, step):
    """A card starts at 60 % of its goal, halves up; a rung is 5 %; a slow goal stands."""
    assert first_tempo(goal, RULES) == first
    assert rung(goal, RULES) == step


def climb(recalls, goal=200) -> list[tuple[int, int]]:
    """Return where each go leads, each played at the tempo that the one before led to."""
    state, found = TempoState(first_tempo(goal, RULES)), []
    for recall in recalls:
        state = next_tempo(state, state.tempo, recall, goal, RULES)
        found.append(tuple(state))
    return found


def test_clean_goes_climb_in_growing_steps():
    """A rung, then half a rung more each time: 10, 15, 20, 25 of 200, and the goal is the top."""
    assert climb([Recall.CLEAN] * 5) == [(130, 3), (145, 4), (165, 5), (190, 6), (200, 6)]


def test_fluent_goes_leap():
    """The stride grows twice as fast: far below the goal three goes bring most of the way."""
    assert climb([Recall.FLUENT] * 4) == [(130, 4), (150, 6), (180, 6), (200, 6)]


def test_near_the_edge_the_steps_are_small():
    """After a lost go the next clean one climbs half a rung; a rough one halves the stride."""
    lost = next_tempo(TempoState(180, 5), 180, Recall.LOST, 200, RULES)
    assert lost == TempoState(155, SHORTEST)
    assert next_tempo(lost, 155, Recall.CLEAN, 200, RULES) == TempoState(160, 2)
    assert next_tempo(TempoState(180, 5), 180, Recall.ROUGH, 200, RULES) == TempoState(180, 2)


def test_the_tempo_played_is_gone_on_from():
    """A clean go below the card's place leaves it there; a rough or lost one takes it down."""
    own = TempoState(150, 2)
    assert next_tempo(own, 120, Recall.CLEAN, 200, RULES).tempo == 150
    assert next_tempo(own, 170, Recall.CLEAN, 200, RULES).tempo == 180
    assert next_tempo(own, 120, Recall.ROUGH, 200, RULES).tempo == 120
    assert next_tempo(own, 120, Recall.LOST, 200, RULES).tempo == 110


@settings(max_examples=200, deadline=None)
@given(
    st.integers(20, 400),
    st.lists(st.tuples(st.sampled_from(list(Recall)), st.integers(20, 400)), max_size=60),
)
def test_never_over_the_goal_nor_under_the_floor(goal, goes):
    """Whatever is played and rated, tempo and stride stay within their bounds."""
    state = TempoState(first_tempo(goal, RULES))
    for recall, played in goes:
        state = next_tempo(state, played, recall, goal, RULES)
        assert min(goal, RULES.slowest_tempo) <= state.tempo <= goal
        assert SHORTEST <= state.stride <= LONGEST
