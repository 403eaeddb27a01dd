"""Which keys and phrases are called weak, and whether the intervals keep their word."""

from __future__ import annotations

import subprocess
import sys
from itertools import product
from math import log
from random import Random

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from drillbox.memory.weakness import (
    Estimate,
    Played,
    Weakness,
    estimate,
    normal_quantile,
    verdict,
    wilson_interval,
)


def played(phrase: int, key: int, recalled: int, total: int, **conditions: float) -> Played:
    usual: dict[str, float] = {"tempo_share": 1.0, "days": 3.0, "hint": 0.0, "age": 0.0}
    return Played(phrase, key, **{**usual, **conditions}, recalled=recalled, total=total)


def found(rows: list[Played], half_life: float = 90.0) -> Weakness:
    result = estimate(rows, half_life)
    assert result is not None
    return result


def logit(share: float) -> float:
    return log(share / (1 - share))


def by_id(estimates: tuple[Estimate, ...]) -> dict[int, Estimate]:
    return {each.id: each for each in estimates}


def simulated(rng: np.random.Generator) -> tuple[list[Played], np.ndarray, np.ndarray]:
    """Return some weeks of a player whose every effect is known: 20 phrases in 12 keys."""
    phrases, keys = rng.normal(0, 0.8, 20), rng.normal(0, 0.5, 12)
    rows = []
    for phrase, key in product(range(20), range(12)):
        for _ in range(rng.integers(0, 5)):
            share, days = rng.uniform(0.6, 1.0), int(rng.integers(1, 30))
            odds = 0.8 + phrases[phrase] + keys[key] - 2.0 * np.log(share) - 0.3 * np.log1p(days)
            recalled = int(rng.random() < 1 / (1 + np.exp(-odds)))
            rows.append(played(phrase, key, recalled, 1, tempo_share=share, days=days))
    return rows, phrases, keys


def covered(estimates: tuple[Estimate, ...], mean: float, truth: np.ndarray) -> list[bool]:
    """Return for each estimate whether the true effect, less the mean one, lies inside it."""
    centred = truth - truth[[each.id for each in estimates]].mean()
    middle = logit(mean)
    return [
        logit(each.low) - middle <= centred[each.id] <= logit(each.high) - middle
        for each in estimates
    ]


@pytest.mark.parametrize("players", [100, pytest.param(500, marks=pytest.mark.slow)])
def test_recovers_known_effects(players: int) -> None:
    """Over simulated players the 80 % intervals cover the truth in 75 to 85 of 100.

    The slopes lean a little to 0, by their prior.
    """
    rng = np.random.default_rng(20)
    keys, phrases, slopes = [], [], []
    for _ in range(players):
        rows, true_phrases, true_keys = simulated(rng)
        result = found(rows)
        keys += covered(result.keys, result.mean, true_keys)
        phrases += covered(result.phrases, result.mean, true_phrases)
        slopes.append((result.tempo, result.days))
    assert 0.75 <= np.mean(keys) <= 0.85
    assert 0.75 <= np.mean(phrases) <= 0.85
    tempo, days = np.mean(slopes, axis=0)
    assert tempo == pytest.approx(-2.0, abs=0.3)
    assert days == pytest.approx(-0.3, abs=0.04)


def test_raw_rates_name_the_wrong_key() -> None:
    """A key that mostly hard phrases were drilled in isn't taken for a weak one.

    Every phrase is recalled worse in key 6 than in key 1, but key 1 met the hard phrases.
    """
    hard = [row for phrase in range(4) for row in (
        played(phrase, 0, 4, 10), played(phrase, 1, 12, 30), played(phrase, 6, 0, 4),
    )]  # fmt: skip
    fine = [row for phrase in range(4, 8) for row in (
        played(phrase, 0, 19, 20), played(phrase, 1, 4, 4), played(phrase, 6, 21, 30),
    )]  # fmt: skip
    rows = hard + fine
    raw = {
        key: sum(r.recalled for r in rows if r.key == key)
        / sum(r.total for r in rows if r.key == key)
        for key in (0, 1, 6)
    }
    assert min(raw, key=raw.__getitem__) == 1
    result = found(rows)
    assert result.keys[0].id == 6
    assert result.keys[0].verdict == "weak"
    assert by_id(result.keys)[1].verdict == "as good as the rest"
    assert {each.id for each in result.phrases if each.verdict == "weak"} == {0, 1, 2, 3}


