"""The simulated players' memories and motor parts are as published and as they say."""

from __future__ import annotations

from datetime import date, timedelta
from math import exp, log
from random import Random

import numpy as np
import pytest

from drillbox.memory.recall import Recall, after, interval_days, retrievability
from tests.bench import study_fsrs
from tests.bench.study_held import Disuse, Interference, Overload
from tests.bench.study_memories import Actr, Fsrs, Halflife, Multiscale, Predictive
from tests.bench.study_motors import Edge, Overnight, Power
from tests.bench.study_players import MEMORIES, MOTORS
from tests.bench.study_traits import TRANSFERS, alike, draw

START = date(2026, 1, 1)


def test_fsrs_in_floats_is_the_products():
    """Random attempts on many cards give the states of ``memory.recall``, to 1e-12."""
    dice, states, floats, last = Random(5), {}, {}, {}
    day = 0
    for _ in range(400):
        day += dice.choice([0, 0, 1, 3, 11])
        card, rating = dice.randrange(20), dice.randrange(1, 5)
        floats[card] = study_fsrs.after(floats.get(card), day - last.get(card, day), rating)
        states[card] = after(states.get(card), Recall(rating), START + timedelta(days=day))
        last[card] = day
    for card, state in states.items():
        assert floats[card] == pytest.approx((state.stability, state.difficulty), rel=1e-12)
        at, gone = START + timedelta(days=day + 9), day + 9 - last[card]
        chance = study_fsrs.retrievability(floats[card][0], gone)
        assert chance == pytest.approx(retrievability(state, at), rel=1e-12)
        assert study_fsrs.interval(state.stability, 0.9) == interval_days(state.stability, 0.9)


def test_fsrs_memory_by_the_published_sequence():
    """A clean go, then clean ones after 2 and 7 days: stability 36.12 days, so .9 after as many
    (open-spaced-repetition reference implementations, default weights)."""
    player = Fsrs(alike())
    for day in (0.0, 2.0, 9.0):
        player.learn(0, day, True)
    assert player.state[0] == pytest.approx((36.123636, 2.104331), abs=1e-6)
    assert player.chance(0, 45.0) == pytest.approx(0.9, abs=1e-3)


def test_actr_by_hand():
    """Two goes a day apart, recall a day later: the published equations written out."""
    player = Actr(alike())
    player.learn(0, 0.0, False)
    player.learn(0, 1.0, False)
    a, c, s, tau, day = 0.17679, 0.21697, 0.25489, -0.70421, 86400 * 0.025
    second = c * day**-a + a
    m = log((2 * day) ** -a + day**-second)
    assert player.chance(0, 2.0) == pytest.approx(1 / (1 + exp((tau - m) / s)))


def test_actr_forgets_overnight_after_a_long_session_too():
    """A go at the end of 45 minutes is as old the next morning as one at their beginning, less
    what of the night it was later; its time never runs back."""
    left = []
    for minutes in (0, 45):
        player = Actr(alike())
        day = minutes / 1440
        player.learn(0, day, True)
        left.append(player.chance(0, 1.0))
        chances = [player.chance(0, each) for each in (day, day + 0.001, 1.0, 1.02, 2.0, 3.0)]
        assert chances == sorted(chances, reverse=True)
    assert left[0] < left[1] < 1.1 * left[0]


def test_multiscale_by_hand():
    """After one lost go recall is the weighted mean of the scales' decay."""
    player = Multiscale(alike())
    player.learn(0, 0.0, False)
    scales, weights = np.geomspace(0.01, 1000, 24), 0.83 ** np.arange(24)
    expected = (weights * np.exp(-7 / scales)).sum() / weights.sum()
    assert player.chance(0, 7.0) == pytest.approx(expected)


def test_predictive_by_hand():
    """Two goes a week apart, recall a week later: the published equation written out."""
    player = Predictive(alike())
    player.learn(0, 0.0, False)
    player.learn(0, 7.0, False)
    ages, lag = np.array([14, 7]) * 86400.0, 7 * 86400.0
    weights = ages**-0.6 / (ages**-0.6).sum()
    decay = 0.04 + 0.08 / log(lag + np.e)
    level = 2**0.1 * (weights * ages).sum() ** -decay
    assert player.chance(0, 14.0) == pytest.approx(1 / (1 + exp((0.59 - level) / 0.04)))


def test_halflife_grows_by_success_only():
    """A half-life later the chance is one half; recall then doubles it, a lost go halves it."""
    player = Halflife(alike())
    player.learn(0, 0.0, False)
    assert player.chance(0, 0.8) == pytest.approx(0.5)
    player.learn(0, 0.8, True)
    assert player.half[0] == pytest.approx(1.6)
    player.learn(0, 1.6, False)
    assert player.half[0] == pytest.approx(0.8)


def test_disuse_by_hand():
    """The first go stores 1.2, half of that when missed; the harder the next, the more it adds."""
    player, missed = Disuse(alike()), Disuse(alike())
    player.learn(0, 0.0, True)
    missed.learn(0, 0.0, False)
    lasts = 1.5 * 2.2**1.7
    assert player.chance(0, 3.0) == pytest.approx(exp(-3 / lasts))
    assert missed.chance(0, 3.0) == pytest.approx(exp(-3 / (1.5 * 1.6**1.7)))
    player.learn(0, 3.0, True)
    more = 1.2 + 1.2 * (1 - exp(-3 / lasts))
    assert player.chance(0, 5.0) == pytest.approx(exp(-2 / (1.5 * (1 + more) ** 1.7)))


