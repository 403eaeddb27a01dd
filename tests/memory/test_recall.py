"""What is remembered follows FSRS-6, day by day."""

from __future__ import annotations

import math
import subprocess
import sys
from datetime import date, timedelta

import fsrs
import pytest
from fsrs_rs_python import DEFAULT_PARAMETERS, FSRS, FSRSItem, FSRSReview
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.memory.recall import (
    DEFAULT_WEIGHTS,
    HIGHEST_WEIGHTS,
    LOWEST_WEIGHTS,
    MemoryState,
    Recall,
    after,
    interval_days,
    retrievability,
    weights_from,
    went_back,
)

START = date(2026, 1, 5)
recalls = st.sampled_from(list(Recall))
histories = st.lists(st.tuples(recalls, st.integers(0, 200)), min_size=1, max_size=12)


def play(history: list[tuple[Recall, int]]) -> list[MemoryState]:
    """Return the state after each attempt of (recall, days since the one before)."""
    states: list[MemoryState] = []
    day = START
    for recall, days in history:
        day += timedelta(days=days)
        states.append(after(states[-1] if states else None, recall, day))
    return states


def plain(history: list[tuple[Recall, int]]) -> tuple[float, float]:
    """Return stability and difficulty by the published FSRS-6 formulas, written out."""
    w = DEFAULT_WEIGHTS
    factor = 0.9 ** (-1 / w[20]) - 1
    first, s, d = True, 0.0, 0.0
    for recall, days in history:
        g = int(recall)
        if first:
            s = max(w[g - 1], 0.001)
            d = min(10, max(1, w[4] - math.exp(w[5] * (g - 1)) + 1))
            first = False
            continue
        r = (1 + factor * days / s) ** -w[20]
        if days == 0:
            grow = math.exp(w[17] * (g - 3 + w[18])) * s ** -w[19]
            new = s * (max(1, grow) if g > 1 else grow)
        elif g == 1:
            new = min(
                w[11] * d ** -w[12] * ((s + 1) ** w[13] - 1) * math.exp((1 - r) * w[14]),
                s / math.exp(w[17] * w[18]),
            )
        else:
            bonus = {2: w[15], 3: 1, 4: w[16]}[g]
            gain = math.exp(w[8]) * (11 - d) * s ** -w[9] * (math.exp((1 - r) * w[10]) - 1)
            new = s * (1 + gain * bonus)
        easiest = w[4] - math.exp(w[5] * 3) + 1
        moved = d - w[6] * (g - 3) * (10 - d) / 9
        d = min(10, max(1, w[7] * easiest + (1 - w[7]) * moved))
        s = max(new, 0.001)
    return s, d


def test_published_sequence():
    """Nine attempts give the stabilities, difficulties and intervals of FSRS-6."""
    # Computed with the open-spaced-repetition reference implementations, default weights.
    table = [
        (3, 0, 2.306500, 2.118104, 2),
        (3, 2, 10.964332, 2.111214, 11),
        (3, 7, 36.123636, 2.104331, 36),
        (2, 22, 75.532506, 4.743716, 76),
        (1, 28, 3.098513, 8.257523, 3),
        (3, 0, 3.098513, 8.244494, 3),
        (3, 1, 4.643058, 8.231478, 5),
        (4, 9, 20.170559, 7.625749, 20),
        (3, 60, 63.932577, 7.613352, 64),
    ]
    states = play([(Recall(grade), days) for grade, days, *_ in table])
    for state, (_, _, stability, difficulty, interval) in zip(states, table, strict=True):
        assert state.stability == pytest.approx(stability, abs=5e-7)
        assert state.difficulty == pytest.approx(difficulty, abs=5e-7)
        assert interval_days(state.stability, 0.9) == interval


def test_default_weights_are_those_of_both_libraries():
    """The weights that stand here for the sake of start-up are the libraries' own."""
    assert fsrs.scheduler.DEFAULT_PARAMETERS == DEFAULT_WEIGHTS
    assert pytest.approx(DEFAULT_PARAMETERS, rel=1e-6) == DEFAULT_WEIGHTS
    assert fsrs.scheduler.LOWER_BOUNDS_PARAMETERS == LOWEST_WEIGHTS
    assert fsrs.scheduler.UPPER_BOUNDS_PARAMETERS == HIGHEST_WEIGHTS


@pytest.mark.parametrize(
    "value",
    [None, "x", [], ["x"], [1, 2, 3], [*DEFAULT_WEIGHTS[:20], float("nan")],
     [*DEFAULT_WEIGHTS[:20], float("inf")], [*DEFAULT_WEIGHTS[:20], 0.05], [True] * 21,
     [*DEFAULT_WEIGHTS, 0.5]],
)  # fmt: skip
def test_weights_that_the_library_would_not_take_are_refused(value):
    """Of another kind or number, not finite, or out of the library's bounds."""
    with pytest.raises(ValueError, match=r"list of 21|bounds of FSRS-6"):
        weights_from(value)
    assert weights_from(list(DEFAULT_WEIGHTS)) == DEFAULT_WEIGHTS


