"""The next go: how a visit goes on, which key comes next, and when the sitting is over."""

from __future__ import annotations

from datetime import date

import pytest

from drillbox.memory.candidates import Candidate, Pace, Sitting
from drillbox.memory.chances import Chances
from drillbox.memory.choose import Go, next_go
from drillbox.memory.learning import UNLEARNT, Learned
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules

TODAY = date(2026, 6, 1).toordinal()
RULES = Rules(repeat_newest=0)
SURE = Learned(base=4.0)  # somebody to whom nearly all comes out
CLEAN, ROUGH, LOST = Recall.CLEAN, Recall.ROUGH, Recall.LOST


def card(card_id: int, phrase: int, position: int = 0, tempo: int = 120, **more) -> Candidate:
    """Return a begun card of goal 120 that is due in ten days, last played a week ago."""
    facts = {"stability": 20.0, "difficulty": 5.0, "last_day": TODAY - 7, "due": TODAY + 10,
             "clean": 5, "missed": 1, "run": 2, "stride": 2, "key": str(position)}  # fmt: skip
    return Candidate(card_id, phrase, position, 8.0, 120, tempo, **(facts | more))


def new(card_id: int, phrase: int, position: int = 0) -> Candidate:
    return Candidate(card_id, phrase, position, 8.0, 120, 72, stride=2, key=str(position))


class Session:
    """A sitting at these cards; a rating moves a card's tempo no further than the test says."""

    def __init__(self, *cards: Candidate, learned: Learned = UNLEARNT, rules: Rules = RULES):
        self.cards, self.rules = {each.card_id: each for each in cards}, rules
        self.chances = Chances(learned, cards, TODAY, rules)
        self.sitting = Sitting(20)

    def go(self) -> Go | None:
        return next_go(list(self.cards.values()), self.sitting, self.rules, Pace(), self.chances)

    def nearly_over(self) -> None:
        """Let the time go by until fifteen seconds are left."""
        self.sitting = Sitting(20, done=self.sitting.done, used=20 * 60 - 15)

    def rate(self, recall: Recall, tempo: int | None = None) -> Go | None:
        """Rate the go that is due, put its card at a tempo, and return the go after it."""
        go = self.go()
        before = self.cards[go.card_id]
        self.sitting = self.sitting.rated(before, go.tempo, recall, 20.0)
        first = before.last_day != TODAY
        self.cards[go.card_id] = before._replace(
            tempo=tempo or before.tempo, last_day=TODAY, due=TODAY + 5,
            clean=before.clean + (first and recall >= CLEAN),
            missed=before.missed + (first and recall < CLEAN),
        )  # fmt: skip
        return self.go()


def test_a_visit_is_one_go():
    """Below the goal, too: the next visit to a key that hasn't mostly come out clean comes later
    in the sitting, at the tempo reached, and before a key that is new; a third one after it."""
    session = Session(
        card(1, 1, tempo=80, missed=6), card(2, 2, 1, tempo=70, missed=6), new(3, 1, 2)
    )
    first = session.go().card_id
    other = 3 - first
    assert session.rate(CLEAN, 84).card_id == other
    assert session.rate(CLEAN, 84) == Go(first, 84)
    assert session.rate(CLEAN, 88) == Go(other, 84)
    assert session.rate(CLEAN, 88).card_id == 3


def test_a_phrase_is_warmed_up_by_its_other_keys():
    """Its first go of the day is the slowest: the other keys come easier after it, whether it was
    played in this sitting or in one before."""
    learned = Learned(base=-3.0, warmed=0.8)
    keys = card(1, 1, 0), card(2, 1, 1)
    session = Session(*keys, learned=learned)
    first = session.go()
    second = session.rate(CLEAN)
    assert first.card_id != second.card_id
    assert second.tempo == session.chances.cold(session.cards[second.card_id], warmed=True)
    assert second.tempo > first.tempo
    later = Session(session.cards[first.card_id], keys[second.card_id - 1], learned=learned)
    assert later.go() == second


