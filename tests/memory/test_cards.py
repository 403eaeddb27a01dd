"""A card's state is what its attempts make it, step by step or replayed."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.memory.cards import (
    Attempted,
    CardState,
    counted,
    owned,
    rate,
    replay,
    untried,
)
from drillbox.memory.recall import MemoryState, Recall, after
from drillbox.memory.rules import Rules
from drillbox.memory.tempo import TempoState

RULES = Rules()
START = date(2026, 1, 5)


@st.composite
def logs(draw) -> list[Attempted]:
    """Draw the log of a card: any ratings, tempos and hints, the clock now and then set back."""
    day, log = START, []
    for _ in range(draw(st.integers(0, 15))):
        day += timedelta(days=draw(st.integers(-2, 60)))
        recall, hint = draw(st.sampled_from(list(Recall))), draw(st.integers(0, 3))
        due = day + timedelta(days=draw(st.integers(1, 90)))
        tempo, in_round = draw(st.integers(40, 200)), draw(st.booleans())
        log.append(Attempted(day, recall, tempo, hint, due, in_round))
    return log


@settings(max_examples=100, deadline=None)
@given(logs(), st.integers(20, 400))
def test_replay_is_rating_step_by_step(log, goal):
    """Replaying any log, whole or in two parts, gives the state that the steps gave."""
    state = untried(goal, RULES)
    for index, attempted in enumerate(log):
        state = rate(state, attempted, goal, RULES)
        assert replay(goal, log[: index + 1], RULES) == state
    assert state.attempts == len(log)


def test_first_attempt():
    """The first attempt gives the first memory, the ladder's next tempo and the due day kept."""
    state = untried(200, RULES)
    assert state == CardState(None, TempoState(120, 0), 0, None)
    due = START + timedelta(days=8)
    state = rate(state, Attempted(START, Recall.FLUENT, 120, 0, due), 200, RULES)
    memory = after(None, Recall.FLUENT, START)
    assert state == CardState(memory, TempoState(130, 0), 1, due, 1, 0, 1)


def test_days_are_counted_by_their_first_attempt():
    """Lost and then clean on one day is a lost day; the run of recalled days begins anew."""
    state = untried(200, RULES)
    log = [(0, Recall.CLEAN), (1, Recall.LOST), (1, Recall.CLEAN), (3, Recall.ROUGH),
           (4, Recall.FLUENT), (4, Recall.LOST), (2, Recall.LOST)]  # fmt: skip
    found = []
    for day, recall in log:
        at = START + timedelta(days=day)
        state = rate(state, Attempted(at, recall, 120, 0, at), 200, RULES)
        found.append((state.days_recalled, state.days_lost, state.recalled_run))
    assert found == [(1, 0, 1), (1, 1, 0), (1, 1, 0), (2, 1, 1), (3, 1, 2), (3, 1, 2), (3, 1, 2)]


def test_the_tempo_played_is_the_one_that_counts():
    """A player who took another tempo goes on from there, and a row of clean ones begins anew."""
    state = CardState(MemoryState(5.0, 5.0, START), TempoState(120, 1), 3, START)
    slower = Attempted(START, Recall.CLEAN, 100, 0, START)
    assert rate(state, slower, 200, RULES).tempo == TempoState(100, 1)
    same = slower._replace(tempo=120)
    assert rate(state, same, 200, RULES).tempo == TempoState(130, 0)


@pytest.mark.parametrize(
    ("recall", "tempo", "expected"),
    [
        (Recall.FLUENT, 72, TempoState(108, 1)),  # slower than its own: it stays where it was
        (Recall.ROUGH, 72, TempoState(108, 1)),
        (Recall.LOST, 72, TempoState(102)),  # a rung down from its own
        (Recall.CLEAN, 108, TempoState(114)),  # at its own tempo it counts like any other
        (Recall.FLUENT, 114, TempoState(120)),  # and so it does above
    ],
)
def test_a_slow_round_moves_a_card_only_where_it_was_lost(recall, tempo, expected):
    """A round has one tempo; a card that stands above it isn't pulled down by being recalled."""
    state = CardState(MemoryState(10.0, 5.0, START), TempoState(108, 1), 4, START)
    attempted = Attempted(START, recall, tempo, 0, START, in_round=True)
    assert rate(state, attempted, 120, RULES).tempo == expected


def test_third_hint_counts_as_rough_at_best():
    """Names of the notes seen, a fluent attempt counts as rough for memory and tempo alike."""
    shown = Attempted(START, Recall.FLUENT, 120, 3, START)
    rough = shown._replace(recall=Recall.ROUGH)
    state = untried(200, RULES)
    assert rate(state, shown, 200, RULES) == rate(state, rough, 200, RULES)
    assert counted(Recall.LOST, 3) is Recall.LOST
    assert counted(Recall.FLUENT, 2) is Recall.FLUENT


@pytest.mark.parametrize(
    ("stability", "tempo", "expected"),
    [(21.0, 200, True), (20.9, 200, False), (90.0, 199, False)],
)
def test_owned(stability, tempo, expected):
    """Owned is goal tempo and three weeks' stability; slow recall alone isn't owning."""
    state = CardState(MemoryState(stability, 5.0, START), TempoState(tempo), 9, START)
    assert owned(state, 200, RULES) is expected
