"""How recall grows and fades is learnt from the latest attempts, and stays sane with few."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest

from drillbox.memory.learning import LATEST, LOST_SHARE, PRIOR, Learned, Seen, _solve, learn


def player(base: float, growth: float, fading: float, attempts: int = 1500) -> list[Seen]:
    """Return the first attempts of days of a player whose recall follows these weights."""
    dice, truth = Random(3), Learned(base, growth, fading)
    seen, last, good, lost = [], {}, {}, {}
    for number in range(attempts):
        card, day = dice.randrange(120), number // 25
        if last.get(card) == day:
            continue
        done = good.get(card, 0) + LOST_SHARE * lost.get(card, 0)
        recalled = card in last and dice.random() < truth.recall(done, day - last[card])
        seen.append(Seen(card, day, recalled))
        good[card] = good.get(card, 0) + recalled
        lost[card] = lost.get(card, 0) + (not recalled)
        last[card] = day
    return seen


@pytest.mark.parametrize("weights", [(-1.0, 2.0, 0.5), (0.5, 1.0, 1.0)])
def test_weights_of_a_player_are_found_again(weights):
    """Attempts drawn from known weights give these weights back, to what 1,500 can tell."""
    learned = learn(player(*weights))
    assert (learned.base, learned.growth, learned.fading) == pytest.approx(weights, abs=0.35)


def test_fit_is_the_one_that_a_general_solver_finds():
    """At the weights found the penalised likelihood has no slope left in any direction."""
    seen = player(-0.5, 1.5, 0.6)
    learned = learn(seen)
    good, lost, last = {}, {}, {}
    slope = -3.0 * (np.array([learned.base, learned.growth, learned.fading]) - PRIOR)
    for card, day, recalled in seen:
        if card in last:
            done = good[card] + LOST_SHARE * lost[card]
            days = max(1, day - last[card])
            row = np.array([1.0, np.log(1 + done), -np.log(days)])
            slope += (recalled - learned.recall(done, days)) * row
        good[card] = good.get(card, 0) + recalled
        lost[card] = lost.get(card, 0) + (not recalled)
        last[card] = day
    assert np.abs(slope).max() < 1e-3


def test_nothing_seen_is_the_prior():
    """Without attempts, and with a handful, the assumed weights stand."""
    assert (learn([]).base, learn([]).growth, learn([]).fading) == PRIOR
    few = learn([Seen(1, day, True) for day in range(5)])
    assert (few.base, few.growth, few.fading) == PRIOR
    assert few.counts == {1: (5, 0)}


def test_extremes_keep_the_weights_sane():
    """All lost or all recalled: practice still helps and time still harms."""
    for recalled in (True, False):
        learned = learn([Seen(number % 40, number // 20, recalled) for number in range(1500)])
        assert learned.growth >= 0.3
        assert learned.fading >= 0.1
        assert 0 < learned.recall(3, 10) < 1


def test_shares_of_first_tries_and_of_later_ones():
    """First tries and later attempts are told apart; later ones count by how recent they are."""
    tries = [Seen(number, 1, False) for number in range(60)]
    later = [Seen(number % 60, 2 + number // 60, True) for number in range(240)]
    learned = learn(tries + later)
    assert learned.first < 0.05
    assert learned.lately > 0.95
    assert learn(tries + later + [Seen(1, 9, False)]).lately < learned.lately


def test_old_attempts_are_left_out():
    """Only the latest attempts count, however long the log is."""
    old = [Seen(7, day, False) for day in range(300)]
    new = [Seen(number % 50, 400 + number // 25, True) for number in range(LATEST)]
    assert learn(old + new).counts == learn(new).counts


def test_recall_falls_with_time_and_rises_with_practice():
    """The odds multiply as stated: a day later e^-1 · 4^1.3 after three recalled attempts."""
    chance = Learned().recall(3, 1)
    assert chance / (1 - chance) == pytest.approx(np.exp(-1) * 4**1.3)
    assert Learned().recall(3, 10) < chance < Learned().recall(4, 1)
    assert Learned().recall(3, 0) == chance


def test_solver():
    """Cramer's rule gives what numpy's solver gives."""
    matrix = np.array([[4.0, 1.0, -0.5], [1.0, 3.0, 0.7], [-0.5, 0.7, 2.0]])
    upper = [4.0, 1.0, -0.5, 3.0, 0.7, 2.0]
    found = _solve(upper, [1.0, -2.0, 3.0])
    assert found == pytest.approx(np.linalg.solve(matrix, [1.0, -2.0, 3.0]))