def test_slow_tempo_does_not_flatter() -> None:
    """Two keys with the same counts differ where one was only played slowly."""
    rows = [played(p, k, 7, 10, tempo_share=t) for p in range(6) for k, t in ((0, 1.0), (1, 0.6))]
    # The other keys show what tempo does: recalled often when slow, seldom when fast.
    rows += [played(p, k, 18, 20, tempo_share=0.6) for p in range(6) for k in range(2, 6)]
    rows += [played(p, k, 9, 20, tempo_share=1.0) for p in range(6) for k in range(2, 6)]
    result = found(rows)
    keys = by_id(result.keys)
    assert result.tempo < -2
    assert keys[1].share < keys[0].share
    assert result.keys[0].id == 1


def test_what_never_comes_out_is_not_excused_by_being_played_slowly_often_and_with_hints() -> None:
    """One phrase, one key always lost; nothing else was ever played slowly or with a hint."""
    rows = [played(0, k, 19, 20, tempo_share=1.0, days=7) for k in range(8)]
    rows += [Played(0, 8, 0.3, 1.0, 1.0, 0.0, 0, 60), Played(0, 8, 0.3, None, 0.0, 0.0, 0, 1)]
    result = found(rows)
    assert result.keys[0].id == 8
    assert result.keys[0].high < 0.2
    assert (result.tempo, result.days) == (0.0, 0.0)


def test_long_gaps_and_first_tries_excuse() -> None:
    """Misses after long gaps, and in the first try of all, don't make a key weak by themselves."""
    rows = [played(p, k, 9, 10, days=1) for p in range(5) for k in range(6)]
    rows += [played(p, k, 3, 10, days=60) for p in range(5) for k in range(6)]
    gap_only = found([*rows, played(0, 7, 3, 10, days=60), played(1, 7, 3, 10, days=60)])
    assert gap_only.days < -0.5
    assert by_id(gap_only.keys)[7].verdict == "as good as the rest"
    first = [Played(p, k, 1.0, None, 0.0, 0.0, 1, 8) for p in range(5) for k in range(8)]
    both = found([*rows, *first])
    # Key 7 was only ever tried once a phrase, at the same poor rate as all others then.
    assert by_id(both.keys)[7].verdict == "as good as the rest"


def test_half_life() -> None:
    """A half-life ago an attempt weighs half, and what is recent outweighs what is old."""
    aged = [played(p, k, 2 * (p + k), 20, age=45.0) for p in range(4) for k in range(4)]
    halved = [played(p, k, p + k, 10) for p in range(4) for k in range(4)]
    faded, fewer = found(aged, half_life=45.0), found(halved)
    assert faded.mean == pytest.approx(fewer.mean, abs=1e-6)
    for one, other in zip(faded.keys, fewer.keys, strict=True):
        assert (one.id, one.low, one.high) == (
            other.id, pytest.approx(other.low, abs=1e-5), pytest.approx(other.high, abs=1e-5)
        )  # fmt: skip
    assert faded.keys[0].attempts == 80  # the evidence shown is counted, not weighed
    turned = [played(0, 0, 9, 10, age=400.0), played(0, 1, 1, 10, age=400.0),
              played(0, 0, 1, 10), played(0, 1, 9, 10)]  # fmt: skip
    assert found(turned, half_life=30.0).keys[0].id == 0


@pytest.mark.parametrize(
    ("attempts", "high", "word"),
    [
        (4, -1.0, "not enough played yet"),
        (5, -0.01, "weak"),
        (5, 0.0, "as good as the rest"),
        (500, 0.5, "as good as the rest"),
    ],
)
def test_verdict(attempts: int, high: float, word: str) -> None:
    """Five attempts are needed, and an interval that lies below the mean as a whole."""
    assert verdict(attempts, high) == word


def test_one_miss_in_two_tries_is_not_weakness() -> None:
    """Where little was played, an estimate stays near the mean and no verdict falls."""
    rows = [played(p, k, 17 + k % 4, 20) for p in range(6) for k in range(11)]
    result = found([*rows, played(0, 11, 1, 2)])
    key = by_id(result.keys)[11]
    assert key.verdict == "not enough played yet"
    assert key.share > 0.8  # though half of its attempts failed
    assert result.mean < key.high
    assert key.high - key.low > 2 * (by_id(result.keys)[0].high - by_id(result.keys)[0].low)


