"""The days to come, played through: by the drill's own choices and chances, repeatably."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.memory import forecasting as module
from drillbox.memory.candidates import Candidate, Pace, Sitting, candidate, expected_seconds
from drillbox.memory.cards import Attempted, CardState, TempoState, rate, untried
from drillbox.memory.chances import Chances
from drillbox.memory.choose import next_go
from drillbox.memory.forecasting import (
    Forecast,
    Habits,
    Load,
    NewPhrase,
    Player,
    Range,
    Simulated,
    forecast,
)
from drillbox.memory.learning import UNLEARNT, Learned
from drillbox.memory.recall import MemoryState, Recall, interval_days
from drillbox.memory.rules import Rules
from drillbox.music.keys import MAJOR

TODAY = date(2026, 3, 2)
RULES = Rules(minutes=10, spread=0.0)
SURELY, NEVER = Learned(base=30.0), Learned(base=-30.0)
CLEAN = Habits(fluent=0.0, lost=1.0)


def phrases(count: int, keys: int = 12) -> list[Candidate]:
    return [
        candidate(
            phrase * 12 + place, phrase, place,
            quarters=16.0, goal=120, state=untried(120, RULES), key=MAJOR[place].text(),
        )
        for phrase in range(1, count + 1)
        for place in range(keys)
    ]  # fmt: skip


def standing(
    *, number: int = 1, run: int = 1, tempo: int = 120, stability: float = 40.0
) -> Candidate:
    """Return one card at goal, played last three days ago and due today."""
    state = CardState(
        MemoryState(stability, 5.0, TODAY - timedelta(days=3)), TempoState(tempo), 5, TODAY, 5,
        0, run, 1,
    )  # fmt: skip
    return candidate(number, number, 0, quarters=16.0, goal=120, state=state, key="C")


def played(
    cards: list[Candidate],
    days: int = 1,
    learned: Learned = UNLEARNT,
    rules: Rules = RULES,
    runs: int = 1,
    adding: int = 0,
    **other: float,
) -> Forecast:
    player = Player(cards, {}, learned, rules, Pace(), CLEAN)
    more = [NewPhrase(16.0, 120)] * adding
    return forecast(
        player, TODAY, days, adding=more, runs=runs, played_today=other.get("before", 0)
    )


def means(load: Load) -> tuple[float, ...]:
    return tuple(each.mean for each in load)


def test_a_later_go_is_as_likely_as_its_key_now_stands():
    """Where very first goes never come out and all others do, a key that was begun today comes
    out on its second visit, so that the next one begins."""
    (day,) = played(phrases(1), learned=Learned(base=9.0, first=-30.0)).days
    assert day.new.mean >= 3


def test_no_cards_no_load() -> None:
    """With nothing to play the days are empty."""
    assert played([], 3).days == (Load(*(Range(0, 0, 0) for _ in Load._fields)),) * 3


def test_a_day_is_what_the_drill_would_do() -> None:
    """Always clean, go by go: the same goes, keys and minutes as ``next_go`` and ``rate`` asked
    by hand, with the chances of that morning."""
    cards = {card.card_id: card for card in phrases(3)}
    states = {number: untried(120, RULES) for number in cards}
    chances = Chances(SURELY, cards.values(), TODAY.toordinal(), RULES)
    sitting = Sitting(10)
    while go := next_go(list(cards.values()), sitting, RULES, Pace(), chances):
        card, before = cards[go.card_id], states[go.card_id]
        seconds = expected_seconds(16.0, go.tempo, Pace(), RULES)
        sitting = sitting.rated(card, go.tempo, Recall.CLEAN, seconds)
        due = before.due or TODAY + timedelta(days=2)  # FSRS's first interval after a clean go
        attempted = Attempted(TODAY, Recall.CLEAN, go.tempo, 0, due)
        states[go.card_id] = rate(before, attempted, 120, RULES)
        cards[go.card_id] = candidate(
            card.card_id, card.phrase_id, card.position,
            quarters=16.0, goal=120, state=states[go.card_id], key=card.key,
        )  # fmt: skip
    (day,) = played(phrases(3), learned=SURELY).days
    keys = len({each.card_id for each in sitting.done})
    at_goal = sum(card.begun and card.at_goal for card in cards.values())
    assert means(day) == (
        keys, len(sitting.done), keys, pytest.approx(sitting.used / 60), keys, at_goal, 0,
    )  # fmt: skip
    assert keys > 3


def test_outcomes_follow_the_chance_at_the_tempo_of_the_go() -> None:
    """Of 4,000 draws at a chance the share that comes out clean is that chance, within three
    standard deviations; of the rest the player's share is lost."""
    player = Simulated([], {}, UNLEARNT, RULES, Pace(), Habits(0.5, 0.25), Random(5))
    drawn = [player._draw(0.7) for _ in range(4000)]
    clean = sum(each >= Recall.CLEAN for each in drawn)
    assert abs(clean / 4000 - 0.7) < 3 * (0.7 * 0.3 / 4000) ** 0.5
    assert abs(drawn.count(Recall.FLUENT) / clean - 0.5) < 0.04
    assert abs(drawn.count(Recall.LOST) / (4000 - clean) - 0.25) < 0.05


