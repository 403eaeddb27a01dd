"""The chances of a day, the tempo of a cold go by them, and what a visit is worth."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from math import exp, log

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.memory.candidates import Candidate, Sitting
from drillbox.memory.chances import (
    AHEAD,
    FADING,
    FIRST_RANGE,
    LOWEST,
    OPENING,
    Chances,
)
from drillbox.memory.learning import APART, Learned
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules

TODAY = date(2026, 6, 1).toordinal()
RULES = Rules()
BEGUN = Candidate(1, 1, 0, 8.0, 200, 160, 9.0, 5.0, TODAY - 4, TODAY + 3, 6, 2, 3, 2, False, "C")
LEARNED = Learned(0.2, 0.5, 0.3, 0.1, -0.4, 0.6, 0.7, 0.5, 0.1, 0.4, {1: 0.25},
                  {"C": -0.15})  # fmt: skip


def of(*cards: Candidate, learned: Learned = LEARNED) -> Chances:
    return Chances(learned, cards, TODAY, RULES)


def test_the_chance_is_the_models():
    """By hand: the odds at the tempo reached, base and newest in one, less what a faster tempo
    costs."""
    odds = 0.3 + 0.25 - 0.15 + 0.5 * log(1 + 6 + 0.3 * 2) - 0.3 * log(4) - 0.1 * log(4) + 0.6
    assert of(BEGUN).at(BEGUN, 160) == pytest.approx(1 / (1 + exp(-odds)))
    at_goal = odds + 7 * log(160 / 200)
    assert of(BEGUN).at_goal(BEGUN) == pytest.approx(1 / (1 + exp(-at_goal)))


def test_a_phrase_that_was_played_today_is_warmed_up():
    """Then a go is likelier and faster; what is shown stays what it was before the day."""
    chances, warm = of(BEGUN), of(BEGUN, BEGUN._replace(card_id=2, key="F", last_day=TODAY))
    odds = log(chances.at(BEGUN, 190) / (1 - chances.at(BEGUN, 190)))
    warmed = chances.at(BEGUN, 190, warmed=True)
    assert warmed == chances.supposing(BEGUN, 190, warmed=True)
    assert log(warmed / (1 - warmed)) == pytest.approx(odds + 0.4)
    shaky = of(BEGUN, learned=replace(LEARNED, base=-1.5))
    assert shaky.cold(BEGUN, warmed=True) == pytest.approx(shaky.cold(BEGUN) * exp(0.4 / 7), abs=1)
    sitting = Sitting(20)
    assert (chances.warmed_up(sitting), warm.warmed_up(sitting)) == (set(), {1})
    played = sitting.rated(BEGUN._replace(phrase_id=3), 160, Recall.CLEAN, 20.0)
    assert warm.warmed_up(played) == {1, 3}
    assert warm.at_goal(BEGUN) == chances.at_goal(BEGUN)


def test_a_first_try_leans_on_the_phrases_other_keys():
    """What they reached over its own first tempo, and how long ago the phrase was played."""
    new = Candidate(2, 1, 1, 8.0, 200, 120, stride=2, key="F")
    odds = 0.3 + 0.25 - 0.4 - 0.1 * log(4) + 5 * log(160 / 120)
    assert of(BEGUN, new).at(new, 120) == pytest.approx(1 / (1 + exp(-odds)))
    alone = 0.3 + 0.25 - 0.4 - 0.1 * log(APART)
    assert of(new).at(new, 120) == pytest.approx(1 / (1 + exp(-alone)))


def test_a_cold_go_has_the_chance_that_is_wanted():
    """At the tempo of the day's first go it comes out clean with the chance that is wanted, or
    better; that is the higher the less practice has brought, within bounds."""
    for growth, wanted in ((0.05, 0.85), (0.3, 0.7), (0.6, 0.55)):
        unsure = Learned(base=-0.1 - 2 * growth, growth=growth, steep=1.0)
        chances = of(BEGUN, learned=unsure)
        cold = chances.cold(BEGUN)
        assert LOWEST * 160 < cold < 160
        assert chances.wanted == pytest.approx(wanted)
        assert chances.at(BEGUN, cold) == pytest.approx(wanted, abs=0.02)
    assert of(BEGUN, learned=Learned(base=3.0)).cold(BEGUN) == 160


def test_a_new_key_is_no_slower_for_how_first_goes_come_out():
    """What isn't found yet isn't found at a slower tempo; how all goes come out does count."""
    new = Candidate(2, 2, 0, 8.0, 200, 120, stride=2, key="F")
    usual, never = (of(new, learned=Learned(base=1.0, first=first)) for first in (0.5, -6.0))
    assert never.cold(new) == usual.cold(new) > 120
    assert never.at(new, 120) < 0.01
    assert of(new, learned=Learned(base=-1.0)).cold(new) < usual.cold(new)
    late = new._replace(tempo=190)  # by a setting it starts near its goal
    assert of(late, learned=Learned(base=9.0)).cold(late) == 190


@settings(max_examples=200)
@given(
    st.floats(-8, 8), st.floats(0.3, 3), st.integers(20, 400), st.floats(0.2, 1.0), st.booleans()
)
def test_a_cold_go_stays_in_its_range(base, steep, goal, share, begun):
    """Never over what was reached, nor under the stated share of it; new keys in their own."""
    card = Candidate(1, 1, 0, 8.0, goal, max(1, int(goal * share)), stride=2, key="C")
    if begun:
        card = card._replace(last_day=TODAY - 3, clean=1, due=TODAY)
    cold = of(card, learned=Learned(base=base, steep=steep)).cold(card)
    assert min(goal, RULES.tempo.slowest_tempo) <= cold <= goal
    if begun and card.tempo > RULES.tempo.slowest_tempo / LOWEST:
        assert LOWEST * card.tempo - 1 <= cold <= card.tempo
    elif not begun:
        assert cold <= max(RULES.tempo.slowest_tempo, card.tempo, FIRST_RANGE[1] * goal) + 1


def test_a_gig_may_ask_for_less_than_the_goal():
    """The same card with another goal is another question, though it was looked at before."""
    kept = BEGUN._replace(tempo=200, run=40, clean=300)
    chances = of(kept)
    assert chances.cold(kept) == 200
    wanted = kept._replace(goal=150)
    assert chances.cold(wanted) == 150
    assert chances.at_goal(wanted) > chances.at_goal(kept)


def test_what_wants_keeping():
    """Due, or less sure than it should be, or played on a day to come; never twice a day."""
    sure, unsure = Learned(base=5.0), Learned(base=-1.0)
    at_goal = BEGUN._replace(tempo=200)
    assert not of(at_goal, learned=sure).wants_keeping(at_goal)
    assert of(at_goal, learned=unsure).wants_keeping(at_goal)
    for chance in (0.89, 0.91):
        odds = of(at_goal, learned=replace(sure, base=0.0)).at_goal(at_goal)
        base = log(chance / (1 - chance)) - log(odds / (1 - odds))
        kept = of(at_goal, learned=replace(sure, base=base)).wants_keeping(at_goal)
        assert kept is (chance < 0.9)
    for change in ({"due": TODAY}, {"last_day": TODAY + 90}):
        card = at_goal._replace(**change)
        assert of(card, learned=sure).wants_keeping(card)
    today = at_goal._replace(last_day=TODAY, due=TODAY)
    assert not of(today, learned=unsure).wants_keeping(today)


def test_only_what_is_owned_is_done_with():
    """A chance alone is not enough: it must have been shown on cold goes; nor is what is due."""
    card = BEGUN._replace(tempo=200, owned=True)
    assert of(card, learned=Learned(base=5.0)).is_done_with(card)
    assert not of(card, learned=Learned(base=1.0)).is_done_with(card)
    for change in ({"owned": False}, {"tempo": 190}, {"due": TODAY}, {"last_day": TODAY + 90}):
        other = card._replace(**change)
        assert not of(other, learned=Learned(base=5.0)).is_done_with(other)


def test_what_was_missed_today_is_not_done_with():
    """An owned key stays owned after one miss, but there is something left to do in it."""
    card = BEGUN._replace(tempo=200, owned=True, last_day=TODAY)
    assert of(card).is_done_with(card._replace(run=3))
    assert not of(card).is_done_with(card._replace(run=0))
    assert not of(card).is_done_with(card._replace(run=3, owned=False))


def test_a_gig_s_tempo_is_not_all_that_was_reached():
    """What has reached 200 and is asked for at 100 comes out at 100: no first go is slower."""
    shaky = Learned(base=-3.0)
    kept = BEGUN._replace(tempo=200)
    chances = of(kept, learned=shaky)
    asked = kept._replace(goal=100, tempo=100)
    assert chances.cold(kept) < 200
    assert chances.cold(asked) == 100
    assert chances.at_goal(asked) == chances.supposing(kept, 100) > 0.9


def test_worth_is_what_a_visit_changes_a_week_on():
    """By hand, for a card at its goal: after a clean and a missed go, against being left alone."""
    card = BEGUN._replace(tempo=200, last_day=TODAY - 4)
    learned = Learned(0.2, 0.5, 0.3, 0.0, -0.4, 0.6, 0.7)
    bare = 0.2 - 0.3 * log(AHEAD)
    practice = 6 + 0.3 * 2
    clean = _chance(bare + 0.5 * log(2 + practice) + 0.6)
    missed = _chance(bare + 0.5 * log(1 + practice + 0.3))
    alone = _chance(0.2 + 0.5 * log(1 + practice) + 0.6 - 0.3 * log(4 + AHEAD))
    chances = of(card, learned=learned)
    now = chances.at(card, chances.cold(card))
    assert chances.worth(card) == pytest.approx(now * clean + (1 - now) * missed - alone)


def test_worth_of_what_climbs_is_reckoned_with_a_climb():
    """By hand, for a card at 160 of 200: a clean go adds .12 to the logarithm of its tempo, what
    it brings counts 2.5 times, and a day's visits take the time of three goes."""
    learned = Learned(0.2, 0.5, 0.3, 0.0, -0.4, 0.6, 0.7)
    far = 7 * log(200 / 160)
    bare = 0.2 - 0.3 * log(AHEAD) - far
    clean = _chance(bare + 0.5 * log(2 + 6.6) + 0.6 + 7 * 0.12)
    missed = _chance(bare + 0.5 * log(1 + 6.6 + 0.3))
    alone = _chance(0.2 + 0.5 * log(1 + 6.6) + 0.6 - 0.3 * log(4 + AHEAD) - far)
    chances = of(BEGUN, learned=learned)
    cold = chances.cold(BEGUN)
    now = chances.at(BEGUN, cold)
    worth = 2.5 * (now * clean + (1 - now) * missed - alone)
    assert chances.worth(BEGUN) == pytest.approx(worth)
    seconds = 10 + 2 * 8 * 60 / cold
    assert chances.rate(BEGUN) == pytest.approx(worth / (3 * seconds))
    there = BEGUN._replace(tempo=200)
    once = of(there, learned=learned)
    assert once.rate(there) == pytest.approx(once.worth(there) / (10 + 960 / once.cold(there)))


