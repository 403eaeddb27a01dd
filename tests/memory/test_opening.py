"""Keys open one after the other, the written one first, once those before them hold."""

from __future__ import annotations

from drillbox.memory.candidates import Candidate
from drillbox.memory.opening import first_try, openable
from drillbox.memory.rules import Rules

DAY = 740_000
RULES = Rules(hold_days=2.0)


def card(card_id: int, phrase: int, position: int, stability: float = 0.0, ago: int = 1):
    """Return a card; with a stability it is open and was played so many days ago."""
    if not stability:
        return Candidate(card_id, phrase, position, 16.0, 160, 96)
    return Candidate(card_id, phrase, position, 16.0, 160, 96, stability, 5.0, DAY - ago, DAY)


def ids(cards, rules=RULES):
    return [each.card_id for each in openable(cards, DAY, rules)]


def test_written_key_first_then_along_the_order():
    """The keys of a phrase come in its order, whatever order the cards come in."""
    assert ids([card(3, 1, 2), card(1, 1, 0), card(2, 1, 1)]) == [1, 2, 3]
    assert ids([card(3, 1, 2), card(1, 1, 0, 5.0), card(2, 1, 1)]) == [2, 3]


def test_latest_two_open_keys_must_hold():
    """A shaky key keeps the next one shut while it is among the latest two, and no longer."""
    shaky = [card(1, 1, 0, 9.0), card(2, 1, 1, 1.9), card(3, 1, 2)]
    assert ids(shaky) == []
    assert ids(shaky, Rules(hold_days=1.5)) == [3]
    assert ids(shaky, Rules(hold_days=0.0)) == [3]
    later = [*shaky[:2], card(3, 1, 2, 9.0), card(4, 1, 3, 9.0), card(5, 1, 4)]
    assert ids(later) == [5]


def test_new_phrases_first_then_the_likeliest_keys():
    """Phrases never played come in the order added, then those whose keys are kept best."""
    cards = [
        card(10, 1, 0, 5.0, ago=400),
        card(11, 1, 1),
        card(20, 2, 0, 5.0, ago=1),
        card(21, 2, 1),
        card(40, 4, 0),
        card(30, 3, 0),
    ]
    assert ids(cards) == [30, 40, 21, 11]


def test_nothing_left_to_open():
    """A phrase open in all its keys offers none."""
    assert ids([card(1, 1, 0, 5.0)]) == []


def test_first_try_grows_with_what_is_remembered():
    """The guess for a new key rises with what is remembered of its siblings and their number."""
    assert round(first_try([]), 4) == 0.4013
    assert first_try([0.2]) < first_try([]) < first_try([0.9]) < first_try([0.9, 0.9, 0.9])
    assert round(first_try([0.9]), 4) == 0.7427
