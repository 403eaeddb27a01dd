"""The plain solver against its twin in numpy, and against the mode's own definition."""

from __future__ import annotations

from math import exp
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillbox.memory import logistic
from drillbox.memory.newton import Prior, Trial, find_mode
from tests.bench import study_fit

COLUMNS, GROUPS = 4, 3
VALUES = st.floats(-5, 5).map(lambda value: round(value, 3))
TRIALS = st.builds(
    Trial,
    st.integers(0, GROUPS - 1),
    st.dictionaries(st.integers(0, COLUMNS - 1), VALUES, max_size=COLUMNS).map(
        lambda found: tuple(sorted(found.items()))
    ),
    st.booleans(),
)


def slopes(
    trials: list[Trial], prior: Prior, effects: list[float], weights: list[float]
) -> list[float]:
    """Return how the log posterior rises with each effect and weight."""
    groups = [-prior.group_precision * effect for effect in effects]
    columns = [
        precision * (mean - weight)
        for weight, mean, precision in zip(weights, prior.mean, prior.precision, strict=True)
    ]
    for group, values, success in trials:
        odds = effects[group] + sum(weights[column] * value for column, value in values)
        error = success - 1 / (1 + exp(-odds))
        groups[group] += error
        for column, value in values:
            columns[column] += error * value
    return groups + columns


@given(
    st.lists(TRIALS, max_size=40),
    st.lists(st.floats(-2, 2), min_size=COLUMNS, max_size=COLUMNS),
    st.lists(st.floats(0.2, 10), min_size=COLUMNS, max_size=COLUMNS),
    st.floats(0.2, 10),
)
def test_the_posterior_has_no_slope_at_its_mode(trials, mean, precision, group_precision):
    """Whatever the trials: one group only, no column, columns alike, all of them a success."""
    prior = Prior(mean, precision, group_precision)
    effects, weights = find_mode(trials, GROUPS, prior)
    assert max(map(abs, slopes(trials, prior, effects, weights))) < 1e-4


@pytest.mark.parametrize("seed", range(5))
def test_it_agrees_with_the_solver_of_the_summary(seed):
    """``logistic.find_mode`` works on arrays and around 0; the same trials give the same mode."""
    dice = Random(seed)
    trials = sorted(
        Trial(dice.randrange(30), ((0, 1.0), (1, dice.gauss(0, 1)), (2 + dice.randrange(12), 1.0)),
              dice.random() < 0.6)
        for _ in range(800)
    )  # fmt: skip
    precision = [1.0, 3.0, *[2.0] * 12]
    effects, weights = find_mode(trials, 30, Prior([0.0] * 14, precision, 0.7))
    design = np.zeros((800, 14))
    for row, trial in zip(design, trials, strict=True):
        for column, value in trial.columns:
            row[column] = value
    counts = logistic.Counts(
        np.array([trial.group for trial in trials]),
        design,
        np.array([trial.success for trial in trials], float),
        np.ones(800),
    )
    twin = logistic.find_mode(counts, 0.7, np.array(precision))
    assert effects == pytest.approx(twin.groups.tolist(), abs=1e-6)
    assert weights == pytest.approx(twin.columns.tolist(), abs=1e-6)


@pytest.mark.parametrize("mean", [0.0, 4.0, 30.0])
def test_the_study_finds_the_same_mode(mean):
    """``study_fit.find_mode`` stands in for it in the study: the same trials and priors, the same
    mode, also from so far off that steps are halved, and with a group that has no trial.
    """
    dice = Random(int(mean))
    trials = [
        Trial(dice.randrange(8), ((0, 1.0), (1, dice.gauss(0, 1)), (2 + dice.randrange(3), 1.0)),
              dice.random() < 0.7)
        for _ in range(150)
    ]  # fmt: skip
    prior = Prior([mean, -mean, 0.3, 0.0, 0.0], [0.2, 3.0, 2.0, 2.0, 2.0], 1.5)
    effects, weights = find_mode(trials, 9, prior)
    twin_effects, twin_weights = study_fit.find_mode(trials, 9, prior)
    assert effects == pytest.approx(twin_effects, abs=1e-4)
    assert weights == pytest.approx(twin_weights, abs=1e-4)


def test_a_step_too_long_is_halved():
    """From far off, Newton's whole step would overshoot: a mean at 30 against 50 failures."""
    trials = [Trial(0, ((0, 1.0),), success=False)] * 50
    prior = Prior([30.0], [0.001], 5.0)
    effects, weights = find_mode(trials, 1, prior)
    assert max(map(abs, slopes(trials, prior, effects, weights))) < 1e-4