def test_a_miss_more_brings_nothing_to_what_is_always_missed():
    """Beyond five misses, and two for each clean go, only a clean go is practice."""
    card = BEGUN._replace(tempo=200, last_day=TODAY - 4, clean=1, missed=40, run=0)
    learned = Learned(0.2, 0.5, 0.3, 0.0, -0.4, 0.6, 0.7)
    bare = 0.2 - 0.3 * log(AHEAD)
    clean = _chance(bare + 0.5 * log(1 + 2 + 0.3 * 9) + 0.6)
    missed = _chance(bare + 0.5 * log(1 + 1 + 0.3 * 7))
    alone = _chance(0.2 + 0.5 * log(1 + 1 + 0.3 * 7) - 0.3 * log(4 + AHEAD))
    chances = of(card, learned=learned)
    now = chances.at(card, chances.cold(card))
    assert chances.worth(card) == pytest.approx(now * clean + (1 - now) * missed - alone)


def _chance(odds: float) -> float:
    return 1 / (1 + exp(-odds))


def test_what_climbs_is_pulled_up():
    """The same card counts more below its goal than at it."""
    climbing, there = BEGUN, BEGUN._replace(card_id=3, tempo=200)
    chances = of(climbing, there, learned=Learned(base=2.0))
    assert chances.worth(climbing) > chances.worth(there)


