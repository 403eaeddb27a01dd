"""How likely a clean go is, is learnt from the latest cold goes, and stays sane with few."""

from __future__ import annotations

from collections import defaultdict
from math import exp, log
from random import Random
from statistics import mean

import pytest

from drillbox.memory import learning
from drillbox.memory.candidates import Candidate
from drillbox.memory.learning import (
    APART,
    EFFECT_PULL,
    LATEST,
    MISSED_SHARE,
    NEWEST,
    PRIOR,
    PULLS,
    UNLEARNT,
    Learned,
    Row,
    Seen,
    attempted,
    chance_of,
    fitted,
    learn,
    practised,
)
from drillbox.memory.leniency import Missed, Misses
from drillbox.memory.recall import Recall

WEIGHTS = ("base", "growth", "fading", "together", "first", "kept", "steep", "lent", "newest",
           "warmed")  # fmt: skip


def card(card_id: int, seen: list[Seen]) -> Candidate:
    """Return a card of phrase number // 12 as it stands after these goes."""
    own = [each for each in seen if each.card_id == card_id]
    clean = sum(each.clean for each in own)
    day = own[-1].day if own else 0
    return Candidate(card_id, card_id // 12, card_id % 12, 16.0, 160, 96, 1.0, 5.0, day, day,
                     clean, len(own) - clean, 0, key=str(card_id % 12))  # fmt: skip


def cards(seen: list[Seen]) -> list[Candidate]:
    return [card(card_id, seen) for card_id in {each.card_id for each in seen}]


def player(truth: Learned, goes: int = 1500, phrases: int = 10) -> list[Seen]:
    """Return the cold goes of a player whose clean goes follow these weights."""
    dice = Random(3)
    seen: list[Seen] = []
    last: dict[int, tuple[int, bool]] = {}
    counts: dict[int, list[int]] = defaultdict(lambda: [0, 0])
    of_phrase: dict[int, set[int]] = defaultdict(set)
    while len(seen) < goes:
        card_id, day = dice.randrange(12 * phrases), len(seen) // 25 + 1
        if last.get(card_id, (0, False))[0] == day:
            continue
        phrase = card_id // 12
        apart = day - max((each for each in of_phrase[phrase] if each < day), default=-99)
        before, kept = last.get(card_id, (0, False))
        stand = Candidate(card_id, phrase, 0, 16.0, 160, 96, last_day=before,
                          clean=counts[card_id][0], missed=counts[card_id][1], run=int(kept),
                          key=str(card_id % 12))  # fmt: skip
        tempo = dice.randrange(80, 113)
        warmed = truth.warmed if day in of_phrase[phrase] else 0.0
        chance = truth.at(truth.odds(stand, day, apart) + warmed, 96, tempo)
        clean = dice.random() < chance
        seen.append(go(card_id, day, clean, tempo, 96))
        counts[card_id][not clean] += 1
        last[card_id] = day, clean
        of_phrase[phrase].add(day)
    return seen


def test_weights_of_a_player_are_found_again(monkeypatch):
    """Goes drawn from known weights give these weights back, to what 6,000 can tell."""
    phrases = {number: (number - 4.5) / 5 for number in range(10)}
    keys = {str(number): (number - 5.5) / 6 for number in range(12)}
    truth = Learned(-0.5, 0.9, 0.8, 0.3, -0.4, 0.6, 1.2, 0.3, 0.0, 0.9, phrases, keys)
    seen = player(truth, 6000)
    monkeypatch.setattr(learning, "LATEST", 6000)
    learned = learn(seen, cards(seen))
    for name in {*WEIGHTS} - {"base", "lent", "newest"}:
        assert getattr(learned, name) == pytest.approx(getattr(truth, name), abs=0.45), name
    for number in range(10):
        assert learned.phrases[number] == pytest.approx(phrases[number], abs=0.45)
    for name, effect in keys.items():
        assert learned.keys[name] == pytest.approx(effect, abs=0.45)


