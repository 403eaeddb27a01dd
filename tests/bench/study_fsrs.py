"""FSRS-6 in plain floats, for speed; a test holds it equal to ``drillbox.memory.recall``."""

from __future__ import annotations

from math import exp

from drillbox.memory.recall import DEFAULT_WEIGHTS, curve

W = DEFAULT_WEIGHTS
DECAY, FACTOR = curve()
_EASIEST = W[4] - exp(W[5] * 3) + 1


def retrievability(stability: float, days: float) -> float:
    """Return the chance of recall after ``days``."""
    return float((1 + FACTOR * days / stability) ** DECAY)


def interval(stability: float, retention: float) -> int:
    """Return whole days until recall falls to ``retention``, 1 at least."""
    return max(1, round(stability / FACTOR * (retention ** (1 / DECAY) - 1)))


def after(
    state: tuple[float, float] | None, days: float, rating: int, whole: float = 1.0
) -> tuple[float, float]:
    """Return stability and difficulty after an attempt rated 1–4, ``days`` after the last one.

    ``state`` is None before the first; under ``whole`` days it counts as the same day's.
    """
    if state is None:
        return W[rating - 1], min(10.0, max(1.0, W[4] - exp(W[5] * (rating - 1)) + 1))
    s, d = state
    s = _same_day(s, rating) if days < whole else _later(s, d, retrievability(s, days), rating)
    moved = d - W[6] * (rating - 3) * (10 - d) / 9
    d = min(10.0, max(1.0, W[7] * _EASIEST + (1 - W[7]) * moved))
    return min(36500.0, max(0.001, s)), d


def _same_day(s: float, rating: int) -> float:
    grow = exp(W[17] * (rating - 3 + W[18])) * s ** -W[19]
    return float(s * (max(grow, 1.0) if rating > 1 else grow))


def _later(s: float, d: float, chance: float, rating: int) -> float:
    if rating == 1:
        lost = W[11] * d ** -W[12] * ((s + 1) ** W[13] - 1) * exp((1 - chance) * W[14])
        return float(min(lost, s / exp(W[17] * W[18])))
    factor = (0.0, 0.0, W[15], 1.0, W[16])[rating]
    gain = exp(W[8]) * (11 - d) * s ** -W[9] * (exp((1 - chance) * W[10]) - 1)
    return float(s * (1 + gain * factor))
