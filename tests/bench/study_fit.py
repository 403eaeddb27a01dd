"""The mode that ``memory.newton`` finds, by numpy: the study fits some hundred thousand times.

A test holds the two against each other.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from drillbox.memory.newton import Prior, Trial


def find_mode(
    trials: Sequence[Trial], groups: int, prior: Prior
) -> tuple[list[float], list[float]]:
    """Return the most probable effects of the groups and weights of the columns."""
    count = len(trials)
    size = len(prior.mean)
    at = [
        (row, column, value) for row, trial in enumerate(trials) for column, value in trial.columns
    ]
    rows, columns, values = (np.array(each) for each in zip(*at, strict=True))
    design = np.zeros((count, size + groups))
    design[rows, columns] = values
    design[np.arange(count), size + np.array([trial.group for trial in trials])] = 1.0
    wanted = np.array([trial.success for trial in trials], dtype=float)
    mean = np.array([*prior.mean, *([0.0] * groups)])
    precision = np.array([*prior.precision, *([prior.group_precision] * groups)])
    weights = mean.copy()

    def loss(these: np.ndarray) -> float:
        odds = design @ these
        return float(
            (np.logaddexp(0, odds) - wanted * odds).sum() + 0.5 * precision @ (these - mean) ** 2
        )

    have = loss(weights)
    for _ in range(50):
        chance = 0.5 + 0.5 * np.tanh(0.5 * (design @ weights))
        slope = design.T @ (wanted - chance) - precision * (weights - mean)
        bend = (design * (chance * (1 - chance))[:, None]).T @ design + np.diag(precision)
        step = np.linalg.solve(bend, slope)
        share = 1.0
        while np.abs(step).max() * share > 1e-4 and (new := loss(weights + share * step)) > have:
            share /= 2
        weights = weights + share * step
        if np.abs(step).max() * share <= 1e-4:
            break
        have = new
    return weights[size:].tolist(), weights[:size].tolist()