def columns(row: Row, newest: bool) -> list[float]:
    """Return what each weight is multiplied by, written out anew."""
    first = row.days == 0
    return [1.0, 0 if first else log(1 + row.practice), 0 if first else -log(row.days),
            -log(min(APART, max(1, row.apart))), first, row.kept, 10 * row.room,
            10 * row.ahead * first, newest, row.warmed]  # fmt: skip


def test_fit_is_where_the_penalised_likelihood_has_no_slope():
    """The slope in each weight and effect, written out here, is nothing at what was found."""
    seen = player(Learned(-0.5, 0.9, 0.6, 0.2, -0.6, 0.4, 0.9))
    stand = cards(seen)
    learned = learn(seen, stand)
    weights = [getattr(learned, name) for name in WEIGHTS]
    slope = [pull * (prior - found)
             for pull, prior, found in zip(PULLS, PRIOR, weights, strict=True)]  # fmt: skip
    phrases = {each: -EFFECT_PULL * effect for each, effect in learned.phrases.items()}
    keys = {each: -EFFECT_PULL * effect for each, effect in learned.keys.items()}
    rows = attempted(seen, stand)
    for place, row in enumerate(rows):
        values = columns(row, place >= len(rows) - NEWEST)
        odds = sum(weight * each for weight, each in zip(weights, values, strict=True))
        odds += learned.phrases[row.phrase_id] + learned.keys[row.key]
        error = row.clean - 1 / (1 + exp(-odds))
        slope = [each + error * column for each, column in zip(slope, values, strict=True)]
        phrases[row.phrase_id] += error
        keys[row.key] += error
    assert max(map(abs, [*slope, *phrases.values(), *keys.values()])) < 1e-2


def go(card_id: int, day: int, clean: bool, tempo: int = 100, reached: int = 100) -> Seen:
    return Seen(card_id, day, Recall.CLEAN if clean else Recall.ROUGH, tempo, reached)


def test_what_stood_behind_a_go():
    """Counts before it, days since the card and since its phrase, the day before, tempos, and
    whether another key of the phrase came earlier that day."""
    seen = [go(0, 10, True), go(1, 12, False), go(0, 15, False, 80), go(1, 15, True, 100, 125),
            go(12, 55, True), go(2, 56, True, 90, 90)]  # fmt: skip
    found = attempted(seen, cards(seen))
    ahead = (log(100) + log(125)) / 2 - log(90)
    assert found == [
        Row(0, "0", 0.0, 0, 40, False, 0.0, 0.0, False, True),
        Row(0, "1", 0.0, 0, 2, False, 0.0, 0.0, False, False),
        Row(0, "0", 1.0, 5, 3, True, log(100 / 80), 0.0, False, False),
        Row(0, "1", MISSED_SHARE, 3, 3, False, log(125 / 100), 0.0, True, True),
        Row(1, "0", 0.0, 0, 85, False, 0.0, 0.0, False, True),
        Row(0, "2", 0.0, 0, 41, False, 0.0, pytest.approx(ahead), False, True),
    ]


def test_what_came_before_the_latest_goes_counts():
    """A card's earlier days are in its counts; when it was played then isn't known, so that its
    first go among the latest only tells when the next came.
    """
    seen = [go(0, 50, True), go(0, 57, False)]
    before = card(0, seen)._replace(clean=5, missed=3)
    practice = 5 + 2 * MISSED_SHARE
    assert attempted(seen, [before]) == [Row(0, "0", practice, 7, 7, True, 0.0, 0.0, False, False)]


def test_misses_without_end_are_no_practice():
    """A miss counts a little, as long as there are no more than five and two for each clean go."""
    assert practised(3, 2) == 3 + 2 * MISSED_SHARE
    assert practised(0, 5) == practised(0, 100) == 5 * MISSED_SHARE
    assert practised(3, 11) == practised(3, 12) == 3 + 11 * MISSED_SHARE
    card = Candidate(1, 1, 0, 16.0, 200, 100, last_day=10, clean=1, missed=7)
    assert UNLEARNT.odds(card, 11, 1) == UNLEARNT.odds(card._replace(missed=70), 11, 1)


