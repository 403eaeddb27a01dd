"""The days to come, played through: by the real memory, in the right numbers, repeatably."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.memory.candidates import Candidate, candidate
from drillbox.memory.cards import untried
from drillbox.memory.pace import Pace, expected_seconds
from drillbox.memory.recall import Recall, after, interval_days
from drillbox.memory.rules import Rules
from drillbox.memory.tempo import TempoState, next_tempo
from drillbox.practice import forecast as module
from drillbox.practice.forecast import Habits, Load, NewPhrase, forecast

TODAY = date(2026, 3, 2)
PLAIN = Rules(spread=0.0, newest_at_end=0, new_a_day=3, minutes=20)


class Always:
    """Dice that always show the same: the luck of a draw, then the kind of a rating."""

    def __init__(self, luck: float, kind: float) -> None:
        self.values, self.turn = (luck, kind), 0

    def random(self) -> float:
        self.turn += 1
        return self.values[(self.turn - 1) % 2]


def rigged(patch: pytest.MonkeyPatch, luck: float, kind: float = 0.5) -> None:
    patch.setattr(module, "Random", lambda _seed: Always(luck, kind))


def new(card_id: int = 1, phrase_id: int = 1, position: int = 0) -> Candidate:
    return candidate(
        card_id, phrase_id, position,
        quarters=Fraction(16), goal=120, state=untried(120, PLAIN), key="C",
    )  # fmt: skip


def opened(card_id: int = 1, due: int = 0, stability: float = 5.0, phrase_id: int = 1) -> Candidate:
    today = TODAY.toordinal()
    return Candidate(card_id, phrase_id, 11, 16.0, 120, 90, stability, 5.0, today - 3, today + due)


def test_no_cards_no_load() -> None:
    """Nothing to play gives empty days."""
    assert forecast([], TODAY, 3, PLAIN, Pace()) == [Load(0, 0, 0)] * 3


def test_a_card_comes_back_when_memory_says(monkeypatch: pytest.MonkeyPatch) -> None:
    """Always clean: it is played on the days that FSRS, asked by hand, makes it due."""
    rigged(monkeypatch, luck=0.0)
    found = forecast([opened()], TODAY, 200, PLAIN, Pace(), habits=Habits(0, 0, 0))
    played = [n for n, load in enumerate(found) if load.cards]
    expected, day = [], TODAY
    memory = after(None, Recall.CLEAN, TODAY)._replace(
        stability=5.0, difficulty=5.0, last_day=TODAY - timedelta(days=3)
    )
    tempo, minutes = TempoState(90), []
    while (day - TODAY).days < 200:
        expected.append((day - TODAY).days)
        minutes.append(expected_seconds(16.0, tempo.tempo, Pace(), PLAIN) / 60)
        memory = after(memory, Recall.CLEAN, day)
        tempo = next_tempo(tempo, Recall.CLEAN, 120, PLAIN.tempo)
        day += timedelta(days=interval_days(memory.stability, PLAIN.retention))
    assert played == expected
    assert len(played) > 3
    assert [found[n].minutes for n in played] == pytest.approx(minutes)


def test_a_lost_card_is_played_twice_that_day(monkeypatch: pytest.MonkeyPatch) -> None:
    """Once more in the same session, by the rules; with none to return, once."""
    rigged(monkeypatch, luck=0.999)
    once = expected_seconds(16.0, 90, Pace(), PLAIN) / 60
    (first,) = forecast([opened()], TODAY, 1, Rules(returns_a_day=0), Pace())
    assert first.minutes == pytest.approx(once)
    (twice,) = forecast([opened()], TODAY, 1, Rules(returns_a_day=1), Pace())
    assert twice.cards == 1
    assert twice.minutes > 1.9 * once


def test_what_is_overdue_counts_for_today() -> None:
    """Due a week ago: played today."""
    assert forecast([opened(due=-7)], TODAY, 1, PLAIN, Pace())[0].cards == 1
    assert forecast([opened(due=2)], TODAY, 3, PLAIN, Pace())[2].cards == 1


def test_new_keys_open_by_the_quota_and_one_after_another() -> None:
    """Three a day at most, less what was opened today; a phrase's next key waits for the last."""
    cards = [new(n, n) for n in range(1, 6)]
    found = forecast(cards, TODAY, 2, PLAIN, Pace(), opened_today=1)
    assert [load.new for load in found] == [2, 3]
    keys = [new(position + 1, 1, position) for position in range(12)]
    one = forecast(keys, TODAY, 60, Rules(new_a_day=12), Pace())
    assert sum(load.new for load in one) == 12
    assert max(load.new for load in one) == 1