def test_of_a_lenient_player_the_chance_is_of_fluent_goes() -> None:
    """Of the others, their share of clean ones comes out clean: it moves tempo and memory."""
    lenient = replace(UNLEARNT, lenient=True)
    player = Simulated([], {}, lenient, RULES, Pace(), Habits(0.5, 0.25, 0.8), Random(5))
    drawn = [player._draw(0.3) for _ in range(4000)]
    fluent = drawn.count(Recall.FLUENT)
    assert abs(fluent / 4000 - 0.3) < 3 * (0.3 * 0.7 / 4000) ** 0.5
    assert abs(drawn.count(Recall.CLEAN) / (4000 - fluent) - 0.8) < 0.03


def test_a_first_clean_go_at_goal_owns_a_card_that_waits_for_it() -> None:
    """Clean at goal the day before, as ``goal_runs`` says, and a memory that lasts: owned today;
    without that, a day later at the earliest."""
    ready = Player([standing()], {1: 1}, SURELY, RULES, Pace(), CLEAN)
    assert forecast(ready, TODAY, 1, runs=1).whole == {1: (0,)}
    assert forecast(ready, TODAY, 1, runs=1).days[0].owned == (1, 1, 1)
    fresh = Player([standing()], {}, SURELY, RULES, Pace(), CLEAN)
    (first,) = forecast(fresh, TODAY, 60, runs=1).whole[1]
    assert first is not None
    assert first > 0


def test_always_lost_opens_one_key_and_owns_none() -> None:
    """A player who never plays a key clean is led no further, and the minutes are used."""
    found = played(phrases(1), 10, NEVER)
    last = found.days[-1]
    assert (last.started.high, last.at_goal.high, last.owned.high) == (1, 0, 0)
    assert all(day.minutes.low > 8 for day in found.days)
    assert found.whole == {1: (None,)}


def test_always_clean_owns_the_phrase_within_the_days() -> None:
    """Twelve keys of one line at ten minutes a day are owned in 45 days, and stay so."""
    found = played(phrases(1), 45, SURELY)
    (whole,) = found.whole[1]
    assert whole is not None
    assert all(day.owned == (12, 12, 12) for day in found.days[whole:])


def test_a_card_is_due_again_when_memory_says() -> None:
    """With no spread a card's due day is FSRS's interval after the cold go, give or take the one
    day by which any due day may move."""
    simulated = Simulated([standing()], {1: 1}, SURELY, RULES, Pace(), CLEAN, Random(1))
    simulated.day(TODAY.toordinal(), 10)
    (card,) = simulated.pool
    interval = interval_days(card.stability, RULES.recall_target)
    assert abs(card.due - TODAY.toordinal() - interval) <= 1
    assert simulated.load == {date.fromordinal(card.due): 1, TODAY: 0}


