"""A card's worth is the recall that an attempt brings for its time."""

from __future__ import annotations

import pytest

from drillbox.memory.candidates import Candidate
from drillbox.memory.learning import Learned
from drillbox.memory.pace import Pace
from drillbox.memory.rules import Rules
from drillbox.memory.worth import Worth, practice, worth_today

TODAY = 740_000
RULES = Rules(loops=2, overhead_seconds=10)
CARD = Candidate(1, 1, 0, 10.0, 120, 120, 1.0, 5.0, TODAY - 4, TODAY)  # 20 s when recalled


def worth(learned: Learned, card: Candidate = CARD) -> float:
    return Worth(learned, TODAY, RULES, Pace()).of(card)


def test_worth_by_hand():
    """Two recalled, none lost, four days ago: gain after five days over seconds to the .6."""
    learned = Learned(base=0.0, growth=1.0, fading=1.0, counts={1: (2, 0)})
    now = 3 / 7  # odds 3 / 4
    gain = now * 4 / 9 + (1 - now) * 3.2 / 8.2 - 3 / 12  # odds 4/5, 3.2/5, 3/9
    assert worth(learned) == pytest.approx(gain / (20 * (2 - now)) ** 0.6)


def test_new_card_by_hand():
    """A new card's first try succeeds as first tries do, and begins from nothing."""
    learned = Learned(base=0.0, growth=1.0, fading=1.0, first=0.1)
    new = CARD._replace(stability=0.0, difficulty=0.0, last_day=0, due=0)
    gain = 0.1 * 2 / 7 + 0.9 * 1.2 / 6.2 - 0.1
    assert worth(learned, new) == pytest.approx(gain / (20 * 1.9) ** 0.6)


def test_long_phrases_and_sure_cards_are_worth_less():
    """Time counts against a card, and so does being remembered anyway."""
    learned = Learned(counts={1: (2, 1)})
    assert worth(learned, CARD._replace(quarters=40.0)) < worth(learned)
    sure = Learned(counts={1: (60, 0)})
    assert worth(sure, CARD._replace(last_day=TODAY - 1)) < worth(sure)


def test_practice_is_counted_or_read_from_stability():
    """Latest attempts count, a lost one a fifth; a stable card has at least what made it so."""
    assert practice(CARD, Learned(counts={1: (3, 5)})) == pytest.approx(4.0)
    stable = CARD._replace(stability=36.1)  # FSRS-6 after three clean attempts on their days
    assert practice(stable, Learned()) == pytest.approx(3.2)
    assert practice(stable, Learned(counts={1: (9, 0)})) == 9
    assert practice(CARD, Learned()) == 0


def test_worth_is_never_nothing():
    """Even a card whose recall can't rise is worth something: it is played before none."""
    assert worth(Learned(base=20.0)) > 0


def test_one_day_one_object():
    """While nothing but the cards changes, what was computed is kept; another day begins anew."""
    learned = Learned()
    one = worth_today(learned, TODAY, RULES, Pace())
    assert worth_today(learned, TODAY, RULES, Pace()) is one
    assert worth_today(learned, TODAY + 1, RULES, Pace()) is not one
    assert worth_today(Learned(), TODAY, RULES, Pace()) is not one
