"""A card's worth is the recall that an attempt brings for its time."""

from __future__ import annotations

from dataclasses import replace
from math import e, log

import pytest

from drillbox.memory.candidates import Candidate
from drillbox.memory.learning import Learned
from drillbox.memory.pace import Pace
from drillbox.memory.rules import Rules
from drillbox.memory.worth import Worth, worth_today

TODAY = 740_000
RULES = Rules(loops=2, overhead_seconds=10)
# 20 s when recalled; two days recalled, none lost, four days ago
CARD = Candidate(1, 1, 0, 10.0, 120, 120, 1.0, 5.0, TODAY - 4, TODAY, 2, 0, 2, "C")
NEW = Candidate(1, 1, 0, 10.0, 120, 120, key="C")
KNOWN = Learned(base=0.0, growth=1.0, fading=1.0, together=0.0, first=log(1 / 9), kept=0.0)


def worth(learned: Learned, card: Candidate = CARD, apart: int = 30) -> float:
    return Worth(learned, TODAY, RULES, Pace()).of(card, apart)


def test_worth_by_hand():
    """Gain in recall after three days over seconds to the .7, a lost attempt taking double."""
    now = 3 / 7  # odds 3 / 4
    gain = now * 4 / 7 + (1 - now) * 3.1 / 6.1 - 3 / 10  # odds 4/3, 3.1/3, 3/7
    assert worth(KNOWN) == pytest.approx(gain / (20 * (2 - now)) ** 0.7)


def test_new_card_by_hand():
    """A new card's first try has odds of 1 to 9 here, and practice begins from nothing."""
    gain = 0.1 * 2 / 5 + 0.9 * 1.1 / 4.1 - 0.1
    assert worth(KNOWN, NEW) == pytest.approx(gain / (20 * 1.9) ** 0.7)


def test_what_a_lost_attempt_leaves():
    """A card that was lost last is less likely to be recalled, and so are its chances now."""
    learned = replace(KNOWN, kept=1.0)
    now = 3 * e / (3 * e + 4)
    gain = now * 4 * e / (4 * e + 3) + (1 - now) * 3.1 / 6.1 - 3 * e / (3 * e + 7)
    assert worth(learned) == pytest.approx(gain / (20 * (2 - now)) ** 0.7)
    assert worth(learned, CARD._replace(run=0)) != worth(learned)


def test_other_keys_lately_played_help():
    """With ``together`` 1, a phrase touched today is recalled with ten times the odds."""
    learned = replace(KNOWN, together=1.0)
    now, left = 3 / 7, 3 / 4 / 7  # apart 1 day now, 4 days three days later
    after = 4 / 3 / 4
    lost = 3.1 / 3 / 4
    gain = now * after / (1 + after) + (1 - now) * lost / (1 + lost) - left / (1 + left)
    assert worth(learned, apart=1) == pytest.approx(gain / (20 * (2 - now)) ** 0.7)


def test_an_easy_key_or_phrase_shows():
    """What sets a phrase or a key apart is added to the log-odds."""
    easier = replace(KNOWN, base=0.5)
    assert worth(replace(KNOWN, phrases={1: 0.2}, keys={"C": 0.3})) == pytest.approx(worth(easier))
    assert worth(replace(KNOWN, phrases={2: 0.2}, keys={"F": 0.3})) == worth(KNOWN)


def test_long_phrases_are_worth_less():
    """Time counts against a card."""
    assert worth(KNOWN, CARD._replace(quarters=40.0)) < worth(KNOWN)


def test_what_is_surely_remembered_is_left_alone_until_it_is_due():
    """Over 98 % it is worth nothing; a card that is due is played all the same."""
    sure = CARD._replace(recalled=400, due=TODAY + 1)  # odds 401 / 4
    assert worth(KNOWN, sure) == 0
    assert worth(KNOWN, sure._replace(due=TODAY)) > 0
    assert worth(KNOWN, sure._replace(recalled=190)) > 0  # odds 191 / 4


def test_worth_is_never_nothing():
    """Even a card whose recall can't rise is worth something: it is played before none."""
    assert worth(Learned(base=20.0)) > 0  # due, though surely remembered


def test_one_day_one_object():
    """While nothing but the cards changes, what was computed is kept; another day begins anew."""
    learned = Learned()
    one = worth_today(learned, TODAY, RULES, Pace())
    assert worth_today(learned, TODAY, RULES, Pace()) is one
    assert worth_today(learned, TODAY + 1, RULES, Pace()) is not one
    assert worth_today(Learned(), TODAY, RULES, Pace()) is not one