def test_today_has_the_minutes_that_are_left() -> None:
    """Eight of ten minutes were played: two are left; all ten: none."""
    (full,), (rest,) = played(phrases(3)).days, played(phrases(3), before=8).days
    assert 9 < full.minutes.mean < 11
    assert 1.5 < rest.minutes.mean < 2.6
    assert means(played(phrases(3), before=12).days[0])[:4] == (0, 0, 0, 0)


def test_adding_phrases_starts_their_keys() -> None:
    """They come as never played; what is owned counts them, ``whole`` doesn't."""
    alone, more = played(phrases(1), 20, SURELY), played(phrases(1), 20, SURELY, adding=2)
    assert alone.days[-1].started.mean == 12
    assert more.days[-1].started.mean > 12
    assert set(more.whole) == {1}


def test_runs_are_put_together_and_repeatable() -> None:
    """The same arguments, the same days; the mean lies between the lowest and the highest."""
    cards = phrases(4)
    twice = played(cards, 6, runs=3)
    assert twice == played(cards, 6, runs=3)
    for each in (figure for day in twice.days for figure in day):
        assert each.low <= each.mean <= each.high
    assert any(figure.low < figure.high for day in twice.days for figure in day)
    assert all(len(each) == 3 for each in twice.whole.values())


LASTING = [standing(number=number, stability=400.0) for number in range(500, 580)]


@pytest.mark.parametrize(
    "begun",
    [
        [standing(number=number, stability=3.0) for number in range(600, 610)],
        [*LASTING, *(standing(number=number, tempo=90) for number in range(600, 610))],
    ],
    ids=["due among new ones", "below their goal among those that last"],
)
def test_of_many_phrases_the_pressing_ones_are_looked_at(
    begun: list[Candidate], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Looking at those alone plays the same first day as looking at all: ten keys that press
    come though 480 that weren't begun wait as well."""
    cards = [*phrases(40), *begun]
    near = played(cards, rules=RULES)
    monkeypatch.setattr(module, "REACH", 10_000)
    assert played(cards, rules=RULES) == near


def test_work_done_is_told() -> None:
    """Each day of each run ticks once, in order, out of all of them."""
    ticks: list[tuple[int, int]] = []
    player = Player(phrases(1), {}, UNLEARNT, RULES, Pace())
    forecast(player, TODAY, 3, runs=2, tick=lambda *at: ticks.append(at))
    assert ticks == [(n, 6) for n in range(6)]


@settings(max_examples=10)
@given(st.integers(1, 5), st.integers(1, 12), st.integers(1, 6), st.floats(-3, 3))
def test_days_keep_within_their_bounds(count: int, keys: int, days: int, base: float) -> None:
    """No day takes much more than its minutes, no key is counted twice, none is forgotten."""
    found = played(phrases(count, keys), days, Learned(base=base))
    begun = 0.0
    for day in found.days:
        assert day.minutes.high <= 10 + 1
        assert day.keys.high <= day.goes.high
        assert max(day.owned.high, day.at_goal.high) <= day.started.high <= count * keys
        begun += day.new.mean
        assert day.started.mean == begun


def test_a_warmed_up_key_comes_out_by_its_own_chance() -> None:
    """Where only a phrase's first go of a day comes out, its second key is begun, and no third."""
    (day,) = played(phrases(1), learned=Learned(base=30.0, warmed=-60.0)).days
    assert day.new.mean == 2


def test_the_runs_differ_by_the_doubt() -> None:
    """By a standard normal's quantiles at 1/6, 1/2 and 5/6: -.967, 0 and .967 times .7."""
    found = [module._taken_for(UNLEARNT, run, 3).base - UNLEARNT.base for run in range(3)]
    assert found == pytest.approx([-0.677, 0.0, 0.677], abs=1e-3)


def test_the_range_reckons_with_a_player_who_is_worse_or_better_than_it_seems() -> None:
    """The first run takes them for worse, the last for better: less and more is owned there."""
    cards = phrases(2)
    figures = played(cards, 40, runs=3).days[-1].owned
    alone = played(cards, 40).days[-1].owned
    assert figures.low < alone.mean < figures.high