def test_goes_at_cards_that_are_gone_are_left_out():
    """A retired phrase's cards aren't among the candidates."""
    seen = [go(0, 1, True), go(99, 1, True), go(0, 3, True)]
    assert len(attempted(seen, [card(0, seen)])) == 2


def test_the_first_days_count():
    """Who has lost twelve days running isn't told that the next will probably come out clean, nor
    is who was clean on twelve told the contrary."""
    for clean in (False, True):
        few = [go(1, day, clean) for day in range(1, 13)]
        now = card(1, few)
        odds = [each.odds(now, 13, now.tempo) for each in (learn(few, cards(few)), UNLEARNT)]
        assert (odds[0] > odds[1]) is clean
        assert (odds[0] > 0) is clean


def test_nothing_seen_is_the_prior():
    """Without goes, and with eleven, the assumed weights stand."""
    assert learn([], []) is UNLEARNT
    few = [go(1, day, True) for day in range(1, 12)]
    assert learn(few, cards(few)) is UNLEARNT
    assert fitted([]) is UNLEARNT
    assert [getattr(UNLEARNT, name) for name in WEIGHTS] == list(PRIOR)


def test_that_a_phrase_is_warmed_up_takes_many_goes_to_tell():
    """Its prior is strong: of what 6,000 goes find again, 400 tell less than half."""
    seen = player(Learned(-0.5, 0.9, 0.8, 0.3, -0.4, 0.6, 1.2, 0.3, 0.0, 0.9), 400)
    assert 0.2 < learn(seen, cards(seen)).warmed < 0.45


def test_a_phrase_that_is_ahead_never_harms_a_first_try():
    """Where such tries went worse than others, that its keys are ahead counts for nothing."""
    seen = []
    for number in range(60):
        phrase, day, ahead = 12 * number, 3 * number + 1, number % 2
        reached = 60 + 60 * ahead
        seen += [go(phrase, day, True, 60, 60), go(phrase, day + 1, True, reached, reached),
                 go(phrase + 1, day + 2, not ahead, 60, 60)]  # fmt: skip
    assert learn(seen, cards(seen)).lent == 0


def test_how_it_goes_just_now_counts_by_itself():
    """Where the newest goes went worse than the many before, the next one is expected to."""
    seen = player(Learned(base=1.5))
    worse = [each._replace(recall=Recall.ROUGH) for each in seen[-NEWEST:]]
    stand = cards(seen)
    as_ever, now = learn(seen, stand), learn(seen[:-NEWEST] + worse, stand)
    assert now.newest < -0.5 < as_ever.newest
    before, after = (
        mean(each.at(each.odds(card, 70, 5), 96, 96) for card in stand) for each in (as_ever, now)
    )
    assert after < before - 0.2


