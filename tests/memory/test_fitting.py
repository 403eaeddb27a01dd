"""Weights are fitted to a player, judged on what they haven't seen, and kept only if better."""

from __future__ import annotations

import sys
from datetime import date, timedelta
from math import log
from random import Random

import pytest

from drillbox.errors import BadInput
from drillbox.memory.fitting import FEWEST, Tried, fit, log_loss
from drillbox.memory.recall import (
    DEFAULT_WEIGHTS,
    Recall,
    after,
    interval_days,
    retrievability,
)

START = date(2026, 1, 1)
FORGETFUL = (*DEFAULT_WEIGHTS[:2], 0.6, 1.5, *DEFAULT_WEIGHTS[4:8], 0.6, *DEFAULT_WEIGHTS[9:11],
             0.6, *DEFAULT_WEIGHTS[12:20], 0.5)  # fmt: skip


def player(weights, cards: int) -> dict[int, list[Tried]]:
    """Return the logs of a player whose memory is FSRS with these weights, a dozen goes a card."""
    dice, logs = Random(1), {}
    for card in range(cards):
        day, state, tries = START + timedelta(days=dice.randrange(40)), None, []
        for _ in range(12):
            chance = retrievability(state, day, weights) if state else 0.5
            good = dice.choice([Recall.CLEAN, Recall.CLEAN, Recall.FLUENT, Recall.ROUGH])
            recall = good if dice.random() < chance else Recall.LOST
            state = after(state, recall, day, weights)
            tries.append(Tried(day, recall))
            day += timedelta(days=dice.choice([1, 2, 4, 7, 14]))
        logs[card] = tries
    return logs


def test_a_forgetful_player_gets_weights_that_predict_better():
    """Attempts of a player with other weights are predicted better by the fit, which is kept."""
    logs = player(FORGETFUL, 120)
    fitting = fit(logs)
    assert fitting.attempts == 120 * 11
    assert 0.15 < fitting.judged / fitting.attempts < 0.25
    assert fitting.loss < fitting.default_loss - 0.05
    assert fitting.weights is not None
    # The weights are such as the memory library takes, and what they say is used.
    state = after(None, Recall.CLEAN, START, fitting.weights)
    assert interval_days(state.stability, 0.9, fitting.weights) >= 1
    since = sorted(tried.day for each in logs.values() for tried in each[1:])[int(1320 * 0.8)]
    assert log_loss(logs, since, fitting.weights) == fitting.loss
    assert log_loss(logs, since, None) == fitting.default_loss


def test_later_goes_of_a_day_change_nothing():
    """Memory moves by a day's first go alone, and so it is in the fit."""
    logs = player(FORGETFUL, 60)
    warm = {card: [each for tried in tries for each in (tried, Tried(tried.day, Recall.LOST))]
            for card, tries in logs.items()}  # fmt: skip
    assert fit(warm) == fit(logs)


def test_a_clock_that_was_ahead_takes_no_attempts_away():
    """A go dated a year ahead at each card: those after it count, and are fitted as before."""
    logs = player(FORGETFUL, 60)
    later = timedelta(days=365)
    ahead = {card: [*tries[:6], Tried(tries[6].day + later, tries[6].recall), *tries[7:]]
             for card, tries in logs.items()}  # fmt: skip
    told, wrong = fit(logs), fit(ahead)
    assert wrong.attempts == told.attempts - 60  # the one after it lies before it
    assert wrong.weights is not None
    since = max(tried.day for tries in logs.values() for tried in tries) - timedelta(days=40)
    losses = [log_loss(logs, since, each) for each in (told.weights, wrong.weights)]
    assert losses[1] < losses[0] + 0.02


def test_weights_that_predict_worse_are_not_kept():
    """Where the latest fifth goes against what came before, the defaults stay."""
    logs = player(FORGETFUL, 60)
    days = sorted(tried.day for tries in logs.values() for tried in tries[1:])
    since = days[int(len(days) * 0.8)]
    turned = {
        card: [Tried(tried.day, Recall.LOST if tried.day >= since else Recall.CLEAN)
               for tried in tries]
        for card, tries in logs.items()
    }  # fmt: skip
    fitting = fit(turned)
    assert fitting.loss >= fitting.default_loss
    assert fitting.weights is None


def test_log_loss_by_hand():
    """Two attempts judged: what lies before the cut doesn't count."""
    day = [START + timedelta(days=each) for each in (0, 2, 9, 40)]
    recalls = [Recall.CLEAN, Recall.CLEAN, Recall.LOST, Recall.ROUGH]
    tries = [Tried(*pair) for pair in zip(day, recalls, strict=True)]
    state, chances = None, []
    for tried in tries:
        chances.append(retrievability(state, tried.day) if state else None)
        state = after(state, tried.recall, tried.day)
    expected = (-log(1 - chances[2]) - log(chances[3])) / 2
    assert log_loss({1: tries}, day[2], None) == pytest.approx(expected)
    assert log_loss({}, START, None) == 0.0


def test_too_few_attempts():
    """Under 400 attempts on separate days a fit is refused before it begins; repeats within a
    day aren't counted."""
    tries = [Tried(START + timedelta(days=each // 3), Recall.CLEAN) for each in range(3 * FEWEST)]
    with pytest.raises(BadInput, match="399 goes") as caught:
        fit({1: tries}, lambda: pytest.fail("It has begun."))
    assert "400" in caught.value.remedy


def test_without_the_package(monkeypatch):
    """Where the optional package isn't there, one line says how to get it."""
    monkeypatch.setitem(sys.modules, "fsrs_rs_python", None)
    with pytest.raises(BadInput, match="fsrs-rs-python") as caught:
        fit(player(DEFAULT_WEIGHTS, 40), lambda: pytest.fail("It has begun."))
    assert caught.value.remedy.startswith("In your copy of drillbox: pip install '.[fit]'.")


def test_exactly_400_attempts_are_enough():
    """With the 400th that an earlier day can predict the model is fitted; 399 were too few."""
    days = [START + timedelta(days=2 * each) for each in range(FEWEST + 1)]
    tries = [Tried(day, Recall.LOST if n % 5 == 4 else Recall.CLEAN) for n, day in enumerate(days)]
    begun: list[bool] = []
    assert fit({1: tries}, lambda: begun.append(True)).attempts == 400
    assert begun
    with pytest.raises(BadInput, match="399 goes"):
        fit({1: tries[:-1]})