def test_what_mostly_comes_out_clean_is_left_for_tomorrow():
    """A key whose days, today among them, began clean two times more often than not has one visit
    before a key that is new; others have two."""
    sure = card(1, 1, tempo=80, missed=4)
    unsure = card(2, 2, 1, tempo=70, missed=5), card(3, 3, 2, tempo=70, missed=5)
    session = Session(sure, *unsure, new(4, 1, 3))
    order = [session.go().card_id, *(session.rate(CLEAN, 84).card_id for _ in range(5))]
    assert sorted(order[:3]) == [1, 2, 3]
    assert sorted(order[3:5]) == [2, 3]
    assert order[5] == 4


def test_a_visit_may_have_more_goes():
    """A setting: a rung below what was lost, no faster than what was rough, till one is clean."""
    three = Rules(goes=3, repeat_newest=0)
    session = Session(card(1, 1, tempo=80), card(2, 2, tempo=60), rules=three)
    first, tempo = session.go()
    assert session.rate(LOST, 76) == Go(first, tempo - 6)
    assert session.rate(ROUGH, 76) == Go(first, tempo - 6)
    assert session.rate(ROUGH, 76).card_id == 3 - first
    session = Session(card(1, 1, tempo=80), card(2, 2, tempo=60), rules=three)
    assert session.rate(LOST, 76).card_id == first
    assert session.rate(CLEAN, 80).card_id == 3 - first


def test_what_didnt_stay_comes_first_the_latest_before_all():
    """Keys missed last, due or not, and due ones below the goal, whatever else is due; of them what
    was played yesterday before what was left alone for long: a few are learnt before the many."""
    session = Session(
        card(1, 1, due=TODAY, last_day=TODAY - 30),
        card(2, 2, tempo=60, due=TODAY - 8, last_day=TODAY - 9),
        card(3, 3, tempo=60, due=TODAY, last_day=TODAY - 1),
        card(4, 4, due=TODAY, last_day=TODAY - 2, run=0),
        card(5, 5, tempo=60, due=TODAY + 1, last_day=TODAY - 1),
        card(6, 6, due=TODAY + 90, last_day=TODAY - 4, run=0),
    )
    order = [session.go().card_id]
    while len(order) < 4:
        order.append(session.rate(CLEAN).card_id)
    assert order == [3, 4, 6, 2]


def test_of_keys_missed_on_one_day_the_nearest_its_goal_comes_first():
    far, near = (card(number, number, tempo=tempo, last_day=TODAY - 1, run=0)
                 for number, tempo in ((1, 60), (2, 110)))  # fmt: skip
    assert Session(far, near).go().card_id == 2


def test_what_never_stays_waits_its_turn():
    """Missed on eight days, and on four more for each clean one, a key no longer comes before the
    others: it would take the minutes of those that can be learnt."""
    hopeless = card(1, 1, tempo=60, due=TODAY, last_day=TODAY - 1, clean=1, missed=12, run=0)
    other = card(2, 2, tempo=60, due=TODAY, last_day=TODAY - 2)
    assert Session(hopeless, other).go().card_id == 2
    assert Session(hopeless._replace(missed=11), other).go().card_id == 1
    sure = card(3, 3, owned=True, clean=30)
    assert Session(hopeless, sure, learned=SURE).go().card_id == 3


@pytest.mark.parametrize(
    "left",
    [
        card(1, 1, tempo=60, due=TODAY - 30, last_day=TODAY - 40, clean=0, missed=8, run=0),
        card(1, 1, tempo=60, due=TODAY + 90, last_day=TODAY - 40, clean=3, run=3),
    ],
    ids=["never stays", "sure, and far from its goal"],
)
def test_no_key_is_given_up(left):
    """Each tenth visit is to what was left alone longest below its goal, however much more the
    others bring, and also where misses fill the session; none that was played within the week."""
    others = [card(number, number, number % 12, due=TODAY, last_day=TODAY - 1, run=number % 2)
              for number in range(2, 30)]  # fmt: skip
    lately = left._replace(last_day=TODAY - 6)
    for first, place in ((left, 9), (lately, None)):
        session, played = Session(first, *others), []
        for _ in range(20):
            played.append(session.go().card_id)
            session.rate(CLEAN)
        assert (played.index(1) if 1 in played else None) == place


