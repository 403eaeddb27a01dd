"""A card's state is what its attempts make it, step by step or replayed; its tempo climbs."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.memory.cards import (
    LONGEST,
    SHORTEST,
    Attempted,
    CardState,
    TempoState,
    counted_recall,
    first_tempo,
    next_tempo,
    rate,
    replay,
    rung,
    untried,
)
from drillbox.memory.recall import MemoryState, Recall, after
from drillbox.memory.rules import Rules, TempoRules

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


@settings(max_examples=50)
@given(logs(), st.lists(st.integers(60, 240), min_size=1, max_size=4))
def test_a_new_goal_keeps_the_tempo_reached(log: list[Attempted], goals: list[int]):
    """However often it changes: the tempo stays, up to the present goal, and nothing else moves
    but what counts goes at goal tempo. One more go from there comes to what the log gives."""
    dated = [each._replace(goal=goals[index % len(goals)]) for index, each in enumerate(log)]
    if not dated:
        return
    last = dated[-1].goal or 0
    state = replay(last, dated, RULES)
    assert rate(replay(last, dated[:-1], RULES), dated[-1], last, RULES) == state
    for goal in goals:
        now = replay(goal, dated, RULES)
        assert now.tempo.tempo == max(RULES.tempo.slowest_tempo, min(goal, state.tempo.tempo))
        assert now._replace(tempo=state.tempo, goal_run=0, owned=False) == state._replace(
            goal_run=0, owned=False
        )


@settings(max_examples=50)
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
    assert state == CardState(None, TempoState(120), 0, None)
    due = START + timedelta(days=8)
    state = rate(state, Attempted(START, Recall.FLUENT, 120, 0, due), 200, RULES)
    memory = after(None, Recall.FLUENT, START)
    assert state == CardState(memory, TempoState(130, 4), 1, due, 1, 0, 1, 0)


def days(*goes: tuple[int, Recall], goal: int = 200, tempo: int = 120) -> list[CardState]:
    """Return the states after goes on numbered days, each due the day after."""
    state, found = untried(goal, RULES), []
    for day, recall in goes:
        at = START + timedelta(days=day)
        state = rate(state, Attempted(at, recall, tempo, 0, at + timedelta(days=1)), goal, RULES)
        found.append(state)
    return found


def test_only_a_days_first_go_counts_for_memory():
    """Clean and then lost on one day: memory, due day and counts stay; the tempo moves."""
    first, second = days((0, Recall.CLEAN), (0, Recall.LOST))
    assert second.memory == first.memory
    assert second.due == first.due
    assert second[4:] == first[4:]
    assert second.tempo != first.tempo
    assert second.attempts == 2


def test_days_are_counted_by_their_first_go():
    """Rough isn't clean; the run of days that began clean begins anew after one that didn't."""
    found = days((0, Recall.CLEAN), (1, Recall.LOST), (1, Recall.CLEAN), (3, Recall.ROUGH),
                 (4, Recall.FLUENT), (4, Recall.LOST), (9, Recall.CLEAN))  # fmt: skip
    counted_so = [(each.days_clean, each.days_missed, each.clean_run) for each in found]
    assert counted_so == [
        (1, 0, 1), (1, 1, 0), (1, 1, 0), (1, 2, 0), (2, 2, 1), (2, 2, 1), (3, 2, 2)
    ]  # fmt: skip


def test_a_clock_that_was_ahead_doesn_t_take_a_card_away():
    """After a go dated a year ahead the next real day counts as a day of its own."""
    ahead, back, next_day = days((365, Recall.CLEAN), (0, Recall.CLEAN), (1, Recall.CLEAN))
    assert ahead.memory.last_day == START + timedelta(days=365)
    assert back.memory.last_day == START
    assert next_day.memory.last_day == START + timedelta(days=1)
    assert next_day.days_clean == 3


@pytest.mark.parametrize(
    ("recall", "tempo", "expected"),
    [
        (Recall.FLUENT, 72, TempoState(108, 2)),  # slower than its own: it stays where it was
        (Recall.ROUGH, 72, TempoState(108, 2)),
        (Recall.LOST, 72, TempoState(102, 1)),  # a rung down from its own
        (Recall.CLEAN, 108, TempoState(114, 3)),  # at its own tempo it counts like any other
        (Recall.FLUENT, 114, TempoState(120, 4)),  # and so it does above
    ],
)
def test_a_slow_round_moves_a_card_only_where_it_was_lost(recall, tempo, expected):
    """A round has one tempo; a card that stands above it isn't pulled down by being recalled."""
    state = CardState(MemoryState(10.0, 5.0, START), TempoState(108, 2), 4, START)
    attempted = Attempted(START, recall, tempo, 0, START, in_round=True)
    assert rate(state, attempted, 120, RULES).tempo == expected


def test_third_hint_counts_as_rough_at_best():
    """Names of the notes seen, a fluent attempt counts as rough for memory and tempo alike."""
    shown = Attempted(START, Recall.FLUENT, 120, 3, START)
    rough = shown._replace(recall=Recall.ROUGH)
    state = untried(200, RULES)
    assert rate(state, shown, 200, RULES) == rate(state, rough, 200, RULES)
    assert counted_recall(Recall.LOST, 3) is Recall.LOST
    assert counted_recall(Recall.FLUENT, 2) is Recall.FLUENT


