"""Which keys and phrases are weak, and how sure that is.

The log-odds of recall are a mean, plus an effect of the phrase, plus one of the key, plus
slopes for what makes an attempt easier or harder (tempo, days since the last attempt, a hint,
a first try). Effects have Normal priors around 0 whose widths are learnt from the data, so that
few attempts move an estimate little. A slope counts only where it has the sign that it must
have: what goes badly is played slower, more often and with hints, which mustn't pass for what
makes it hard. Last comes how much a plain count of attempts proves.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import exp, log, log1p, sqrt
from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from drillbox.memory.logistic import Floats, Indices


Verdict = Literal["weak", "not enough played yet", "as good as the rest"]
WEAK: Verdict = "weak"
UNPLAYED: Verdict = "not enough played yet"
FINE: Verdict = "as good as the rest"

HALF_LIFE = 90.0  # practice days after which an attempt weighs half
ENOUGH = 5  # attempts that must stand behind a verdict
LEVEL = 0.8

# The mean and the slopes have a Normal prior of this width: wide on the scale of log-odds,
# yet it keeps them finite where everything was recalled (Gelman et al. 2008 argue for 2.5).
_WIDE = 2.5
# The signs of the slopes: faster, longer ago and for the first time is harder, with a hint easier.
_SIGNS = (-1.0, -1.0, 1.0, -1.0)
# The widths of the effects have a Rayleigh prior with this mode. It keeps them off 0, where
# every interval would be empty (Chung et al. 2013), and hardly counts once there are data.
_WIDTH_MODE = 1.5


class Played(NamedTuple):
    """Attempts at one card under like conditions, counted; only the first of each day.

    ``tempo_share`` is tempo over goal; ``days`` the days since the attempt before, None where
    there was none; ``hint`` 1 where one was seen, 0 where not; ``age`` practice days until
    today. Where attempts are lumped together, all four may be means.
    """

    phrase: int
    key: int
    tempo_share: float
    days: float | None
    hint: float
    age: float
    recalled: int
    total: int


@dataclass(frozen=True, slots=True)
class Estimate:
    """A key or a phrase: the share recalled under the player's usual conditions.

    ``low`` and ``high`` are the ends of its 80 % interval, as against the player's mean.
    ``recalled`` of ``attempts`` are the plain counts behind it.
    """

    id: int
    attempts: int
    recalled: int
    share: float
    low: float
    high: float
    verdict: Verdict


@dataclass(frozen=True, slots=True)
class Weakness:
    """The estimate for all keys and phrases that were played, weakest first.

    ``mean`` is the share recalled by this player for the mean key and phrase. ``tempo`` and
    ``days`` are slopes, 0 at most: log-odds for each unit of log(tempo / goal) and log(1 + days).
    ``key_width`` and ``phrase_width`` say how unlike the keys and the phrases are, in log-odds.
    """

    mean: float
    keys: tuple[Estimate, ...]
    phrases: tuple[Estimate, ...]
    tempo: float
    days: float
    key_width: float
    phrase_width: float


def estimate(rows: Sequence[Played], half_life: float = HALF_LIFE) -> Weakness | None:
    """Return the estimate, or None where nothing was played.

    An attempt weighs 0.5 ** (age / half_life). The mode is found for the widths that make the
    data most probable (EM, with Laplace's approximation in place of the exact moments).
    """
    if not any(each.total for each in rows):
        return None
    import numpy as np  # 60 ms that only a summary pays

    from drillbox.memory.logistic import Counts, learn_widths

    # In an order of its own: a slope that is nothing has the sign of how the sums were rounded.
    played = sorted((each for each in rows if each.total), key=_place)
    phrases, phrase = np.unique([each.phrase for each in played], return_inverse=True)
    keys, key = np.unique([each.key for each in played], return_inverse=True)
    recalled = np.array([each.recalled for each in played], dtype=float)
    total = np.array([each.total for each in played], dtype=float)
    weight = 0.5 ** (np.array([each.age for each in played]) / half_life)
    conditions = np.array([_conditions(each) for each in played])
    conditions -= np.average(conditions, axis=0, weights=weight * total)  # 0: as usual
    in_keys = slice(1, 1 + len(keys))
    slopes = np.zeros(len(_SIGNS))
    told = np.ones(len(_SIGNS), dtype=bool)  # the conditions whose slopes have their sign
    while True:
        shown = [np.ones(len(played)), np.eye(len(keys))[key], conditions[:, told]]
        counts = Counts(phrase, np.column_stack(shown), weight * recalled, weight * total)
        mode, phrase_width, key_width = learn_widths(counts, in_keys, _WIDE, _WIDTH_MODE)
        slopes[:] = 0.0
        slopes[told] = mode.columns[in_keys.stop :]
        wrong = slopes * _SIGNS < 0
        if not wrong.any():
            break
        told &= ~wrong

    of_phrases, of_keys = mode.groups, mode.columns[in_keys]
    mean = float(mode.columns[0] + of_phrases.mean() + of_keys.mean())
    key_variance = mode.column_contrast_variance(in_keys)
    phrase_variance = mode.group_contrast_variance()
    of_key = _counts((each.key, each) for each in played)
    of_phrase = _counts((each.phrase, each) for each in played)
    return Weakness(
        _share(mean),
        _estimates(keys, mean, of_keys, key_variance, of_key),
        _estimates(phrases, mean, of_phrases, phrase_variance, of_phrase),
        tempo=float(slopes[0]),
        days=float(slopes[1]),
        key_width=key_width,
        phrase_width=phrase_width,
    )


def _place(played: Played) -> tuple[float, ...]:
    return (
        played.phrase,
        played.key,
        *_conditions(played),
        played.age,
        played.recalled,
        played.total,
    )


def _conditions(played: Played) -> tuple[float, float, float, float]:
    """Return what made the attempts easier or harder, in the order of the slopes."""
    first = played.days is None
    return log(played.tempo_share), log1p(played.days or 0.0), played.hint, float(first)


def _counts(rows: Iterable[tuple[int, Played]]) -> dict[int, tuple[int, int]]:
    """Return the attempts and the recalled ones among them, by id."""
    sums: dict[int, tuple[int, int]] = {}
    for id_, each in rows:
        total, recalled = sums.get(id_, (0, 0))
        sums[id_] = total + each.total, recalled + each.recalled
    return sums


def _estimates(
    ids: Indices,
    mean: float,
    effects: Floats,
    variances: Floats,
    counts: dict[int, tuple[int, int]],
) -> tuple[Estimate, ...]:
    """Return one estimate an id, weakest first."""
    reach = normal_quantile(0.5 + LEVEL / 2) * variances**0.5
    offsets = effects - effects.mean()
    rows = sorted(zip(offsets.tolist(), reach.tolist(), ids.tolist(), strict=True))
    return tuple(
        Estimate(
            id_,
            *counts[id_],
            share=_share(mean + offset),
            low=_share(mean + offset - half),
            high=_share(mean + offset + half),
            verdict=verdict(counts[id_][0], offset + half),
        )
        for offset, half, id_ in rows
    )


def verdict(attempts: int, high: float) -> Verdict:
    """Return the verdict, given the upper end of the interval less the player's mean."""
    if attempts < ENOUGH:
        return UNPLAYED
    return WEAK if high < 0 else FINE


def _share(odds: float) -> float:
    return 1 / (1 + exp(-odds))


def wilson_interval(successes: float, n: float, level: float = 0.95) -> tuple[float, float]:
    """Return the two-sided score interval of a share, both ends within 0..1.

    ``successes`` of ``n`` attempts may be fractional (weighted counts). With no attempts
    nothing is known and the interval is (0, 1). For a one-sided bound at 95 % ask for
    level 0.90 and use one end. Raises ValueError if the counts make no share.
    Source: Wilson 1927; the form without continuity correction in Newcombe 1998.
    """
    if not 0 <= successes <= n:
        raise ValueError(f"{successes} of {n} isn't a share")
    if n == 0:
        return 0.0, 1.0
    z = normal_quantile(0.5 + level / 2)
    share, z2 = successes / n, z * z
    centre = share + z2 / (2 * n)
    half = z * sqrt(share * (1 - share) / n + z2 / (4 * n * n))
    scale = 1 + z2 / n
    low = 0.0 if successes == 0 else (centre - half) / scale
    high = 1.0 if successes == n else (centre + half) / scale
    return low, high


def normal_quantile(probability: float) -> float:
    """Return the standard normal value below which ``probability`` (0..1, open) lies."""
    # statistics pulls in random and decimal: paid for only where an interval is asked for.
    from statistics import NormalDist

    return NormalDist().inv_cdf(probability)
