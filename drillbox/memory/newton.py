"""The mode of a small logistic regression, in plain Python.

For the fit before a drill's first screen: there, loading numpy takes longer than all of this.
``logistic`` finds the same for thousands of phrases, and how sure of it one may be; the tests
hold the two against each other.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, log1p, sqrt
from operator import mul
from typing import NamedTuple

_MOST_STEPS = 50
_TOLERANCE = 1e-3  # of the last step, in log-odds: what is wrong still is its square or so


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
    here = _shape(trials, prior, effects, weights)
    for _ in range(_MOST_STEPS):
        by_group, by_column = _step(here)
        largest = max(map(abs, by_group + by_column))
        share = 1.0
        while True:
            new_effects = _moved(effects, by_group, share)
            new_weights = _moved(weights, by_column, share)
            if largest * share <= _TOLERANCE:
                return new_effects, new_weights
            there = _shape(trials, prior, new_effects, new_weights)
            if there.loss <= here.loss:
                break
            share /= 2
        effects, weights, here = new_effects, new_weights, there
    raise ArithmeticError(f"no mode within {_MOST_STEPS} steps")


def _moved(values: list[float], steps: list[float], share: float) -> list[float]:
    return [value + share * step for value, step in zip(values, steps, strict=True)]


class _Shape(NamedTuple):
    """The negative log posterior at a point, up to a constant; how it falls with each effect and
    weight; its curvature, in blocks: groups (diagonal), columns (up to the diagonal), between."""

    loss: float
    group_slope: list[float]
    group_curvature: list[float]
    slope: list[float]
    curvature: list[list[float]]
    between: list[list[float]]


def _prior_shape(prior: Prior, effects: list[float], weights: list[float]) -> _Shape:
    off = [weight - mean for weight, mean in zip(weights, prior.mean, strict=True)]
    pull = [precision * by for precision, by in zip(prior.precision, off, strict=True)]
    loss = 0.5 * prior.group_precision * sum(map(mul, effects, effects))
    return _Shape(
        loss + 0.5 * sum(map(mul, pull, off)),
        [-prior.group_precision * effect for effect in effects],
        [prior.group_precision] * len(effects),
        [-each for each in pull],
        [[0.0] * at + [each] for at, each in enumerate(prior.precision)],
        [[0.0] * len(effects) for _ in weights],
    )


def _shape(
    trials: Sequence[Trial], prior: Prior, effects: list[float], weights: list[float]
) -> _Shape:
    """Return the shape of prior and trials; all in one walk, as the walk is what takes time."""
    shape = _prior_shape(prior, effects, weights)
    loss, group_slope, group_curvature, slope, curvature, between = shape
    for group, columns, success in trials:
        odds = effects[group]
        for column, value in columns:
            odds += weights[column] * value
        small = exp(-abs(odds))
        loss += log1p(small) + (abs(odds) if (odds < 0.0) == success else 0.0)
        chance = (1.0 if odds > 0.0 else small) / (1.0 + small)
        error, bend = success - chance, chance * (1.0 - chance)
        group_slope[group] += error
        group_curvature[group] += bend
        for at, (column, value) in enumerate(columns, 1):
            slope[column] += error * value
            bent = bend * value
            between[column][group] += bent
            row = curvature[column]
            for other, its_value in columns[:at]:
                row[other] += bent * its_value
    return shape._replace(loss=loss)


def _step(shape: _Shape) -> tuple[list[float], list[float]]:
    """Return Newton's step for the groups and the columns.

    The groups don't touch each other, so their block of the curvature is diagonal: it is
    eliminated first (its Schur complement), which leaves a system of the columns only.
    """
    _, group_slope, group_curvature, slope, curvature, between = shape
    pulled = [[each / by for each, by in zip(row, group_curvature, strict=True)] for row in between]
    left = [each - sum(map(mul, row, group_slope)) for each, row in zip(slope, pulled, strict=True)]
    lower = [
        [each - sum(map(mul, row, other)) for each, other in zip(own, between, strict=False)]
        for own, row in zip(curvature, pulled, strict=True)
    ]
    by_column = _solved(lower, left)
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