def test_nothing_played() -> None:
    """Without attempts there is no estimate."""
    assert estimate([]) is None
    assert estimate([played(1, 1, 0, 0)]) is None


@pytest.mark.parametrize("recalled", [0, 1])
def test_a_single_attempt(recalled: int) -> None:
    """One attempt gives a mean that leans to it, and no verdict."""
    result = found([played(3, 5, recalled, 1)])
    assert [each.verdict for each in (*result.keys, *result.phrases)] == [
        "not enough played yet"
    ] * 2
    assert (result.mean > 0.5) == bool(recalled)
    assert 0.1 < result.mean < 0.9


def test_everything_recalled() -> None:
    """A player who never missed has no weak key, and finite estimates."""
    result = found([played(p, k, 20, 20) for p in range(5) for k in range(12)])
    assert 0.97 < result.mean < 1
    assert {each.verdict for each in (*result.keys, *result.phrases)} == {"as good as the rest"}


counts = st.integers(0, 6).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n)))


@settings(max_examples=20)
@given(
    table=st.dictionaries(
        st.tuples(st.integers(0, 4), st.integers(0, 4)), counts, min_size=1, max_size=20
    ),
    order=st.randoms(use_true_random=False),
)
@example(table={(0, 0): (1, 1), (0, 1): (1, 1)}, order=Random(1))
def test_laws(table: dict[tuple[int, int], tuple[int, int]], order: object) -> None:
    """Order of rows doesn't matter, intervals hold their estimate, ids are those played."""
    rows = [played(p, k, r, n, days=p + k) for (p, k), (r, n) in table.items()]
    result = estimate(rows)
    if not any(row.total for row in rows):
        assert result is None
        return
    assert result is not None
    for estimates, ids in (
        (result.keys, {row.key for row in rows if row.total}),
        (result.phrases, {row.phrase for row in rows if row.total}),
    ):
        assert {each.id for each in estimates} == ids
        assert all(0 < each.low <= each.share <= each.high < 1 for each in estimates)
        assert [each.share for each in estimates] == sorted(each.share for each in estimates)
    order.shuffle(rows)  # type: ignore[attr-defined]  # Hypothesis gives a random.Random
    again = estimate(rows)
    assert again is not None
    assert again == result


def test_importing_needs_no_numpy() -> None:
    """The words of the verdict can be had without loading numpy."""
    script = "import sys, drillbox.memory.weakness; print('numpy' in sys.modules)"
    output = subprocess.run([sys.executable, "-c", script], capture_output=True, check=True)
    assert output.stdout.split() == [b"False"]


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
    assert wilson_interval(successes, n) == pytest.approx((low, high), abs=5e-5)


def test_one_sided_bound() -> None:
    """A 90 % interval's lower end is the one-sided 95 % bound of NIST Handbook 7.2.4.1."""
    assert wilson_interval(26, 200, 0.90)[0] == pytest.approx(0.09577, abs=5e-6)


def test_nothing_played_proves_nothing() -> None:
    """Without attempts every share is possible."""
    assert wilson_interval(0, 0) == (0.0, 1.0)


@pytest.mark.parametrize(("successes", "n"), [(-1, 3), (4, 3)])
def test_impossible_counts(successes: int, n: int) -> None:
    """More recalled than played, or fewer than none, is refused."""
    with pytest.raises(ValueError, match="isn't a share"):
        wilson_interval(successes, n)


@given(n=st.integers(1, 5000), data=st.data(), level=st.sampled_from([0.5, 0.8, 0.95, 0.99]))
def test_holds_the_share_and_mirrors(n: int, data: st.DataObject, level: float) -> None:
    """The interval lies in 0..1, holds the share, and mirrors when misses are counted instead."""
    successes = data.draw(st.integers(0, n))
    low, high = wilson_interval(successes, n, level)
    assert 0 <= low <= successes / n <= high <= 1
    assert wilson_interval(n - successes, n, level) == pytest.approx((1 - high, 1 - low), abs=1e-12)


def test_quantile() -> None:
    """The two-sided 80 and 95 % points are those of every printed normal table."""
    assert normal_quantile(0.90) == pytest.approx(1.281552, abs=5e-7)
    assert normal_quantile(0.975) == pytest.approx(1.959964, abs=5e-7)
