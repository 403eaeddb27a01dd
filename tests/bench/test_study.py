"""The study holds: players and baselines as they say, a small run in order."""

from __future__ import annotations

from collections import Counter
from math import inf, log
from random import Random

import numpy as np
import pytest

from drillbox.memory import learning
from tests.bench.study import FINAL_SEED, SEARCH_SEED
from tests.bench.study_baselines import BASELINES, Climbing, RoundRobin
from tests.bench.study_cache import kept
from tests.bench.study_memories import MEMORIES
from tests.bench.study_motors import MOTORS
from tests.bench.study_ours import Ours
from tests.bench.study_players import CELLS, HELD, LIVES, Cell, Player
from tests.bench.study_runs import LOST, Run, Score, simulate
from tests.bench.study_tables import Result, calibration, interval, row, summary

SMALL = Cell("fsrs", "edge", "some", "strong", "exact", "4 lines, 10 min")


def test_outcomes_come_as_often_as_their_chances():
    """Of many goes the share of clean or better ones is recall × logistic(K ln(capacity / tempo)),
    and a card over its capacity is lost more often."""
    dice, counts, said = Random(1), Counter(), 0.0
    for number in range(2000):
        player = Player(SMALL._replace(strength="weak"), 5)
        player.memory.learn(3, 0.0, True)
        said += player.chance(3, 1.0, 60.0 + number % 2 * 60)
        counts[number % 2, player.go(3, 1.0, 60.0 + number % 2 * 60, dice)] += 1
    clean = sum(count for (_, outcome), count in counts.items() if outcome >= 3)
    assert clean == pytest.approx(said, abs=70)
    assert counts[1, 1] > 1.5 * counts[0, 1]
    assert counts[0, 4] > 1.5 * counts[1, 4]


def test_raters():
    """The exact one says what was; of the noisy one's words about a tenth are a notch off; the
    kind one never says less than was."""
    dice = Random(2)
    for rater in ("exact", "noisy", "kind"):
        player = Player(SMALL._replace(rater=rater), 1)
        off = [player.word(each, dice) - each for each in (1, 2, 3, 4) for _ in range(1000)]
        shares = {"exact": (0, 0), "noisy": (0.07, 0.1), "kind": (0.6, 0.65)}[rater]
        assert shares[0] <= np.mean(np.abs(off)) <= shares[1]
        assert rater != "kind" or min(off) == 0


def test_the_design_is_even():
    """Each level comes as often as another, in the search and among the held cells; in the search
    each memory meets each motor part, none of them held."""
    free = [cell for cell in CELLS if not cell.held]
    held = [cell for cell in CELLS if cell.held]
    assert (len(free), len(held)) == (36, 12)
    assert len({cell[:2] for cell in free}) == len(MEMORIES) * len(MOTORS)
    for cells in (free, held):
        for column in (2, 3, 4, 5):
            counts = Counter(cell[column] for cell in cells)
            assert len(set(counts.values())) == 1
        assert {cell.life for cell in cells} == set(LIVES)
    assert not any(HELD & set(cell) for cell in free)
    assert all(any(level in cell for cell in held) for level in HELD)
    assert len({SEARCH_SEED + each for each in range(100)} & {FINAL_SEED}) == 0


def test_a_go_costs_what_it_says():
    """Ten seconds and two rounds at the tempo, half as long again when lost; the last is begun
    with half of its time left, and is refused with less."""

    class Never(Climbing):
        pass

    run = Run(SMALL, 1, Never())
    rating = run.go(0, 60.0)
    cost = 10 + 2 * run.quarters[0]
    assert rating == 1
    assert run.left == pytest.approx(600 - LOST * cost)
    run.left = cost / 2 - 0.01
    assert run.go(0, 60.0) == 0
    assert run.over


@pytest.mark.parametrize(
    ("kind", "variant"), [(kind, each) for kind, some in BASELINES.items() for each in some]
)
def test_baselines_use_the_minutes(kind, variant):
    """Every baseline but the old policy, which left sure cards alone, plays for all its minutes
    in the first week; none plays for longer."""
    cell = SMALL._replace(life="12 lines, 20 min")
    policy = BASELINES[kind][variant]()
    run = Run(cell, 1, policy)
    for today in range(7):
        run.begin(today)
        policy.day(run)
        assert run.left > -90
        assert run.left < 90 or kind == "today"


