"""What comes next: lost cards on their return, then what brings most for its time."""

from __future__ import annotations

from datetime import date
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.memory.breaks import Break
from drillbox.memory.candidates import Candidate, Sitting, candidate
from drillbox.memory.cards import CardState, untried
from drillbox.memory.choose import neighbours, next_card
from drillbox.memory.learning import Learned
from drillbox.memory.pace import Pace
from drillbox.memory.recall import MemoryState, Recall
from drillbox.memory.rules import Rules
from drillbox.memory.tempo import TempoState

DAY = date(2026, 6, 1)
TODAY = DAY.toordinal()
RULES = Rules(returns_a_day=1, return_gap=3, new_a_day=3, newest_at_end=0, minutes=20)
PACE = Pace()
KNOWN = Learned()
NO_RETURN = Rules(newest_at_end=0)


def due(card_id: int, phrase: int, position: int = 0, stability: float = 10.0, late: int = 0):
    """Return an open card that is due (late: so many days ago; negative: not yet)."""
    return Candidate(
        card_id, phrase, position, 10.0, 120, 120, stability, 5.0, TODAY - 10, TODAY - late, 2, 0, 2
    )


def new(card_id: int, phrase: int, position: int = 0):
    return Candidate(card_id, phrase, position, 10.0, 120, 72)


def after(card: Candidate, recall: Recall) -> Candidate:
    """Return the card as it stands after an attempt today."""
    return card._replace(stability=3.0, last_day=TODAY, due=TODAY + (recall > 1) * 2 + 1)


def play(
    cards: list[Candidate],
    ratings,
    rules: Rules = RULES,
    minutes: float = 20.0,
    learned: Learned = KNOWN,
    back: Break | None = None,
) -> list[int]:
    """Drill until the ratings or the cards end; 20 seconds each. Return the ids in order."""
    sitting, order, cards = Sitting(minutes, back=back), [], list(cards)
    for recall in ratings:
        chosen = next_card(cards, sitting, DAY, rules, PACE, learned)
        if chosen is None:
            break
        index = next(i for i, each in enumerate(cards) if each.card_id == chosen)
        sitting = sitting.rated(cards[index], recall, 20.0)
        cards[index] = after(cards[index], recall)
        order.append(chosen)
    return order


def test_nothing_to_drill():
    """No cards, no next card."""
    assert next_card([], Sitting(20), DAY, RULES, PACE) is None


def test_what_brings_most_comes_first():
    """The shorter of two equal cards comes first, and a half forgotten one before a sure one."""
    short, long = due(1, 1), due(2, 2)._replace(quarters=40.0)
    assert next_card([long, short], Sitting(20), DAY, RULES, PACE, Learned()) == 1
    cards = [due(3, 3), due(4, 4)._replace(recalled=400)]
    assert next_card(cards, Sitting(20), DAY, RULES, PACE) == 3


def test_the_session_ends_when_all_is_sure_and_nothing_due():
    """Cards remembered with more than 98 % are left alone, however many minutes are left."""
    sure = [due(each, each, late=-5)._replace(recalled=400) for each in range(1, 6)]
    known = Learned(base=3.0)
    assert play(sure, [Recall.CLEAN] * 9, learned=known) == []
    assert play([*sure, due(7, 7)], [Recall.CLEAN] * 9, learned=known) == [7]
    assert play(sure, [Recall.CLEAN] * 9, Rules(fresh=1.0, newest_at_end=0), learned=known)


def test_a_key_that_comes_easily_opens_first():
    """Of a phrase's keys the one that the player knows best comes first, else along the order."""
    cards = [new(each, 1, each)._replace(key=str(each)) for each in range(12)]
    assert next_card(cards, Sitting(20), DAY, RULES, PACE) == 0
    easy = Learned(keys={"5": 1.0})
    assert next_card(cards, Sitting(20), DAY, RULES, PACE, easy) == 5


def test_other_keys_of_a_phrase_played_today_are_worth_less():
    """After a card of one phrase, the same phrase's next key waits for a longer one of another."""
    cards = [
        due(1, 1),
        due(2, 1, 5),
        due(3, 2)._replace(quarters=24.0),
        due(4, 3)._replace(quarters=24.0),
    ]
    assert play(cards, [Recall.CLEAN] * 4)[:3] in ([1, 3, 4], [2, 3, 4], [1, 4, 3], [2, 4, 3])


