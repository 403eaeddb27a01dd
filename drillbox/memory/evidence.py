"""How much a count of recalled attempts proves."""

from __future__ import annotations

from math import sqrt


def wilson(successes: float, n: float, level: float = 0.95) -> tuple[float, float]:
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