@pytest.mark.parametrize("clean", [True, False])
def test_extremes_keep_the_weights_sane(clean):
    """Never or always clean: practice still helps, time and tempo still harm."""
    seen = [go(number % 40, number // 20 + 1, clean, 90 + number % 20) for number in range(1500)]
    learned = learn(seen, cards(seen))
    assert learned.growth >= 0.1
    assert learned.fading >= 0.05
    assert learned.steep >= 0.8
    stand = card(3, seen)
    odds = learned.odds(stand, stand.last_day + 10, 5)
    assert 0 < learned.at(odds, 96, 100) < 1
    assert learned.at(odds, 96, 120) < learned.at(odds, 96, 90)


def test_for_a_lenient_player_fluent_goes_alone_count_as_clean():
    """Chances are of goes that others would call clean; practice is counted as the cards do."""
    said = [Recall.LOST, Recall.CLEAN, Recall.FLUENT, Recall.CLEAN, Recall.FLUENT]
    seen = [Seen(each % 24, 1 + each // 24, said[each % 5], 100, 100) for each in range(480)]
    stand = cards(seen)
    kind = Misses(*[Missed(30, 30)] * 3)
    exact, lenient = learn(seen, stand), learn(seen, stand, kind)
    assert not exact.lenient
    assert lenient.lenient
    for each in stand:
        chances = [who.at(who.odds(each, 40, 5), 100, 100) for who in (exact, lenient)]
        assert chances[1] < chances[0] - 0.1
    rows, strict = attempted(seen, stand), attempted(seen, stand, lenient=True)
    assert [row[:-1] for row in rows] == [row[:-1] for row in strict]
    assert [row.clean for row in strict] == [False, False, True, False, True] * 96


def test_old_goes_are_left_out():
    """Only the latest goes count, however long the log is."""
    old = [go(7, day + 1, False) for day in range(300)]
    new = [go(number % 50, 400 + number // 25, number % 3 > 0) for number in range(LATEST)]
    stand = cards(new)
    one, other = learn(old + new, stand), learn(new, stand)
    assert [getattr(one, name) for name in WEIGHTS] == [getattr(other, name) for name in WEIGHTS]


def test_very_first_goes_of_long_ago_say_how_the_next_will_go():
    """New keys that never come out at first aren't promised to, once none has come for long; nor
    are they played slower for it than one that has begun."""
    tries = [go(number, 1 + number, False) for number in range(40)]
    later = [go(number % 40, 100 + number // 25, number % 3 > 0) for number in range(LATEST)]
    stand = cards(tries + later)
    new = card(47, [])
    told, untold = learn(later, stand, earlier=tries), learn(later, stand)
    chance, guess = (chance_of(each.odds(new, 200, 5)) for each in (told, untold))
    assert chance < 0.1
    assert guess > 0.4
    assert told.unfound > 2 > untold.unfound == 0
    known = [chance_of(each.odds(stand[0], 200, 5)) for each in (told, untold)]
    assert known[0] == pytest.approx(known[1], abs=0.03)


def test_of_very_first_goes_the_latest_count():
    """Three hundred of them, each as if another key of its phrase had come before it that day."""
    tries = [go(number, 1 + number, number % 3 > 0) for number in range(302)]
    later = [go(number % 40, 400 + number // 25, number % 3 > 0) for number in range(60)]
    stand = cards(tries + later)
    most, least, fewer = (
        learn(later, stand, earlier=some) for some in (tries, tries[2:], tries[3:])
    )
    assert [getattr(most, name) for name in WEIGHTS] == [getattr(least, name) for name in WEIGHTS]
    assert most.first != fewer.first
    row = Row(0, "0", 0.0, 0, 1, False, 0.0, 0.0, True, False)
    assert fitted([row] * 12).warmed == learn([], stand, earlier=tries[:1] * 12).warmed < 0


def test_very_first_goes_are_told_apart_by_few():
    """A few dozen are enough to tell: little is taken for granted of them."""
    seen = [go(number, 1 + number // 4, False) for number in range(40)]
    seen += [go(number, 20 + number // 4, True) for number in range(40)]
    said = learn(seen, cards(seen))
    assert chance_of(said.odds(card(47, []), 40, 5)) < 0.1
    assert chance_of(said.odds(card(7, seen), 40, 5)) > 0.5


def test_the_tempo_for_a_chance_has_that_chance():
    """Turning the chance into a tempo and back changes nothing."""
    for wanted in (0.2, 0.55, 0.9):
        tempo = UNLEARNT.tempo_for(0.4, 100, wanted)
        odds = 0.4 + 10 * UNLEARNT.steep * log(100 / tempo)
        assert 1 / (1 + exp(-odds)) == pytest.approx(wanted)
