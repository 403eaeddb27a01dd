"""What weeks of drills come to for players who rate by a plain rule: promises that are exact."""

from __future__ import annotations

from collections import Counter
from itertools import pairwise

import pytest

from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules
from tests.memory.lives import Life, always


@pytest.mark.parametrize(("recall", "within"), [(Recall.CLEAN, 45), (Recall.FLUENT, 30)])
def test_one_line_is_owned_in_twelve_keys(recall, within):
    """Always clean: all twelve owned within 45 days at 20 minutes; always fluent: within 30. No
    session before that is shorter than was asked for, by more than half a go.
    """
    life = Life()
    while life.owned < 12:
        life.sit_down(20, always(recall))
        assert life.day <= within
        if life.owned < 12:
            assert life.used[-1] > 20 * 60 - 20


def test_when_all_is_owned_it_stays_so():
    """Two months on all is owned and every session still used its minutes."""
    life = Life()
    for _ in range(60):
        life.sit_down(20, always(Recall.FLUENT))
    assert life.owned == 12
    assert min(life.used) > 20 * 60 - 20


def test_always_lost_stays_at_one_key_at_the_floor():
    """Nothing else is begun before the first key has come out clean, and the minutes are used."""
    life = Life()
    for _ in range(20):
        life.sit_down(20, always(Recall.LOST))
    assert {each.card for each in life.played} == {0}
    assert life.states[0].tempo.tempo == life.rules.tempo.slowest_tempo
    assert min(life.used) > 20 * 60 - 30


def test_clean_and_lost_by_turns_goes_on():
    """Somebody who is lost every second time climbs slowly, and no session is cut short."""
    life = Life()
    for _ in range(30):
        life.sit_down(20, lambda go: Recall.CLEAN if go.number % 2 else Recall.LOST)
    assert len({each.card for each in life.played}) > 1
    assert min(life.used) > 20 * 60 - 30


@pytest.mark.parametrize("minutes", [1, 240])
def test_very_short_and_very_long_sessions(minutes):
    """One minute is used, and so are four hours, with one line or three."""
    for phrases in (1, 3):
        life = Life(phrases)
        for _ in range(2):
            life.sit_down(minutes, always(Recall.CLEAN))
        assert min(life.used) > minutes * 60 - 20


def test_a_long_chart_comes_in_a_short_session():
    """With one minute and a chart of 128 quarters at 60 a minute, a go is played all the same."""
    life = Life(goal=60, quarters=128.0)
    life.sit_down(1, always(Recall.CLEAN))
    assert life.played


def test_a_new_line_is_learnt_before_it_is_spread():
    """A key that goes lost comes back slower, until it has come out clean; the next one waits."""
    life = Life()
    life.sit_down(10, lambda go: Recall.LOST if go.number < 4 else Recall.CLEAN)
    first = life.played[:5]
    assert {each.card for each in first} == {0}
    tempos = [each.tempo for each in first]
    assert tempos == sorted(tempos, reverse=True)
    assert tempos[-1] < tempos[0]
    assert len({each.card for each in life.played}) > 3


def test_keys_start_in_the_order_that_was_chosen():
    """Each next key is the next of the phrase's order, whatever the ratings."""
    life = Life(4)
    turns = (Recall.CLEAN, Recall.ROUGH, Recall.FLUENT, Recall.LOST, Recall.CLEAN)
    for _ in range(25):
        life.sit_down(20, lambda go: turns[go.number % 5])
    for phrase in range(4):
        begun = list(dict.fromkeys(go.card for go in life.played if go.phrase == phrase))
        assert begun == sorted(begun)


@pytest.mark.parametrize("phrases", [2, 3, 12])
def test_visits_are_mixed(phrases):
    """Never the same phrase in two visits running, never one key more than twice running; with
    two phrases there is a choice only between the keys of the other.
    """
    life = Life(phrases, rules=Rules(repeat_newest=0))
    turns = (Recall.CLEAN, Recall.FLUENT, Recall.ROUGH, Recall.CLEAN, Recall.LOST, Recall.CLEAN)
    for _ in range(14):
        life.sit_down(20, lambda go: turns[go.number % 6])
    for day in range(1, 14):
        visits = life.visits(day)
        assert all(one.phrase != other.phrase for one, other in pairwise(visits))
        if phrases > 2:
            keys = [each.key for each in visits]
            runs = zip(keys, keys[1:], keys[2:], strict=False)
            assert not any(one == two == three for one, two, three in runs)


def test_one_key_that_lags_behind_doesnt_take_the_minutes():
    """Two lines all clean, but one key missed on four days: it isn't played all day for it."""
    life, lagging = Life(2), 4

    def rating(go):
        first = all(each.day != go.day or each.card != go.card for each in life.played)
        lost = first and go.card == lagging and 12 <= go.day < 16
        return Recall.LOST if lost else Recall.CLEAN

    for day in range(24):
        life.sit_down(20, rating)
        goes = Counter(go.card for go in life.played if go.day == day)
        if day >= 14:
            assert len(goes) > 20
            assert max(goes.values()) <= 6


def test_a_cold_go_is_slower_than_the_days_peak_until_it_is_sure():
    """A player whose cold goes fail at what they reached warm begins the next days slower."""
    life = Life(3)

    def rating(go):
        cold = all(each.day != go.day or each.card != go.card for each in life.played)
        return Recall.ROUGH if cold and go.tempo > 90 else Recall.CLEAN

    for _ in range(25):
        life.sit_down(20, rating)
    cold, last = [], life.played[-1].day
    for each in life.visits(last):
        reached = max(go.tempo for go in life.played if go.card == each.card)
        cold.append(each.tempo / reached)
    assert sum(cold) / len(cold) < 0.97
