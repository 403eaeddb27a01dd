"""Logistic regression with shrunken effects: its mode, and how sure of it one may be.

One effect a group (a phrase), of which there may be thousands, and a few dense columns (mean,
keys, conditions). The groups don't touch each other, so their block of the curvature is
diagonal: eliminating it (its Schur complement) leaves a system of the dense columns only.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log, sqrt

import numpy as np
from numpy.typing import NDArray

_LONGEST_STRIDE = 8.0  # further than that, an extrapolation is a guess

Floats = NDArray[np.float64]
Indices = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Counts:
    """Rows of counts: ``recalled`` of ``total`` (both may be fractional) in one group each.

    ``group`` counts from 0 without gaps and is sorted; ``design`` has one row of dense columns
    for each.
    """

    group: Indices
    design: Floats
    recalled: Floats
    total: Floats

    def odds(self, groups: Floats, columns: Floats) -> Floats:
        """Return the log-odds of each row."""
        return np.asarray(groups[self.group] + self.design @ columns)

    def starts(self) -> Indices:
        """Return where each group's rows begin."""
        return np.flatnonzero(np.diff(self.group, prepend=-1))


@dataclass(frozen=True, slots=True)
class Mode:
    """The most probable effects, and the inverse curvature there (Laplace), in blocks.

    With D the groups' diagonal block, C the block between groups and columns, and S what is
    left of the columns' block: ``spread`` is 1/D, ``pull`` D⁻¹C, ``covariance`` S⁻¹.
    """

    groups: Floats
    columns: Floats
    spread: Floats
    pull: Floats
    covariance: Floats

    def group_variance(self) -> Floats:
        """Return the variance of each group's effect."""
        shared = np.einsum("ij,jk,ik->i", self.pull, self.covariance, self.pull, optimize=True)
        return np.asarray(self.spread + shared)

    def group_contrast_variance(self) -> Floats:
        """Return the variance of each group's effect less the mean of all groups' effects."""
        count = len(self.groups)
        with_all = self.spread + self.pull @ (self.covariance @ self.pull.sum(axis=0))
        variance = self.group_variance() - 2 * with_all / count + with_all.sum() / count**2
        return np.asarray(np.maximum(variance, 0.0))

    def column_contrast_variance(self, columns: slice) -> Floats:
        """Return the variance of each of these columns' effect less the mean of them all."""
        block = self.covariance[columns, columns]
        centred = block - block.mean(axis=0)
        return np.maximum(np.diag(centred - centred.mean(axis=1, keepdims=True)), 0.0)


def find_mode(
    counts: Counts,
    group_precision: float,
    precision: Floats,
    start: tuple[Floats, Floats] | None = None,
    tolerance: float = 1e-9,
) -> Mode:
    """Return the mode under Normal priors around 0 with these precisions (1 / width²).

    Newton's steps, halved where one would lead uphill; ``start`` holds groups and columns to
    begin at. A precision of 0 leaves an effect free. Raises ``numpy.linalg.LinAlgError``
    where the data leave a free effect open.
    """
    starts = counts.starts()
    groups, columns = start or (np.zeros(len(starts)), np.zeros(counts.design.shape[1]))
    loss = _loss(counts, groups, columns, group_precision, precision)
    for _ in range(100):
        mode, group_step, column_step = _newton(
            counts, starts, groups, columns, group_precision, precision
        )
        largest = max(np.abs(group_step).max(), np.abs(column_step).max())
        share = 1.0
        while largest * share > tolerance:
            new_groups, new_columns = groups + share * group_step, columns + share * column_step
            new_loss = _loss(counts, new_groups, new_columns, group_precision, precision)
            if new_loss <= loss + 1e-12 * abs(loss):
                break
            share /= 2
        else:
            return mode
        groups, columns, loss = new_groups, new_columns, new_loss
    raise np.linalg.LinAlgError("the mode can't be found")