def test_no_new_keys_over_a_full_day() -> None:
    """Where what is due takes more than the day's minutes, nothing opens."""
    cards = [opened(n, phrase_id=n) for n in range(2, 60)]
    (first,) = forecast([new(), *cards], TODAY, 1, PLAIN, Pace())
    assert (first.cards, first.new) == (58, 0)
    assert first.minutes > PLAIN.minutes


def test_new_keys_keep_within_the_minutes() -> None:
    """Two minutes hold three new keys of some 37 seconds each, and no fourth."""
    cards = [new(n, n) for n in range(1, 6)]
    rules = Rules(new_a_day=5, minutes=2, newest_at_end=0, returns_a_day=0)
    (first,) = forecast(cards, TODAY, 1, rules, Pace())
    assert first.new == 3
    assert first.minutes == pytest.approx(3 * (2 * 16 * 60 / 72 + 10) / 60)


def test_adding_phrases_adds_their_keys_and_minutes() -> None:
    """The cards come first as never played; in three weeks they bring more than without."""
    cards = [opened(n, due=n, phrase_id=n) for n in range(1, 8)]
    alone = forecast(cards, TODAY, 21, PLAIN, Pace(), runs=3)
    more = forecast(cards, TODAY, 21, PLAIN, Pace(), adding=[NewPhrase(16.0, 120)] * 2, runs=3)
    assert sum(load.new for load in alone) == 0
    assert more[0].new == 2
    assert sum(load.minutes for load in more) > sum(load.minutes for load in alone)


def test_runs_are_averaged_and_repeatable() -> None:
    """The same arguments give the same days; the mean of two runs lies between the runs."""
    cards = [opened(n, due=n % 5, phrase_id=n) for n in range(1, 30)]
    twice = forecast(cards, TODAY, 10, PLAIN, Pace(), runs=2)
    assert twice == forecast(cards, TODAY, 10, PLAIN, Pace(), runs=2)
    once = forecast(cards, TODAY, 10, PLAIN, Pace(), runs=1)
    assert once != twice
    assert twice[0].cards == once[0].cards  # what is due today is due in every run


def test_work_done_is_told() -> None:
    """Each day of each run ticks once, in order, out of all of them."""
    ticks: list[tuple[int, int]] = []
    forecast([opened()], TODAY, 3, PLAIN, Pace(), runs=2, tick=lambda *at: ticks.append(at))
    assert ticks == [(n, 6) for n in range(6)]


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.tuples(st.integers(-9, 9), st.floats(0.2, 90)), max_size=12),
    st.integers(0, 4),
    st.integers(1, 12),
)
def test_days_keep_within_their_bounds(
    cards: list[tuple[int, float]], adding: int, days: int
) -> None:
    """No day opens more than the quota, no card is counted twice a day, no minutes are lost."""
    pool = [opened(n + 1, due, stability, n + 1) for n, (due, stability) in enumerate(cards)]
    more = [NewPhrase(8.0, 100)] * adding
    found = forecast(pool, TODAY, days, Rules(new_a_day=3), Pace(), adding=more)
    assert len(found) == days
    opened_so_far = 0.0
    for load in found:
        opened_so_far += load.new
        assert 0 <= load.new <= 3
        assert load.new <= load.cards <= len(pool) + opened_so_far
        assert (load.minutes > 0) == (load.cards > 0)