@settings(max_examples=80)
@given(histories)
def test_agrees_with_the_formulas(history):
    """Any history gives what the published formulas give, to 1e-12."""
    stability, difficulty = plain(history)
    state = play(history)[-1]
    assert state.stability == pytest.approx(stability, rel=1e-12)
    assert state.difficulty == pytest.approx(difficulty, rel=1e-12)


@settings(max_examples=100)
@given(histories)
def test_agrees_with_an_independent_implementation(history):
    """Any history gives what the Rust implementation gives, up to its single precision."""
    history = [(history[0][0], 0), *history[1:]]
    item = FSRSItem([FSRSReview(int(recall), days) for recall, days in history])
    other = FSRS(list(DEFAULT_WEIGHTS)).memory_state(item)
    state = play(history)[-1]
    # Single precision carries about 7 digits; a dozen attempts lose one or two of them.
    assert state.stability == pytest.approx(other.stability, rel=2e-4, abs=2e-6)
    assert state.difficulty == pytest.approx(other.difficulty, rel=1e-4)


@settings(max_examples=100)
@given(st.floats(0.01, 5000), st.integers(0, 5000))
def test_retrievability_is_the_librarys(stability, days):
    """The curve written out here is the one that the library uses."""
    state = MemoryState(stability, 5.0, START)
    day = START + timedelta(days=days)
    card = fsrs.Card(card_id=1, state=fsrs.State.Review, stability=stability, difficulty=5.0)
    card.last_review = fsrs_noon(START)
    theirs = fsrs.Scheduler().get_card_retrievability(card, fsrs_noon(day))
    assert retrievability(state, day) == pytest.approx(theirs, rel=1e-14)


def fsrs_noon(day: date):
    from datetime import UTC, datetime, time

    return datetime.combine(day, time(12, tzinfo=UTC))


def test_nine_tenths_at_the_stability():
    """Recall is 90 % likely after as many days as the stability says."""
    state = MemoryState(30.0, 5.0, START)
    assert retrievability(state, START + timedelta(days=30)) == pytest.approx(0.9, abs=1e-12)
    assert retrievability(state, START) == 1.0


@pytest.mark.parametrize(
    ("retention", "ratio"), [(0.8, 3.316), (0.85, 1.906), (0.9, 1.0), (0.95, 0.4026)]
)
def test_interval_against_retention(retention, ratio):
    """The interval that a retention asks for is this multiple of the stability."""
    # Ratios by the formula of FSRS-6 with its default decay.
    assert interval_days(10_000, retention) == pytest.approx(10_000 * ratio, rel=5e-4)


def test_shortest_and_longest_interval():
    """An interval is a day at least and a hundred years at most."""
    assert interval_days(0.001, 0.9) == 1
    assert interval_days(1e9, 0.9) == 36500


def test_own_weights_change_state_curve_and_interval():
    """Fitted weights are used wherever the defaults would be."""
    weights = (0.212, 1.2931, 5.0, *DEFAULT_WEIGHTS[3:20], 0.5)
    assert after(None, Recall.CLEAN, START, weights).stability == 5.0
    state = MemoryState(10.0, 5.0, START)
    later = START + timedelta(days=40)
    assert retrievability(state, later, weights) != retrievability(state, later)
    assert interval_days(10.0, 0.8, weights) != interval_days(10.0, 0.8)


def test_a_clock_set_back_lets_no_time_pass():
    """An attempt dated before the last one moves the memory as one on that day would have."""
    state = after(None, Recall.CLEAN, START)
    back = START - timedelta(days=3)
    assert went_back(state, back)
    assert not went_back(state, START)
    assert not went_back(None, back)
    on_that_day = after(state, Recall.CLEAN, START)
    assert after(state, Recall.CLEAN, back) == on_that_day._replace(last_day=back)
    assert retrievability(state, back) == 1.0


def test_letters_and_words():
    """Each rating has its word and its key."""
    assert [(each.letter, each.word) for each in Recall] == [
        ("l", "lost"),
        ("r", "rough"),
        ("c", "clean"),
        ("f", "fluent"),
    ]


def test_choosing_needs_no_memory_library():
    """Importing all that chooses a card loads neither fsrs nor numpy."""
    code = (
        "import sys, drillbox.memory.choose, drillbox.memory.cards, drillbox.memory.days, "
        "drillbox.practice.readiness, drillbox.memory.days\n"
        "print([m for m in ('fsrs', 'numpy', 'fsrs_rs_python') if m in sys.modules])"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
