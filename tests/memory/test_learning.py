"""How recall grows and fades is learnt from the latest attempts, and stays sane with few."""

from __future__ import annotations

from collections import defaultdict
from math import exp, log
from random import Random

import numpy as np
import pytest

from drillbox.memory import learning
from drillbox.memory.candidates import Candidate
from drillbox.memory.learning import (
    EFFECT_PULL,
    LATEST,
    LOST_SHARE,
    PRIOR,
    PULL,
    UNLEARNT,
    Learned,
    Row,
    Seen,
    attempted,
    learn,
)

WEIGHTS = ("base", "growth", "fading", "together", "first", "kept")


def card(card_id: int, seen: list[Seen]) -> Candidate:
    """Return a card of phrase number // 12 as it stands after these attempts."""
    own = [each for each in seen if each.card_id == card_id]
    recalled = sum(each.recalled for each in own)
    days = own[-1].day if own else 0
    return Candidate(card_id, card_id // 12, card_id % 12, 16.0, 160, 96, 1.0, 5.0, days, days,
                     recalled, len(own) - recalled, 0, str(card_id % 12))  # fmt: skip


def cards(seen: list[Seen]) -> list[Candidate]:
    return [card(card_id, seen) for card_id in {each.card_id for each in seen}]


def player(truth: Learned, attempts: int = 1500, phrases: int = 10) -> list[Seen]:
    """Return the first attempts of days of a player whose recall follows these weights."""
    dice = Random(3)
    seen: list[Seen] = []
    last: dict[int, tuple[int, bool]] = {}
    counts: dict[int, list[int]] = defaultdict(lambda: [0, 0])
    while len(seen) < attempts:
        card_id, day = dice.randrange(12 * phrases), len(seen) // 25 + 1
        if last.get(card_id, (0, False))[0] == day:
            continue
        others = [last[each][0] for each in range(card_id // 12 * 12, card_id // 12 * 12 + 12)
                  if each in last and each != card_id]  # fmt: skip
        apart = day - max(others, default=-99)
        ease = truth.ease(card_id // 12, str(card_id % 12))
        if card_id in last:
            before, kept = last[card_id]
            good, lost = counts[card_id]
            practice = good + LOST_SHARE * lost
            chance = truth.recall(ease, practice, day - before, apart, kept=kept)
        else:
            chance = truth.first_try(ease, apart)
        recalled = dice.random() < chance
        seen.append(Seen(card_id, day, recalled))
        counts[card_id][not recalled] += 1
        last[card_id] = day, recalled
    return seen


def test_weights_of_a_player_are_found_again(monkeypatch):
    """Attempts drawn from known weights give these weights back, to what 6,000 can tell."""
    phrases = {number: (number - 4.5) / 5 for number in range(10)}
    keys = {str(number): (number - 5.5) / 6 for number in range(12)}
    truth = Learned(-0.5, 1.5, 1.0, 0.3, -0.5, 0.6, phrases, keys)
    seen = player(truth, 6000)
    monkeypatch.setattr(learning, "LATEST", 6000)
    learned = learn(seen, cards(seen))
    for name in WEIGHTS[1:]:
        assert getattr(learned, name) == pytest.approx(getattr(truth, name), abs=0.45), name
    for number in range(10):
        assert learned.phrases[number] == pytest.approx(phrases[number], abs=0.45)
    for name, effect in keys.items():
        assert learned.keys[name] == pytest.approx(effect, abs=0.45)


def test_fit_is_where_the_penalised_likelihood_has_no_slope():
    """The slope in each weight and effect, written out here, is nothing at what was found."""
    seen = player(Learned(-0.5, 1.5, 0.6, 0.2, -0.6, 0.4))
    stand = cards(seen)
    learned = learn(seen, stand)
    weights = [getattr(learned, name) for name in WEIGHTS]
    slope = [-PULL * (found - prior) for found, prior in zip(weights, PRIOR, strict=True)]
    phrases = {each: -EFFECT_PULL * effect for each, effect in learned.phrases.items()}
    keys = {each: -EFFECT_PULL * effect for each, effect in learned.keys.items()}
    for row in attempted(seen, stand):
        columns = [1.0, log(1 + row.practice), -log(max(1, row.days)),
                   -log(min(30, max(1, row.apart))), row.days == 0, row.kept]  # fmt: skip
        odds = sum(weight * each for weight, each in zip(weights, columns, strict=True))
        odds += learned.phrases[row.phrase_id] + learned.keys[row.key]
        error = row.recalled - 1 / (1 + exp(-odds))
        slope = [each + error * column for each, column in zip(slope, columns, strict=True)]
        phrases[row.phrase_id] += error
        keys[row.key] += error
    assert max(map(abs, [*slope, *phrases.values(), *keys.values()])) < 1e-2


def test_what_stood_behind_an_attempt():
    """Counts before it, days since the card and since another key, and the outcome before."""
    seen = [Seen(0, 10, True), Seen(1, 12, False), Seen(0, 15, False), Seen(0, 15 + 40, True),
            Seen(12, 55, True), Seen(1, 56, True)]  # fmt: skip
    assert attempted(seen, cards(seen)) == [
        Row(0, "0", 0.0, 0, 40, False, True),
        Row(0, "1", 0.0, 0, 2, False, False),
        Row(0, "0", 1.0, 5, 3, True, False),
        Row(0, "0", 1.0 + LOST_SHARE, 40, 43, False, True),
        Row(1, "0", 0.0, 0, 85, False, True),
        Row(0, "1", LOST_SHARE, 44, 1, False, True),
    ]


def test_what_came_before_the_latest_attempts_counts():
    """A card's earlier days are in its counts; when it was played then isn't known, so that its
    first attempt among the latest only tells when the next came.
    """
    seen = [Seen(0, 50, True), Seen(0, 57, False)]
    before = card(0, seen)._replace(recalled=5, lost=3)
    assert attempted(seen, [before]) == [Row(0, "0", 5 + 2 * LOST_SHARE, 7, 87, True, False)]


def test_attempts_at_cards_that_are_gone_are_left_out():
    """A retired phrase's cards aren't among the candidates."""
    seen = [Seen(0, 1, True), Seen(99, 1, True), Seen(0, 3, True)]
    assert len(attempted(seen, [card(0, seen)])) == 2


def test_nothing_seen_is_the_prior():
    """Without attempts, and with a handful, the assumed weights stand."""
    assert learn([], []) is UNLEARNT
    few = [Seen(1, day, True) for day in range(5)]
    assert learn(few, cards(few)) is UNLEARNT
    assert [getattr(UNLEARNT, name) for name in WEIGHTS] == list(PRIOR)


@pytest.mark.parametrize("recalled", [True, False])
def test_extremes_keep_the_weights_sane(recalled):
    """All lost or all recalled: practice still helps and time still harms."""
    seen = [Seen(number % 40, number // 20 + 1, recalled) for number in range(1500)]
    learned = learn(seen, cards(seen))
    assert learned.growth >= 0.3
    assert learned.fading >= 0.1
    assert 0 < learned.recall(learned.base, 3, 10, 5, kept=True) < 1


def test_old_attempts_are_left_out():
    """Only the latest attempts count, however long the log is."""
    old = [Seen(7, day + 1, False) for day in range(300)]
    new = [Seen(number % 50, 400 + number // 25, number % 3 > 0) for number in range(LATEST)]
    stand = cards(new)
    one, other = learn(old + new, stand), learn(new, stand)
    assert [getattr(one, name) for name in WEIGHTS] == [getattr(other, name) for name in WEIGHTS]


def test_recall_falls_with_time_and_rises_with_practice():
    """The odds multiply as stated: a day later e^(-1 + .3) · 4^1.3 after three recalled."""
    chance = UNLEARNT.recall(-1.0, 3, 1, 5, kept=True)
    assert chance / (1 - chance) == pytest.approx(np.exp(-0.7) * 4**1.3)
    later = UNLEARNT.recall(-1.0, 3, 10, 5, kept=True)
    assert later < chance < UNLEARNT.recall(-1.0, 4, 1, 5, kept=True)
    assert UNLEARNT.recall(-1.0, 3, 0, 5, kept=True) == chance
    assert UNLEARNT.recall(-1.0, 3, 1, 5, kept=False) < chance