def test_some_forgetting_is_always_reckoned_with():
    """What a player leaves alone is what is sure: where nothing seems to fade, a visit to what
    was left alone for a month is worth more than to what was played yesterday."""
    learned = Learned(base=0.6, growth=0.5, fading=0.05, kept=0.0)
    late = BEGUN._replace(tempo=200, last_day=TODAY - 28)
    now, without = -0.05 * log(28), -FADING * log((28 + AHEAD) / 28)
    clean = 0.6 + 0.5 * log(1 + 6.6) + now
    bare = clean - 0.5 * log(1 + 6.6) + FADING * log(28 / AHEAD)
    after = [_chance(bare + 0.5 * log(each)) for each in (2 + 6.6, 1 + 6.6 + 0.3)]
    share = _chance(clean)
    wanted = share * after[0] + (1 - share) * after[1] - _chance(clean + without)
    assert of(late, learned=learned).worth(late) == pytest.approx(wanted)
    early = late._replace(last_day=TODAY - 1)
    assert of(early, learned=learned).worth(early) < wanted / 2


@pytest.mark.parametrize("base", [1.0, -1.0])
def test_new_keys_come_by_how_well_those_at_goal_are_kept(base):
    """The surer these are, the more a new key is worth; next to nothing without any."""
    new = Candidate(2, 2, 0, 8.0, 200, 120, stride=2, key="F")
    there = [BEGUN._replace(card_id=number, tempo=200) for number in (3, 4)]
    chances = of(new, *there, learned=Learned(base=base))
    assert chances.kept == pytest.approx(chances.at_goal(there[0]))
    assert chances.worth(new) == pytest.approx(OPENING * chances.kept**2)
    alone = of(new, learned=Learned(base=base))
    assert alone.kept == 0
    assert 0 < alone.worth(new) < OPENING / 1000


def test_ranks_are_settled_as_the_day_begins():
    """What a card has become since changes nothing; another set of cards is ranked anew."""
    far, near = BEGUN._replace(tempo=100), BEGUN._replace(card_id=2, tempo=190)
    chances = of(far, near)
    assert chances.rate(near) > chances.rate(far)
    assert list(chances.by_rate([far, near])) == [near, far]
    played = near._replace(last_day=TODAY, tempo=200)
    assert list(chances.by_rate([far, played])) == [played, far]
    slow = BEGUN._replace(card_id=3, quarters=128.0)
    assert next(iter(chances.by_rate([slow, far, near]))) == near


def test_supposing_keeps_nothing():
    """A card as it may stand one day has its own chance, whatever was asked before."""
    chances = of(BEGUN)
    now = chances.at(BEGUN, 200)
    assert chances.supposing(BEGUN._replace(tempo=200, clean=20), 200) > now
    assert chances.at(BEGUN, 200) == now


def test_what_is_supposed_to_have_been_played_makes_its_phrase_played_then():
    """As of a gig a long while from now, before which a key is supposed to be visited."""
    later = BEGUN._replace(last_day=TODAY - 1)
    assert of(BEGUN).supposing(later, 160) == of(later).at(later, 160)
