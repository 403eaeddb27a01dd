"""The mode of a small logistic regression, in plain Python.

For the fit before a drill's first screen: there, loading numpy takes longer than all of this.
``logistic`` finds the same for thousands of phrases, and how sure of it one may be; the tests
hold the two against each other.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, log1p, sqrt, tanh
from operator import mul
from typing import NamedTuple

_MOST_STEPS = 50
_TOLERANCE = 1e-4  # of the last step, in log-odds: what is wrong still is its square or so


class Trial(NamedTuple):
    """One outcome: the group it is of (from 0), and its columns other than 0 with their values,
    by number, the lowest first."""

    group: int
    columns: tuple[tuple[int, float], ...]
    success: bool


class Prior(NamedTuple):
    """Normal priors: each column's mean and precision (1 / sd²), and the precision of each
    group's effect, whose mean is 0."""

    mean: Sequence[float]
    precision: Sequence[float]
    group_precision: float


def find_mode(
    trials: Sequence[Trial], groups: int, prior: Prior
) -> tuple[list[float], list[float]]:
    """Return the most probable effects of the groups, and the columns' weights, in log-odds.

    Newton's steps, halved where one would lead uphill. There is one mode, as every effect has a
    prior; raises ArithmeticError should it not be reached.
    """
    effects, weights = [0.0] * groups, list(prior.mean)
    loss = _loss(trials, prior, effects, weights)
    for _ in range(_MOST_STEPS):
        by_group, by_column = _step(trials, prior, effects, weights)
        largest = max(map(abs, by_group + by_column))
        share = 1.0
        while True:
            new_effects = _moved(effects, by_group, share)
            new_weights = _moved(weights, by_column, share)
            if largest * share <= _TOLERANCE:
                return new_effects, new_weights
            new_loss = _loss(trials, prior, new_effects, new_weights)
            if new_loss <= loss:
                break
            share /= 2
        effects, weights, loss = new_effects, new_weights, new_loss
    raise ArithmeticError(f"no mode within {_MOST_STEPS} steps")


def _moved(values: list[float], steps: list[float], share: float) -> list[float]:
    return [value + share * step for value, step in zip(values, steps, strict=True)]


def _odds(trial: Trial, effects: list[float], weights: list[float]) -> float:
    odds = effects[trial.group]
    for column, value in trial.columns:
        odds += weights[column] * value
    return odds


def _loss(
    trials: Sequence[Trial], prior: Prior, effects: list[float], weights: list[float]
) -> float:
    """Return the negative log posterior, up to a constant."""
    loss = 0.5 * prior.group_precision * sum(effect**2 for effect in effects)
    for weight, mean, precision in zip(weights, prior.mean, prior.precision, strict=True):
        loss += 0.5 * precision * (weight - mean) ** 2
    for trial in trials:
        odds = _odds(trial, effects, weights)
        against = -odds if trial.success else odds
        loss += max(0.0, against) + log1p(exp(-abs(against)))
    return loss


def _step(
    trials: Sequence[Trial], prior: Prior, effects: list[float], weights: list[float]
) -> tuple[list[float], list[float]]:
    """Return Newton's step for the groups and the columns.

    The groups don't touch each other, so their block of the curvature is diagonal: it is
    eliminated first (its Schur complement), which leaves a system of the columns only.
    """
    size = len(weights)
    slope = [
        precision * (mean - weight)
        for weight, mean, precision in zip(weights, prior.mean, prior.precision, strict=True)
    ]
    curvature = [[0.0] * at + [prior.precision[at]] for at in range(size)]  # below the diagonal
    group_slope = [-prior.group_precision * effect for effect in effects]
    group_curvature = [prior.group_precision] * len(effects)
    between = [[0.0] * len(effects) for _ in weights]
    for trial in trials:
        chance = 0.5 + 0.5 * tanh(0.5 * _odds(trial, effects, weights))
        error, bend = trial.success - chance, chance * (1.0 - chance)
        group_slope[trial.group] += error
        group_curvature[trial.group] += bend
        for at, (column, value) in enumerate(trial.columns, 1):
            slope[column] += error * value
            bent = bend * value
            between[column][trial.group] += bent
            row = curvature[column]
            for other, its_value in trial.columns[:at]:
                row[other] += bent * its_value
    pulled = [[each / by for each, by in zip(row, group_curvature, strict=True)] for row in between]
    for column, row in enumerate(pulled):
        slope[column] -= sum(map(mul, row, group_slope))
        for other in range(column + 1):
            curvature[column][other] -= sum(map(mul, row, between[other]))
    by_column = _solved(curvature, slope)
    by_group = [own / bend for own, bend in zip(group_slope, group_curvature, strict=True)]
    for step, row in zip(by_column, pulled, strict=True):
        by_group = [have - step * each for have, each in zip(by_group, row, strict=True)]
    return by_group, by_column


def _solved(lower: list[list[float]], right: list[float]) -> list[float]:
    """Return x of A x = ``right``, A symmetric and positive; ``lower`` is A up to its diagonal.

    By Cholesky's decomposition, A = L Lᵀ.
    """
    root: list[list[float]] = []
    found: list[float] = []
    for row, wanted in zip(lower, right, strict=True):
        own: list[float] = []
        for above, value in zip(root, row, strict=False):
            own.append((value - sum(map(mul, own, above))) / above[-1])
        own.append(sqrt(row[-1] - sum(map(mul, own, own))))
        found.append((wanted - sum(map(mul, own, found))) / own[-1])
        root.append(own)
    for at in reversed(range(len(found))):
        found[at] /= root[at][at]
        for before in range(at):
            found[before] -= root[at][before] * found[at]
    return found