def test_a_visit_ends_with_a_clean_go_at_the_goal():
    """What came out at goal tempo needs no second go today."""
    session = Session(card(1, 1, due=TODAY), card(2, 2, due=TODAY), learned=SURE)
    assert session.go() == Go(1, 120)
    assert session.rate(CLEAN).card_id == 2


def test_a_new_key_is_tried_three_times_and_comes_back():
    """Three misses end the visit; after two visits to others it is there again, then once more."""
    others = [card(number, number, tempo=100) for number in range(2, 9)]
    session = Session(new(1, 1), *others, rules=Rules(repeat_newest=0, goes=3))
    while session.go().card_id != 1:
        session.rate(ROUGH)
    order = []
    while len(order) < 40 and (go := session.go()):
        order.append(go.card_id)
        session.rate(LOST if go.card_id == 1 else CLEAN)
    visits = [one for one, before in zip(order, [0, *order], strict=False) if one != before]
    places = [place for place, card_id in enumerate(visits) if card_id == 1]
    assert order[:3] == [1, 1, 1]
    assert places[:2] == [0, 3]


def test_the_next_key_starts_once_the_last_came_out():
    """A phrase's second key waits for the first to be clean, in this session or before."""
    session = Session(new(1, 1), new(2, 1, 1))
    assert session.go() == Go(1, 72)
    assert session.rate(LOST).card_id == 1
    for _ in range(6):
        if session.rate(CLEAN, 120).card_id == 2:
            break
    assert session.go().card_id == 2
    assert Session(card(1, 1, clean=0, last_day=TODAY), new(2, 1, 1)).go().card_id == 1


@pytest.mark.parametrize(
    ("missed", "earlier", "starts"), [(3, 5, True), (2, 5, False), (8, 0, False)]
)
def test_a_key_that_never_comes_out_keeps_its_phrase_from_the_next_for_a_while(
    missed: int, earlier: int, starts: bool
):
    """For three days, and where no other key of the phrase came out for good."""
    known = card(1, 1, clean=earlier)
    never = card(2, 1, 1, clean=0, missed=missed, run=0)
    session = Session(known, never, new(3, 1, 2))
    session.sitting = session.sitting.skip(1).skip(2)
    assert (session.go() is not None) is starts


def test_what_was_begun_comes_before_what_is_new():
    """A key that fades at its goal comes before a key that was never played."""
    session = Session(card(3, 1), new(1, 1, 1), card(2, 2, due=TODAY, last_day=TODAY - 30))
    assert session.go().card_id == 2


def test_a_phrase_starts_though_others_want_keeping():
    """One a sitting, the oldest first, while fewer than eight keys are on their way to the goal."""
    fading = [card(number, 1, number, due=TODAY, last_day=TODAY - 30) for number in (1, 2)]
    session = Session(*fading, new(8, 2), new(9, 3))
    assert session.go().card_id == 8
    while session.go().card_id == 8:
        session.rate(CLEAN, 120)
    assert session.go().card_id in {1, 2}
    climbing = [card(number, number, tempo=100, last_day=TODAY - 1) for number in range(1, 9)]
    assert Session(*climbing, new(99, 99)).go().card_id != 99
    assert Session(*climbing[1:], new(99, 99)).go().card_id == 99


def test_of_equal_ones_the_short_chart_comes_first():
    """The same gain for less time."""
    long, short = card(1, 1, due=TODAY)._replace(quarters=32.0), card(2, 2, due=TODAY)
    assert Session(long, short).go().card_id == 2


def test_a_clock_that_was_ahead_takes_no_card_away():
    """A card played on a day to come is due today."""
    session = Session(card(1, 1, last_day=TODAY + 300, due=TODAY + 400), card(2, 2), learned=SURE)
    assert session.go().card_id == 1


