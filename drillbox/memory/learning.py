"""How this player's recall grows and fades, learnt from their own latest attempts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from math import exp, log
from typing import NamedTuple

LATEST = 1500  # so many attempts are some six weeks of daily practice; older ones were another you
LOST_SHARE = 0.2  # what a lost attempt, after which it is heard right once, adds against a recall
# Before there is anything to learn from: one recall gives even odds a day later, and each
# doubling of the days costs what a tenfold of practice brings in about two steps. Assumed.
PRIOR = (-1.0, 1.3, 0.5)
_PULL = 3.0  # weight of the prior, in attempts
_STEPS = 6
_FEWEST = 20
_LEAST = (0.3, 0.1)  # practice helps and time harms, whatever the first days look like


class Seen(NamedTuple):
    """A card's first attempt on one practice day (``date.toordinal()``)."""

    card_id: int
    day: int
    recalled: bool


@dataclass(frozen=True, slots=True, eq=False)
class Learned:
    """What the latest attempts say; two are the same only if they are one object.

    The odds of recall are e^base · (1 + n)^growth · days^-fading, n being the card's recalled
    attempts plus a share of its lost ones. ``counts`` holds (recalled, lost) of each card seen;
    ``first`` is the share of first tries that succeed, ``lately`` that of the later ones.
    """

    base: float = PRIOR[0]
    growth: float = PRIOR[1]
    fading: float = PRIOR[2]
    first: float = 1 / 6
    lately: float = 0.5
    counts: Mapping[int, tuple[int, int]] = field(default_factory=dict)

    def recall(self, practice: float, days: float) -> float:
        """Return the chance of recall after ``days`` (1 at least), n being ``practice``."""
        odds = self.base + self.growth * log(1 + practice) - self.fading * log(max(1.0, days))
        return 1 / (1 + exp(-odds))


def learn(seen: Iterable[Seen]) -> Learned:
    """Return what the attempts say, oldest first; all but the latest ``LATEST`` are left out.

    Logistic regression with a Normal prior around ``PRIOR``, by Newton's method; a few dozen
    attempts are enough to see whether recall or mere practice makes this player remember.
    """
    latest = list(seen)[-LATEST:]
    counts: dict[int, tuple[int, int]] = {}
    last: dict[int, int] = {}
    rows: Counter[tuple[float, int, bool]] = Counter()
    first, tries, lately = 0.5, 3.0, 0.5
    half_life = 1 - 0.5 ** (1 / 60)
    for card_id, day, recalled in latest:
        good, lost = counts.get(card_id, (0, 0))
        if card_id in last:
            rows[good + LOST_SHARE * lost, max(1, day - last[card_id]), recalled] += 1
            lately += (recalled - lately) * half_life
        else:
            first, tries = first * 0.97 + recalled, tries * 0.97 + 1
        counts[card_id] = (good + recalled, lost + (not recalled))
        last[card_id] = day
    weights = _fit(rows) if rows.total() >= _FEWEST else PRIOR
    return Learned(*weights, first / tries, lately, counts)


def _fit(rows: Counter[tuple[float, int, bool]]) -> tuple[float, float, float]:
    """Return base, growth and fading that make the rows likeliest, held towards the prior."""
    data = [
        (log(1 + practice), -log(days), float(recalled), times)
        for (practice, days, recalled), times in rows.items()
    ]
    base, growth, fading = PRIOR
    for _ in range(_STEPS):
        gradient = [-_PULL * (now - prior) for now, prior in
                    zip((base, growth, fading), PRIOR, strict=True)]  # fmt: skip
        curve = [_PULL, 0.0, 0.0, _PULL, 0.0, _PULL]  # upper triangle of a symmetric 3 × 3
        for x, y, recalled, times in data:
            chance = 1 / (1 + exp(-(base + growth * x + fading * y)))
            error, weight = (recalled - chance) * times, chance * (1 - chance) * times
            gradient[0] += error
            gradient[1] += error * x
            gradient[2] += error * y
            curve[0] += weight
            curve[1] += weight * x
            curve[2] += weight * y
            curve[3] += weight * x * x
            curve[4] += weight * x * y
            curve[5] += weight * y * y
        steps = [max(-1.0, min(1.0, each)) for each in _solve(curve, gradient)]
        base += steps[0]
        growth = max(_LEAST[0], growth + steps[1])
        fading = max(_LEAST[1], fading + steps[2])
    return base, growth, fading


def _solve(matrix: list[float], right: list[float]) -> tuple[float, float, float]:
    """Solve a symmetric positive definite 3 × 3 system by Cramer's rule."""
    a, b, c, d, e, f = matrix
    x, y, z = right
    one, two, three = d * f - e * e, c * e - b * f, b * e - c * d
    whole = a * one + b * two + c * three
    four, five, six = a * f - c * c, b * c - a * e, a * d - b * b
    return (
        (one * x + two * y + three * z) / whole,
        (two * x + four * y + five * z) / whole,
        (three * x + five * y + six * z) / whole,
    )