def test_interference_by_hand():
    """What is played between makes forget, but not other keys of the phrase; a day counts three
    goes; a recalled go widens what can come between."""
    player = Interference(alike(2))
    player.learn(0, 0.0, True)
    for card in (1, 12, 13, 14):
        player.learn(card, 0.0, True)
    assert player.chance(0, 2.0) == pytest.approx(1 / (1 + 9 / 40))
    player.learn(0, 2.0, True)
    width = 1 + 2 * (1 - 1 / (1 + 9 / 40))
    assert player.chance(0, 3.0) == pytest.approx(1 / (1 + 3 / (40 * width)))


@pytest.mark.parametrize("model", MEMORIES.values())
def test_spacing_transfer_and_strength(model):
    """Spaced goes are kept longer than massed ones; siblings help if told to; strong ones forget
    least; a card that is forgotten faster is forgotten more."""
    massed, spaced = model(alike()), model(alike())
    for number in range(5):
        massed.learn(0, number * 0.002, True)
        spaced.learn(0, number * 3.0, True)
    assert spaced.chance(0, 40.0) > massed.chance(0, 28.008)
    bare = []
    for transfer in TRANSFERS:
        player = model(alike(2, transfer))
        player.learn(0, 0.0, True)
        player.learn(1, 0.9, True)
        bare.append(player.chance(2, 2.0))
        assert player.chance(12, 2.0) < 1e-6
    assert bare[0] < bare[1] < bare[2]
    assert bare[0] < 1e-6
    left = []
    for strength in ("weak", "middling", "strong"):
        traits = alike(strength=strength)
        traits.forgetting[1] = 3.0
        player = model(traits)
        for card in (0, 1):
            player.learn(card, 0.0, False)
            player.learn(card, 1.0, True)
        left.append(player.chance(0, 41.0))
        assert player.chance(1, 41.0) < left[-1]
    assert left[0] < left[1] < left[2]


@pytest.mark.parametrize("model", [*MEMORIES.values(), *MOTORS.values()])
def test_one_card_is_as_all_cards(model):
    """The quick number of one card is the one of the vector, now and weeks ahead, which looking
    ahead doesn't change."""
    dice, traits = Random(3), draw(1, 3, "some", "weak")
    player = model(traits)
    memory = hasattr(player, "learn")
    one, many = (player.chance, player.recall) if memory else (player.reach, player.capacity)
    for go in range(120):
        day, card = go // 12 + go % 12 * 0.001, dice.randrange(36)
        if memory:
            player.learn(card, day, dice.random() < 0.6)
        else:
            player.practise(card, day, 80.0, dice.randrange(1, 5))
    for days in (11.0, 39.0, 11.0):
        found = many(days)
        assert found == pytest.approx([one(card, days) for card in range(36)])
        assert many(days, slice(12, 24)) == pytest.approx(found[12:24])


def test_edge_learns_most_at_the_edge():
    """A clean go at capacity brings more than one half as fast, and than one half as fast again."""
    gains = []
    for tempo in (36.0, 72.0, 108.0):
        motor = Edge(alike())
        motor.practise(0, 0.0, tempo, 3)
        gains.append(motor.reach(0, 0.0) / 72 - 1)
    assert gains[1] > 3 * max(gains[0], gains[2])
    assert min(gains) > 0


def test_power_by_hand():
    """Three goes two days ago and one yesterday: start (1 + Σ t^-d)^b, whatever the tempo."""
    motor = Power(alike())
    for day, tempo in ((0.0, 30), (0.1, 200), (0.2, 60), (1.0, 60)):
        motor.practise(0, day, tempo, 3)
    expected = 72 * (1 + 3 * 2**-0.3 + 1) ** 0.23
    assert motor.reach(0, 2.0) == pytest.approx(expected)


def test_overnight_gains_come_in_the_night_and_saturate():
    """Nothing moves within the day; the sixth clean go brings less than the second; goes too fast
    to be clean leave the card worse."""
    after_goes = []
    for goes in (1, 2, 5, 6):
        motor = Overnight(alike())
        for number in range(goes):
            motor.practise(0, number / 100, 72.0, 3)
        assert motor.reach(0, 0.5) == pytest.approx(72.0)
        after_goes.append(log(motor.reach(0, 1.0)))
    assert after_goes[1] - after_goes[0] > 5 * (after_goes[3] - after_goes[2]) > 0
    motor.practise(1, 0.5, 120.0, 2)
    assert motor.reach(1, 1.0) < 72.0


def test_overload_needs_the_limit_and_keeps_for_ten_days():
    """Slow goes bring nothing, nor does a fourth of a day; nothing is lost for ten days."""
    motor = Overload(alike())
    motor.practise(0, 0.0, 60.0, 4)
    assert motor.reach(0, 0.0) == pytest.approx(72.0)
    reached = []
    for number in range(4):
        motor.practise(0, 1.0 + number / 100, 76.0, 3)
        reached.append(motor.reach(0, 1.0 + number / 100))
    assert 72 < reached[0] < reached[1] < reached[2] == reached[3]
    assert motor.reach(0, 11.0) == pytest.approx(reached[3])
    left = log(motor.reach(0, 21.02) / 72) / log(reached[3] / 72)
    assert left == pytest.approx(exp(-0.15), rel=1e-3)


@pytest.mark.parametrize("model", MOTORS.values())
def test_motor_transfer_and_loss(model):
    """Siblings gain by the transfer, other phrases nothing; what isn't played is lost in part."""
    gained = []
    for transfer in TRANSFERS:
        motor = model(alike(2, transfer))
        for day in range(10):
            motor.practise(0, float(day), 72.0, 3)
        gained.append(motor.reach(1, 10.0))
        assert motor.reach(12, 10.0) == pytest.approx(72.0)
        assert 72 < motor.reach(0, 60.0) < motor.reach(0, 10.0)
    assert gained[0] == pytest.approx(72.0)
    assert gained[0] < gained[1] < gained[2] < motor.reach(0, 10.0)