def test_a_skipped_card_is_left_alone():
    """Neither its visit goes on nor does it come back."""
    session = Session(card(1, 1, tempo=80), card(2, 2, tempo=60))
    session.rate(CLEAN, 84)
    session.sitting = session.sitting.skip(1, 5.0)
    seen = set()
    while (go := session.go()) and len(session.sitting.done) < 12:
        seen.add(go.card_id)
        session.rate(CLEAN)
    assert seen == {2}


@pytest.mark.parametrize(("left", "goes"), [(9.0, True), (8.9, False)])
def test_a_go_begins_while_half_its_time_is_left(left, goes):
    """A go of eight quarters at 120, twice through, takes 18 seconds."""
    session = Session(card(1, 1, due=TODAY), learned=SURE)
    session.sitting = Sitting(20, used=1200 - left)
    assert (session.go() is not None) is goes


def test_a_short_go_fills_the_time_that_a_long_one_does_not_fit_into():
    """A go of 64 quarters at 120 needs half of 74 seconds: with less the short phrase comes,
    though it was the last to be played; with less than half of its own 18 nothing does."""
    long, short = card(1, 1, due=TODAY)._replace(quarters=64.0), card(2, 2, due=TODAY)
    session = Session(long, short, learned=SURE)
    assert session.rate(CLEAN).card_id == 1
    session.sitting = Sitting(20, session.sitting.done, used=1200 - 36)
    assert session.go().card_id == 2
    session.sitting = Sitting(20, session.sitting.done, used=1200 - 8)
    assert session.go() is None


def test_a_key_that_never_came_out_takes_less_of_each_day():
    """Three visits on its first day, then two, then one."""
    visits = []
    for missed in range(3):
        others = [card(number, number, tempo=100) for number in range(2, 9)]
        before = {"clean": 0, "run": 0, "missed": missed, "last_day": (TODAY - 1) * (missed > 0)}
        session = Session(card(1, 1, tempo=72, due=TODAY, **before), *others)
        order = []
        while len(order) < 11:  # of the others, a go each at least
            order.append(session.go().card_id)
            session.rate(LOST if order[-1] == 1 else CLEAN)
        visits.append(sum(b == 1 != a for a, b in zip([0, *order], order, strict=False)))
    assert visits == [3, 2, 1]


def test_a_long_phrase_does_not_wait_until_no_short_one_is_left():
    """With ten keys begun the next is that of the oldest phrase of which none has."""
    long, rest = new(50, 1)._replace(quarters=64.0), [new(60 + n, 2, n + 1) for n in range(3)]
    for begun, first in ((9, 60), (10, 50)):
        climbing = [card(n, 3, n, tempo=90, last_day=TODAY - 1) for n in range(1, begun)]
        short = card(49, 2, due=TODAY + 90, clean=40)
        session = Session(long, short, *rest, *climbing, learned=SURE)
        session.sitting = Sitting(200)
        while (go := session.go()).card_id < 50:
            session.rate(CLEAN, 120)
        assert go.card_id == first


def test_what_is_owned_and_sure_is_still_played():
    """The minutes are used, the player may stop: with nothing else to do, sure keys go on."""
    session = Session(*[card(n, n, owned=True, clean=30) for n in (1, 2, 3)], learned=SURE)
    for _ in range(5):
        assert session.rate(CLEAN) is not None


def test_left_over_minutes_go_to_what_was_played_least():
    """Then to what is on its way to the goal, to what isn't owned yet, and to the nearest."""
    played = {"last_day": TODAY, "due": TODAY + 5}
    owned = card(1, 1, owned=True, **played)
    there = card(2, 2, **played)
    far, near = card(3, 3, tempo=60, **played), card(4, 4, tempo=110, **played)
    session = Session(owned, there, far, near)
    assert [session.go().card_id, *(session.rate(ROUGH).card_id for _ in range(7))] == [
        4, 3, 4, 3, 4, 3, 4, 3,
    ]  # fmt: skip
    session = Session(owned, there)
    assert [session.go().card_id, *(session.rate(CLEAN).card_id for _ in range(3))] == [2, 1, 2, 1]


