"""The time of an attempt is computed from its chart and corrected by the player's own times."""

from __future__ import annotations

import pytest

from drillbox.memory.candidates import (
    Done,
    Pace,
    Sitting,
    Timed,
    expected_seconds,
    learn_pace,
    visits,
)
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules

RULES = Rules(loops=2, between_goes=10)


def goes(*words: tuple[int, Recall]) -> list[Done]:
    """Return goes at cards by their numbers."""
    return [Done(card, card, "C", 100, recall, 20.0, first=False) for card, recall in words]


def test_a_visit_ends_with_a_clean_go_or_after_as_many_as_are_allowed():
    """So goes in a row at the only card there is are several visits; another card begins one."""
    clean, lost = Recall.CLEAN, Recall.LOST
    done = goes((1, clean), (1, lost), (1, lost), (1, lost), (1, lost), (1, clean), (2, lost))
    assert [len(visit) for visit in visits(done, 3)] == [1, 3, 2, 1]
    assert [len(visit) for visit in visits(done, 1)] == [1] * 7
    assert visits([], 3) == []


def test_a_skip_takes_its_time():
    """Half of the one minute went by before the card was passed over."""
    sitting = Sitting(1).skip(7, 30.0)
    assert (sitting.left, sitting.skipped) == (30.0, {7})


def test_computed_time():
    """Two rounds of 8 quarters at 120 take 8 seconds, and 10 more to look, count in and rate."""
    assert expected_seconds(8, 120, Pace(), RULES) == pytest.approx(18.0)


def test_pace_is_the_mean_ratio_without_extremes():
    """Eight attempts, half as long again as computed, one interrupted: the ratio is 1.5. Where a
    third takes twice the time of the others, they count for what they are."""
    usual = [Timed(27.0, 8, 120, 2)] * 8
    assert learn_pace([*usual, Timed(900.0, 8, 120, 2)], RULES) == Pace(1.5, 9)
    assert expected_seconds(8, 120, Pace(1.5, 9), RULES) == pytest.approx(27.0)
    some = [Timed(18.0, 8, 120, 2)] * 40 + [Timed(36.0, 8, 120, 2)] * 20
    assert learn_pace(some, RULES).ratio == pytest.approx((36 * 1 + 16 * 2) / 52)


def test_loops_of_the_time_count():
    """An attempt of four rounds is measured against four, whatever the setting is now."""
    assert learn_pace([Timed(26.0, 8, 120, 4)] * 8, RULES).ratio == pytest.approx(1.0)


def test_until_a_key_is_reckoned_as_two_rounds():
    """Without a number of loops an attempt is planned, and measured, as one of two rounds."""
    endless = Rules(loops=0, between_goes=10)
    assert expected_seconds(8, 120, Pace(), endless) == pytest.approx(18.0)
    assert learn_pace([Timed(27.0, 8, 120, 0)] * 8, endless) == Pace(1.5, 8)


def test_too_few_or_untimed_attempts_say_nothing():
    """Under eight timed attempts the computed time stands."""
    assert learn_pace([Timed(90.0, 8, 120, 2)] * 7, RULES) == Pace(1.0, 7)
    assert learn_pace([Timed(0.0, 8, 120, 2)] * 20, RULES) == Pace(1.0, 0)


@pytest.mark.parametrize(("seconds", "ratio"), [(0.5, 0.25), (5000.0, 4.0)])
def test_pace_has_bounds(seconds, ratio):
    """Rating at once or leaving the screen standing doesn't bend the plan beyond sense."""
    assert learn_pace([Timed(seconds, 8, 120, 2)] * 8, RULES).ratio == ratio