def _loss(
    counts: Counts, groups: Floats, columns: Floats, group_precision: float, precision: Floats
) -> float:
    """Return the negative log posterior, up to a constant."""
    odds = counts.odds(groups, columns)
    fit = np.logaddexp(0.0, odds) @ counts.total - odds @ counts.recalled
    return float(fit + 0.5 * (group_precision * (groups @ groups) + precision @ columns**2))


def _newton(
    counts: Counts,
    starts: Indices,
    groups: Floats,
    columns: Floats,
    group_precision: float,
    precision: Floats,
) -> tuple[Mode, Floats, Floats]:
    """Return the curvature here as a mode, and Newton's step for groups and columns."""
    odds = counts.odds(groups, columns)
    chance = 0.5 + 0.5 * np.tanh(0.5 * odds)
    residual = counts.recalled - counts.total * chance
    weight = counts.total * chance * (1.0 - chance)
    weighted = counts.design * weight[:, None]

    spread = 1.0 / (np.add.reduceat(weight, starts) + group_precision)
    between = np.add.reduceat(weighted, starts, axis=0)
    pull = between * spread[:, None]
    left = counts.design.T @ weighted + np.diag(precision) - between.T @ pull
    covariance = np.asarray(np.linalg.inv(left), dtype=np.float64)

    group_slope = np.add.reduceat(residual, starts) - group_precision * groups
    column_slope = counts.design.T @ residual - precision * columns
    column_step = covariance @ (column_slope - pull.T @ group_slope)
    group_step = spread * group_slope - pull @ column_step
    return Mode(groups, columns, spread, pull, covariance), group_step, column_step


def learn_widths(
    counts: Counts, shrunk: slice, wide: float, width_mode: float
) -> tuple[Mode, float, float]:
    """Return the mode, with the widths of the groups' and the ``shrunk`` columns' priors.

    The widths are those that make the data most probable, by EM with Laplace's approximation
    in place of the exact moments. ``wide`` is the prior width of the other columns,
    ``width_mode`` the mode of the Rayleigh prior of the widths themselves.

    Where there is hardly any effect, EM creeps. Each two of its steps are therefore drawn out
    on the scale of log-widths (the squared extrapolation of Varadhan & Roland 2008, scheme S3);
    the steps that follow correct what was drawn too far. It ends where a step changes no width by
    a thousandth of a log-odds.
    """
    precision = np.full(counts.design.shape[1], wide**-2)
    start = None
    widths = np.full(2, log(width_mode))
    for _ in range(30):
        path = [widths]
        for _ in range(2):
            group_width, column_width = np.exp(path[-1])
            precision[shrunk] = column_width**-2
            mode = find_mode(counts, float(group_width**-2), precision, start, tolerance=1e-6)
            start = mode.groups, mode.columns
            column_variance = np.diag(mode.covariance)[shrunk]
            learnt = (
                _width(mode.groups, mode.group_variance(), width_mode),
                _width(mode.columns[shrunk], column_variance, width_mode),
            )
            path.append(np.log(learnt))
        first, second = path[1] - path[0], path[2] - path[1]
        if np.abs(np.exp(path[2]) - np.exp(path[1])).max() < 1e-3:
            break
        stride = np.sqrt((first @ first) / max(1e-12, (second - first) @ (second - first)))
        stride = min(_LONGEST_STRIDE, max(1.0, stride))
        widths = path[0] + 2 * stride * first + stride**2 * (second - first)
    group_width, column_width = np.exp(path[-1])
    return mode, float(group_width), float(column_width)


def _width(effects: Floats, variances: Floats, width_mode: float) -> float:
    """Return the width under which effects known that well are most probable.

    With n effects, s the sum of their squares and variances, and a Rayleigh prior of mode m,
    it maximises -(n - 1) log w - s / 2w² - w² / 2m², a quadratic in w².
    """
    n, s = len(effects), float((effects**2 + variances).sum())
    square = width_mode**2
    return sqrt(square / 2 * (sqrt((n - 1) ** 2 + 4 * s / square) - (n - 1)))