def test_same_seed_same_score():
    """A life is determined by its cell, seed and policy, and so is its copy in the cache."""
    score = simulate(SMALL, 3, RoundRobin())
    assert score == simulate(SMALL, 3, RoundRobin())
    assert score != simulate(SMALL, 4, RoundRobin())
    for _ in range(2):
        assert kept(SMALL, 3, RoundRobin, "round-robin test", "baselines") == score


def test_a_line_a_week_is_there_from_its_week_on():
    """One phrase in the first week, 52 from the last; a card of a later one can't be played."""
    run = Run(SMALL._replace(life="a line a week, 20 min"), 1, RoundRobin())
    assert run.present == 1
    with pytest.raises(ValueError, match="card 12"):
        run.go(12, 60.0)
    run.begin(364)
    assert run.present == 52


def test_calibration_by_hand():
    """Log loss is that of the true chances; a tenth is told by its means and its share."""
    found = calibration([(0.95, 0.8), (0.95, 0.6), (0.5, 0.5)])
    each = [-0.8 * log(0.95) - 0.2 * log(0.05), -0.6 * log(0.95) - 0.4 * log(0.05), log(2)]
    assert found.loss == pytest.approx(sum(each) / 3)
    assert found.gap == pytest.approx(0.25)
    assert found.tenths[0] == pytest.approx((0.5, 0.5, 1 / 3))


def test_intervals_by_the_tables_quantile():
    """Four players: 3.18 standard errors (Student's t, 3 degrees of freedom); three: 4.30."""
    assert interval([1.0, 2.0, 3.0, 4.0]) == pytest.approx(3.18 * (5 / 3) ** 0.5 / 2)
    assert interval([1.0, 2.0, 3.0]) == pytest.approx(4.30 / 3**0.5)
    assert interval([1.0]) == inf


def test_summary_by_hand():
    """Two cells, one of them with its best baseline out of range: the gain is that of the other."""

    def scored(mean: float, recall: float, worst: float) -> list[Score]:
        return [Score(mean, mean, mean, inf, inf, worst, recall, 1.0, [], [])] * 3

    base = {("round-robin", "a"): scored(0.3, 0.5, 0.2), ("today", ""): scored(0.1, 0.9, 0.0)}
    low = {name: scored(0.05, 0.5, 0.0) for name in base}
    results = [
        Result(CELLS[0], scored(0.35, 0.8, 0.1), base),
        Result(CELLS[1], low["today", ""], low),
    ]
    told = summary(results)
    assert "1 of 2 cells" in told
    assert "worst +0.050, median +0.050; 0 more" in told
    assert "worst -0.100, median -0.050" in told
    assert "isn't .05 over it: 0 cells" in told
    assert "| round-robin a 0.300 | 0.350 | +0.050 ± 0.000 | 0.100 |" in row(results[0])


def test_a_baseline_chosen_by_other_players_by_hand():
    """The luckiest baseline of each player isn't held against ours by that player."""

    def scored(*means: float) -> list[Score]:
        return [Score(each, 0.0, 0.0, inf, inf, 0.0, 0.0, 1.0, [], []) for each in means]

    base = {("round-robin", "a"): scored(0.6, 0.3, 0.3), ("today", ""): scored(0.2, 0.4, 0.5)}
    found = Result(CELLS[0], scored(0.5, 0.5, 0.5), base)
    assert found.gain() == pytest.approx([-0.1, 0.2, 0.2])
    # by the second and third the frozen policy is better, by the first and either the other one
    assert found.gain_unseen() == pytest.approx([0.3, 0.2, 0.2])
    alone = Result(CELLS[0], scored(0.5), {("today", ""): scored(0.4)})
    assert alone.gain_unseen() == alone.gain()


@pytest.mark.parametrize("rater", ["exact", "noisy", "kind"])
def test_ours_tells_who_rates_too_kindly(rater: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """After forty days of the same player rating so: of the three the kind one alone is lenient."""
    monkeypatch.setattr(learning, "find_mode", learning.find_mode)  # which the policy replaces
    policy = Ours()
    cell = Cell("act-r", "overnight", "some", "middling", rater, "4 lines, 10 min")
    run = Run(cell, 5, policy)
    for today in range(41):
        run.begin(today)
        policy.predicted(run)
        policy.day(run)
    assert policy.chances is not None
    assert policy.chances.learned.lenient is (rater == "kind")
