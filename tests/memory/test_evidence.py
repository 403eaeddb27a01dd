"""What a count of recalled attempts proves."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillbox.memory.evidence import normal_quantile, wilson


@pytest.mark.parametrize(
    ("successes", "n", "low", "high"),
    [
        (81, 263, 0.2553, 0.3662),
        (15, 148, 0.0624, 0.1605),
        (0, 20, 0.0, 0.1611),
        (1, 29, 0.0061, 0.1718),
    ],
)
def test_published_intervals(successes: int, n: int, low: float, high: float) -> None:
    """The 95 % intervals are those printed in Newcombe 1998, table I, method 3."""
    assert wilson(successes, n) == pytest.approx((low, high), abs=5e-5)


def test_one_sided_bound() -> None:
    """A 90 % interval's lower end is the one-sided 95 % bound of NIST Handbook 7.2.4.1."""
    assert wilson(26, 200, 0.90)[0] == pytest.approx(0.09577, abs=5e-6)


def test_nothing_played_proves_nothing() -> None:
    """Without attempts every share is possible."""
    assert wilson(0, 0) == (0.0, 1.0)


@pytest.mark.parametrize(("successes", "n"), [(-1, 3), (4, 3)])
def test_impossible_counts(successes: int, n: int) -> None:
    """More recalled than played, or fewer than none, is refused."""
    with pytest.raises(ValueError, match="isn't a share"):
        wilson(successes, n)


@given(n=st.integers(1, 5000), data=st.data(), level=st.sampled_from([0.5, 0.8, 0.95, 0.99]))
def test_holds_the_share_and_mirrors(n: int, data: st.DataObject, level: float) -> None:
    """The interval lies in 0..1, holds the share, and mirrors when misses are counted instead."""
    successes = data.draw(st.integers(0, n))
    low, high = wilson(successes, n, level)
    assert 0 <= low <= successes / n <= high <= 1
    assert wilson(n - successes, n, level) == pytest.approx((1 - high, 1 - low), abs=1e-12)


def test_quantile() -> None:
    """The two-sided 80 and 95 % points are those of every printed normal table."""
    assert normal_quantile(0.90) == pytest.approx(1.281552, abs=5e-7)
    assert normal_quantile(0.975) == pytest.approx(1.959964, abs=5e-7)