COLD = (0, 2, 13)  # days on which FSRS-6 at its default weights brings stability past 28


def test_owning_takes_cold_clean_goes_at_goal_and_a_memory_that_lasts():
    """Two such goes in a row, with four weeks of stability; below the goal it is never owned."""
    found = days(*((day, Recall.CLEAN) for day in COLD), tempo=200)
    assert [each.owned for each in found] == [False, False, True]
    assert found[1].goal_run == 2
    assert found[1].memory.stability < 28 < found[2].memory.stability
    slow = days(*((day, Recall.CLEAN) for day in COLD), tempo=199)
    assert not any(each.owned for each in slow)


def test_one_clean_go_at_goal_owns_nothing():
    """A memory that lasts for months by slower goes is owned by the second at goal tempo."""
    state, owned = untried(200, RULES), []
    for day, tempo in ((0, 150), (2, 150), (13, 150), (50, 200), (120, 200)):
        at = START + timedelta(days=day)
        state = rate(state, Attempted(at, Recall.CLEAN, tempo, 0, at), 200, RULES)
        owned.append(state.owned)
    assert owned == [False] * 4 + [True]


def test_warm_goes_at_goal_own_nothing():
    """However often it comes out on one day: only the cold go of a day says something."""
    found = days(*[(0, Recall.FLUENT)] * 9, tempo=200)
    assert found[-1].goal_run == 1
    assert not found[-1].owned


def test_one_mistaken_lost_takes_nothing_away_and_two_do():
    """A card that is clean nine times in ten fails one cold go in ten, two running in a hundred."""
    own = [(day, Recall.CLEAN) for day in COLD]
    one = days(*own, (40, Recall.LOST), (41, Recall.CLEAN), (45, Recall.ROUGH), tempo=200)
    assert [each.owned for each in one[2:]] == [True] * 4
    two = days(*own, (40, Recall.LOST), (41, Recall.ROUGH), tempo=200)
    assert [each.owned for each in two[2:]] == [True, True, False]


LADDER = TempoRules()


@pytest.mark.parametrize(
    ("goal", "first", "step"), [(132, 79, 7), (200, 120, 10), (60, 40, 3), (30, 30, 2), (10, 10, 1)]
)
def test_start_and_rung(goal, first, step):
    """A card starts at 60 % of its goal, halves up; a rung is 5 %; a slow goal stands."""
    assert first_tempo(goal, LADDER) == first
    assert rung(goal, LADDER) == step


def climb(recalls, goal=200) -> list[tuple[int, int]]:
    """Return where each go leads, each played at the tempo that the one before led to."""
    state, found = TempoState(first_tempo(goal, LADDER)), []
    for recall in recalls:
        state = next_tempo(state, state.tempo, recall, goal, LADDER)
        found.append(tuple(state))
    return found


def test_clean_goes_climb_in_growing_steps():
    """A rung, then half a rung more each time: 10, 15, 20, 25 of 200, and the goal is the top."""
    assert climb([Recall.CLEAN] * 5) == [(130, 3), (145, 4), (165, 5), (190, 6), (200, 6)]


def test_fluent_goes_leap():
    """The stride grows twice as fast: far below the goal three goes bring most of the way."""
    assert climb([Recall.FLUENT] * 4) == [(130, 4), (150, 6), (180, 6), (200, 6)]


def test_near_the_edge_the_steps_are_small():
    """After a miss the next clean go climbs half a rung, whatever the stride was."""
    lost = next_tempo(TempoState(180, 5), 180, Recall.LOST, 200, LADDER)
    assert lost == TempoState(170, SHORTEST)
    assert next_tempo(lost, 170, Recall.CLEAN, 200, LADDER) == TempoState(175, 2)
    rough = next_tempo(TempoState(180, 5), 180, Recall.ROUGH, 200, LADDER)
    assert rough == TempoState(175, SHORTEST)


@pytest.mark.parametrize(
    ("recall", "slower", "own", "faster"),
    [
        (Recall.LOST, 140, 140, 140),
        (Recall.ROUGH, 145, 145, 150),
        (Recall.CLEAN, 150, 170, 190),
        (Recall.FLUENT, 150, 170, 190),
    ],
)
def test_a_go_slower_or_faster_than_its_own_place(
    recall: Recall, slower: int, own: int, faster: int
) -> None:
    """Of a key that reached 150: goes at 120, 150 and 170 of a goal of 200."""
    played = (120, 150, 170)
    found = [next_tempo(TempoState(150, 4), each, recall, 200, LADDER).tempo for each in played]
    assert found == [slower, own, faster]


@settings(max_examples=80)
@given(
    st.integers(20, 400),
    st.lists(st.tuples(st.sampled_from(list(Recall)), st.integers(20, 400)), max_size=60),
)
def test_never_over_the_goal_nor_under_the_floor(goal, goes):
    """Whatever is played and rated, tempo and stride stay within their bounds."""
    state = TempoState(first_tempo(goal, LADDER))
    for recall, played in goes:
        state = next_tempo(state, played, recall, goal, LADDER)
        assert min(goal, LADDER.slowest_tempo) <= state.tempo <= goal
        assert SHORTEST <= state.stride <= LONGEST