@pytest.mark.parametrize(("left", "comes"), [(26.9, 1), (27.1, 2)])
def test_the_newest_comes_while_one_and_a_half_of_its_goes_are_left(left: float, comes: int):
    """A go of eight quarters at 120, twice through, takes 18 seconds."""
    session = Session(new(1, 1), *(card(n, n, n, due=TODAY) for n in (2, 3)),
                      rules=Rules(repeat_newest=1), learned=SURE)  # fmt: skip
    session.sitting = session.sitting.rated(session.cards[1], 120, CLEAN, 20.0)
    session.cards[1] = session.cards[1]._replace(tempo=120, last_day=TODAY, due=TODAY + 1, clean=1)
    session.sitting = session.sitting.rated(session.cards[3], 120, CLEAN, 20.0)
    session.cards[3] = session.cards[3]._replace(last_day=TODAY)
    session.sitting = Sitting(20, session.sitting.done, used=1200 - left)
    assert session.go().card_id == comes


def test_the_newest_comes_once_more_at_the_end():
    """The day's newest key is the last visit; where it was the last one, the newest before it."""
    rules = Rules(repeat_newest=1)
    session = Session(new(1, 1), card(2, 2, tempo=100, due=TODAY), rules=rules)
    while session.go().card_id != 1:
        session.rate(CLEAN, 120)
    while session.go().card_id == 1:
        session.rate(CLEAN, 120)
    session.rate(CLEAN)
    session.nearly_over()
    assert session.go().card_id == 1
    last = Session(new(1, 1), new(2, 2), rules=rules)
    while len({each.card_id for each in last.sitting.done}) < 2 or last.go().card_id == 2:
        last.rate(CLEAN, 120)
    newest = last.sitting.done[-1].card_id
    last.nearly_over()
    assert last.go().card_id == 3 - newest


def test_the_newest_does_not_come_twice_running():
    """Another key of its phrase was played last: another phrase comes where there is one."""
    rules = Rules(repeat_newest=1)
    session = Session(
        new(1, 1), card(3, 1, 1, last_day=TODAY, due=TODAY, tempo=80), card(2, 2, 2), rules=rules
    )
    while session.go().card_id != 1:
        session.rate(CLEAN, 120)
    session.rate(CLEAN)
    session.sitting = session.sitting.rated(session.cards[3], 80, CLEAN, 20.0)
    session.nearly_over()
    assert session.go().card_id == 2


def test_nothing_to_play():
    """No cards, no go."""
    assert Session().go() is None


def test_another_phrase_counts_more_than_another_key():
    """Where all keys are alike, phrases still alternate: five lines, all written in C."""
    session = Session(*[new(number, number) for number in range(1, 6)])
    order = [session.go().card_id]
    while len(order) < 12:
        order.append(session.rate(LOST).card_id)
    visits = [one for one, before in zip(order, [0, *order], strict=False) if one != before]
    assert len(set(visits[:3])) == 3


def test_a_third_time_in_a_key_comes_before_the_same_phrase_twice():
    """Where nothing else is left, and though the other key of that phrase was missed last."""
    session = Session(card(1, 1, 5, last_day=TODAY), card(2, 2, 5, last_day=TODAY),
                      card(3, 2, 6, tempo=60, last_day=TODAY - 1, run=0),
                      card(4, 4, 5, owned=True, clean=30), learned=SURE)  # fmt: skip
    for number in (1, 2):
        session.sitting = session.sitting.rated(session.cards[number], 120, CLEAN, 20.0)
    session.sitting = session.sitting.skip(1)
    assert session.go().card_id == 4


def test_a_skipped_written_key_starts_no_other_key():
    """A phrase whose written key was passed over waits whole."""
    session = Session(new(1, 1), new(2, 1, 1), new(3, 2))
    first = session.go().card_id
    session.sitting = session.sitting.skip(1, 1.0)
    assert first in {1, 3}
    assert {session.rate(CLEAN).card_id for _ in range(3)} == {3}