def test_lost_card_returns_after_three_others():
    """A lost card comes back once, after exactly three others."""
    cards = [due(each, each) for each in range(1, 8)]
    order = play(cards, [Recall.LOST, *[Recall.CLEAN] * 20])
    assert order[4] == order[0]
    assert order.count(order[0]) == 2


def test_lost_card_returns_after_fewer_when_there_are_no_three():
    """With one other card it comes back after that, and alone at once."""
    assert play([due(1, 1), due(2, 2)], [Recall.LOST, *[Recall.CLEAN] * 9]) in (
        [1, 2, 1],
        [2, 1, 2],
    )
    assert play([due(1, 1)], [Recall.LOST, *[Recall.CLEAN] * 9]) == [1, 1]


@pytest.mark.parametrize("returns", [0, 1, 2, 3])
def test_returns_a_day(returns):
    """A card that stays lost comes back as often as set, and no more."""
    rules = Rules(returns_a_day=returns, returns_a_session=9, newest_at_end=0)
    assert play([due(1, 1)], [Recall.LOST] * 9, rules) == [1] * (returns + 1)


@pytest.mark.parametrize(("most", "order"), [(0, 3), (1, 4), (2, 5), (9, 6)])
def test_returns_a_session(most, order):
    """Three lost cards come back only as often as a session allows, the first lost first."""
    rules = Rules(returns_a_day=1, returns_a_session=most, newest_at_end=0)
    cards = [due(each, each) for each in (1, 2, 3)]
    played = play(cards, [Recall.LOST] * 9, rules)
    assert len(played) == order
    assert played[3:] == played[: order - 3]


def test_a_card_recalled_on_its_return_is_done():
    """A return that goes well ends it."""
    rules = Rules(returns_a_day=3, newest_at_end=0)
    assert play([due(1, 1)], [Recall.LOST, Recall.ROUGH], rules) == [1, 1]


def test_new_keys_a_day():
    """Three new cards open and no fourth, those opened earlier in the day counted."""
    cards = [new(each, each) for each in range(1, 9)]
    assert play(cards, [Recall.CLEAN] * 9) == [1, 2, 3]
    assert next_card(cards, Sitting(20, opened_before=2), DAY, RULES, PACE) == 1
    assert next_card(cards, Sitting(20, opened_before=3), DAY, RULES, PACE) is None


def test_no_new_keys_while_a_break_has_left_more_than_a_day():
    """61 cards of 20 s from before a break shut new keys out; 60 don't, nor does an old break."""
    easy = Learned(first=-3.0, phrases={99: 3.0})  # hardly known, and quickly learnt
    for count, back, opens in (
        (61, Break(TODAY - 3, 14), False),
        (60, Break(TODAY - 3, 14), True),
        (61, Break(TODAY - 14, 14), True),
        (61, None, True),
    ):
        cards = [*(due(each, each) for each in range(1, count + 1)), new(99, 99)]
        order = play(cards, [Recall.CLEAN] * 99, NO_RETURN, learned=easy, back=back)
        assert (99 in order) is opens
        assert len(order) == 60


def test_new_keys_in_a_long_session():
    """In an hour's session new keys still come when the 20 minutes a day are over."""
    sitting = Sitting(60, other_seconds=25 * 60)
    assert next_card([new(1, 1)], sitting, DAY, RULES, PACE, KNOWN) == 1


