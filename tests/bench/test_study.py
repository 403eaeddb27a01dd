"""The study holds: models as published, arrays equal to the product, a small run in order."""

from __future__ import annotations

from datetime import date, timedelta
from functools import partial
from random import Random

import numpy as np
import pytest

from drillbox.memory.recall import Recall, after, interval_days, retrievability
from tests.bench.study import calibration, row
from tests.bench.study_baselines import BASELINES, RoundRobin
from tests.bench.study_fsrs import FsrsCards
from tests.bench.study_ours import Ours
from tests.bench.study_players import Actr, Cell, Multiscale, Predictive, siblings
from tests.bench.study_runs import SESSION, Run, simulate

START = date(2026, 1, 1)


def alone(model, transfer: str = "none"):
    """Return one phrase's memory with no card harder than another."""
    return model(Cell("", transfer, 1), np.zeros(12))


def go(player, card: int, day: float, recalled: bool = False) -> None:
    player.learn(card, day, recalled)


def test_fsrs_over_arrays_is_the_products():
    """Random attempts on many cards give the states of ``memory.recall``, to 1e-12."""
    dice, arrays, states = Random(5), FsrsCards(20), {}
    day = 0
    for _ in range(400):
        day += dice.choice([0, 0, 1, 3, 11])
        card, rating = dice.randrange(20), dice.randrange(1, 5)
        arrays.rate(np.array([card]), np.array([rating]), day)
        states[card] = after(states.get(card), Recall(rating), START + timedelta(days=day))
    recall = arrays.recall(day + 9)
    for card, state in states.items():
        assert arrays.stability[card] == pytest.approx(state.stability, rel=1e-12)
        assert arrays.difficulty[card] == pytest.approx(state.difficulty, rel=1e-12)
        at = START + timedelta(days=day + 9)
        assert recall[card] == pytest.approx(retrievability(state, at), rel=1e-12)
        assert arrays.interval(np.array([card]), 0.9)[0] == interval_days(state.stability, 0.9)


def test_actr_by_hand():
    """Two attempts a day apart, recall a day later: the published equations written out."""
    player = alone(Actr)
    go(player, 0, 0.0)
    go(player, 0, 1.0)
    a, c, s, tau, day = 0.17679, 0.21697, 0.25489, -0.70421, 86400 * 0.025
    second = c * day**-a + a
    m = np.log((2 * day) ** -a + day**-second)
    assert player.recall(2.0)[0] == pytest.approx(1 / (1 + np.exp((tau - m) / s)))


def test_multiscale_by_hand():
    """After one attempt recall is the weighted mean of the scales' decay."""
    player = alone(Multiscale)
    go(player, 0, 0.0)
    scales, weights = np.geomspace(0.01, 1000, 24), 0.83 ** np.arange(24)
    expected = (weights * np.exp(-7 / scales)).sum() / weights.sum()
    assert player.recall(7.0)[0] == pytest.approx(expected)


def test_predictive_by_hand():
    """Two attempts a week apart, recall a week later: the published equation written out."""
    player = alone(Predictive)
    go(player, 0, 0.0)
    go(player, 0, 7.0)
    ages, lag = np.array([14, 7]) * 86400.0, 7 * 86400.0
    weights = ages**-0.6 / (ages**-0.6).sum()
    decay = 0.04 + 0.08 / np.log(lag + np.e)
    level = 2**0.1 * (weights * ages).sum() ** -decay
    assert player.recall(14.0)[0] == pytest.approx(1 / (1 + np.exp((0.63 - level) / 0.04)))


@pytest.mark.parametrize("model", [Actr, Multiscale, Predictive])
def test_spacing_and_transfer(model):
    """In each model spaced attempts are kept longer than massed ones; siblings help if told to."""
    massed, spaced = alone(model), alone(model)
    for number in range(4):
        go(massed, 0, number * 0.01, recalled=True)
        go(spaced, 0, number * 4.0, recalled=True)
    assert spaced.recall(72.0)[0] > massed.recall(60.03)[0]
    for transfer, helps in (("none", False), ("much", True)):
        player = alone(model, transfer)
        bare = player.recall(1.0)[1]
        for number in range(6):
            go(player, 0, number * 0.1, recalled=True)
        assert bool(player.recall(1.0)[1] > bare * 1.01) is helps


def test_an_attempt_helps_the_next_one_of_the_same_minute():
    """With transfer, a key played just before is there when the next one is tried."""
    run = Run(Cell("multiscale", "much", 1), 1)
    before = run.player.recall(0.0, siblings(3))[3]
    run.play(np.arange(3))
    assert run.player.recall(run.used / 86400, siblings(3))[3] > before + 0.1


def test_a_day_costs_twenty_minutes():
    """Every policy plays for 20 minutes, give or take an attempt, once there is enough to play."""
    for make in [*BASELINES.values(), partial(Ours, new_a_day=40)]:
        run, policy = Run(Cell("act-r", "little", 40), 1), make()
        for today in range(3):
            run.today, run.used, run.over = today, 0.0, False
            policy.day(run)
            assert SESSION - 90 < run.used < SESSION + 90


def test_same_seed_same_score():
    """A simulation is determined by its cell, seed and policy."""
    cell = Cell("multiscale", "none", 10)
    assert simulate(cell, 3, RoundRobin()) == simulate(cell, 3, RoundRobin())
    assert simulate(cell, 3, RoundRobin()) != simulate(cell, 4, RoundRobin())


def test_calibration_by_hand():
    """The log loss is that of the true chances; the table gives their mean by what was said."""
    loss, table = calibration([(0.9, 0.8), (0.85, 0.6), (0.5, 0.5)])
    each = [-0.8 * np.log(0.9) - 0.2 * np.log(0.1), -0.6 * np.log(0.85) - 0.4 * np.log(0.15)]
    assert loss == pytest.approx((sum(each) + np.log(2)) / 3)
    assert table == "0.70 – 0.50"


@pytest.mark.slow
@pytest.mark.parametrize("truth", ["act-r", "predictive"])
def test_ours_against_plain_fsrs_and_the_best(truth):
    """On two players each, ours is far over plain FSRS and not far under the best baseline."""
    _, values = row(Cell(truth, "little", 40), range(300, 302), {})
    assert values["plain"] > 0.05
    assert values["gain"] > -0.05