def test_after_weeks_off():
    """A month away: no new key comes, the minutes hold, and the phrases are mixed."""
    cards = [
        Candidate(
            12 * phrase + key,
            phrase,
            key,
            10.0,
            120,
            120,
            6.0,
            5.0,
            TODAY - 37,
            TODAY - 31,
            2,
            0,
            2,
        )
        for phrase in range(9)
        for key in range(11)
    ]
    cards += [new(12 * phrase + 11, phrase, 11) for phrase in range(9)]
    order = play(cards, [Recall.ROUGH] * 99, back=Break(TODAY, 36))
    assert len(order) == 60
    assert all(each % 12 < 11 for each in order)
    phrases = [each // 12 for each in order]
    assert all(one != other for one, other in pairwise(phrases))
    assert all(phrases.count(each) in {6, 7} for each in range(9))


def test_the_minutes_hold():
    """The sitting ends with its time: 3 minutes are 9 attempts of 20 s."""
    cards = [due(each, each) for each in range(1, 40)]
    assert len(play(cards, [Recall.CLEAN] * 99, minutes=3)) == 9


def test_a_card_that_hardly_fits_is_not_begun():
    """With 9 of its 20 seconds left a card isn't begun, with 11 it is."""
    for left, expected in ((9.0, None), (11.0, 1)):
        sitting = Sitting(1, other_seconds=60 - left)
        assert next_card([due(1, 1)], sitting, DAY, RULES, PACE) == expected


def test_phrases_are_mixed():
    """With two phrases of six keys no phrase comes twice running."""
    cards = [due(10 * phrase + key, phrase, key) for phrase in (1, 2) for key in range(6)]
    order = play(cards, [Recall.CLEAN] * 12)
    assert len(order) == 12
    assert all(one // 10 != other // 10 for one, other in pairwise(order))


def test_one_phrase_avoids_neighbouring_keys():
    """With one phrase only, the next key is no neighbour while another is left."""
    order = play([due(key, 1, key) for key in range(12)], [Recall.CLEAN] * 12)
    assert sorted(order) == list(range(12))
    near = [neighbours(*pair) for pair in pairwise(order)]
    assert sum(near[:8]) == 0


def test_neighbours():
    """The order of keys is a circle: the twelfth is next to the first."""
    assert neighbours(3, 4)
    assert neighbours(0, 11)
    assert not neighbours(3, 3)
    assert not neighbours(2, 7)


def test_skipped_cards_stay_away():
    """A skipped card isn't offered again in the sitting; the key behind a new one is."""
    cards = [new(1, 1, 0), new(2, 1, 1), due(3, 2)]
    sitting = Sitting(20).skip(3, 7.0).skip(1)
    assert next_card(cards, sitting, DAY, RULES, PACE) == 2
    sitting = sitting.skip(2)
    assert next_card(cards, sitting, DAY, RULES, PACE) is None
    assert sitting.left == 20 * 60 - 7.0


def test_undo_is_the_sitting_before():
    """Rating leaves the earlier sitting as it was: going back to it offers the same card."""
    cards = [due(each, each) for each in range(1, 6)]
    before = Sitting(20)
    first = next_card(cards, before, DAY, RULES, PACE)
    before.rated(cards[first - 1], Recall.LOST, 20.0)
    assert before == Sitting(20)
    assert next_card(cards, before, DAY, RULES, PACE) == first


def test_newest_card_once_more_at_the_end():
    """The card opened last is played again when nothing else is left, or the time is nearly up."""
    rules = Rules(returns_a_day=0, newest_at_end=1, fresh=1.0)
    cards = [new(1, 1), due(2, 2), due(3, 3, late=-5)]
    sure = Learned(phrases=dict.fromkeys(range(2, 50), 5.0))  # the new key is worth most
    order = play(cards, [Recall.CLEAN] * 9, rules, learned=sure)
    assert (sorted(order), order[-1]) == ([1, 1, 2, 3], 1)
    many = [new(1, 1), *(due(each, each, late=-5) for each in range(2, 50))]
    order = play(many, [Recall.CLEAN] * 99, rules, minutes=5, learned=sure)
    assert (order[0], order[-1]) == (1, 1)
    assert order.count(1) == 2


def test_candidate_from_a_state():
    """A card's state becomes the flat value, never attempted or attempted."""
    assert candidate(
        7, 3, 2, quarters=16, goal=200, state=untried(200, RULES), key="F"
    ) == Candidate(7, 3, 2, 16.0, 200, 120, key="F")
    state = CardState(MemoryState(4.0, 5.0, DAY), TempoState(130), 3, DAY, 5, 2, 1)
    assert candidate(7, 3, 2, quarters=16, goal=200, state=state, key="F") == Candidate(
        7, 3, 2, 16.0, 200, 130, 4.0, 5.0, TODAY, TODAY, 5, 2, 1, "F"
    )


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(1, 4), st.floats(0.1, 50), st.integers(-9, 9), st.booleans()),
        max_size=14,
    ),
    st.lists(st.sampled_from(list(Recall)), min_size=40, max_size=40),
    st.sampled_from([KNOWN, Learned(base=2.0, together=0.5)]),
)
def test_laws_of_a_sitting(facts, ratings, learned):
    """Any cards, any ratings: none comes more than its returns allow, and the order is the same
    each time and whatever order the cards are handed over in.
    """
    cards = [
        due(index, phrase, index % 12, stability, late)
        if opened
        else new(index, phrase, index % 12)
        for index, (phrase, stability, late, opened) in enumerate(facts)
    ]
    order = play(cards, ratings, learned=learned)
    assert order == play(cards[::-1], ratings, learned=learned)
    assert all(order.count(each) <= 2 for each in order)
    assert sum(not cards[each].opened for each in set(order)) <= 3
