"""What a gig asks for: which keys, whether they will be ready by then, and what to leave."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from drillbox.errors import BadInput, NotFound
from drillbox.memory.candidates import Candidate, Pace
from drillbox.memory.recall import Recall
from drillbox.music.fits import Phrases
from drillbox.music.keys import parse_key
from drillbox.music.symbols.typed import parse_chart, parse_meter
from drillbox.music.tunes import Tune, parse_form
from drillbox.practice.adding import keep, prepare
from drillbox.practice.drilling import Drill
from drillbox.practice.fits import Repertoire
from drillbox.practice.gigs import LONGEST, GigView, bars_to_play, gig_of, goals_for
from drillbox.practice.narrowing import Narrowing, narrow
from drillbox.practice.preferences import preferences_from
from drillbox.practice.readiness import Cards
from drillbox.store.access import Store
from drillbox.store.card_rows import candidates
from drillbox.store.phrase_rows import phrases_in_practice
from drillbox.store.tune_rows import NewTune, add_gig, add_tunes, delete_tune
from tests.music.fits.worked import PHRASES
from tests.store.making import NOW, go, session

TODAY = date(2026, 3, 2)
PLAIN = preferences_from({})
IN_C, IN_F = "Dm7 G7 | Cmaj7 | Dm7 G7 | C6", "Gm7 C7 | Fmaj7 | Abmaj7 | Fmaj7"


def tune(text: str, title: str = "Salt", tempo: int = 120) -> Tune:
    """Return a tune in C."""
    return Tune(title, parse_key("C"), tempo, parse_chart(text, parse_meter("4/4")))


def gig(
    store: Store, tunes: list[Tune], steps: dict[str, float], *, days: int = 4, minutes: int = 20
) -> GigView:
    """Return a gig so many days off for a player of one phrase.

    The chance in a key is what ``steps`` says, and a tenth more with each visit, at any tempo.
    """
    short = next(each for each in PHRASES if each.title == "short")
    if not phrases_in_practice(store):
        keep(store, [prepare(short, PLAIN)], NOW)

    def chance(card: Candidate, _: int) -> float:
        return min(0.99, steps[card.key] + 0.1 * (card.clean + card.missed))

    found = dict(phrases_in_practice(store))
    on = TODAY + timedelta(days=days)
    own = Repertoire(found, Phrases(found.items()), Cards(candidates(store), chance, on))
    preferences = preferences_from({"minutes": minutes})
    return gig_of("Friday", on, tunes, own, TODAY, preferences, Pace())


@pytest.mark.parametrize(
    ("now", "visits", "prospect"),
    [
        (0.85, 0, "ready"),
        (0.75, 1, "will be"),  # .85 after one
        (0.45, 4, "will be"),  # .85 after four, the most that four days hold
        (0.35, 5, "leave"),
        (-5.0, None, "leave"),  # not in a month
    ],
)
def test_a_key_is_ready_or_will_be_or_is_left(store: Store, now, visits, prospect) -> None:
    """A chance of .8 is ready; a visit a day at most brings it there, or it is left, and the days
    that it needs are told."""
    (need,) = gig(store, [tune(IN_C)], {"C": now}).needs
    assert (need.visits, need.prospect) == (visits, prospect)
    assert (need.row.title, need.row.key.text(), need.row.tempo) == ("short", "C", 120)
    assert need.places == 2
    # Three goes a visit, each twice round eight quarters at 120 and what a go takes besides.
    seconds = 2 * 8 * 60 / 120 + PLAIN.rules.between_goes
    assert need.minutes == pytest.approx((visits or 0) * 3 * seconds / 60)


def test_minutes_go_to_what_serves_most(store: Store) -> None:
    """With a minute a day two visits to C, at two places, come before three to F at two."""
    tunes = [tune(IN_C), tune(IN_F, "Slate")]
    steps = {"C": 0.65, "F": 0.55}
    found = gig(store, tunes, steps, days=3, minutes=1)
    assert [(each.row.key.text(), each.prospect) for each in found.needs] == [
        ("C", "will be"),
        ("F", "leave"),
    ]
    enough = gig(store, tunes, steps, days=3, minutes=2)
    assert [each.prospect for each in enough.needs] == ["will be", "will be"]


def test_a_place_with_two_ways_on_is_one_place(store: Store) -> None:
    """Its ii-V leads to the top and into the coda; the gig asks for it once."""
    both = tune("Cmaj7 | Abmaj7 | Dbmaj7 | Dm7 G7 | Cmaj7 | Abmaj7")
    (need,) = gig(store, [replace(both, form=parse_form("A4 coda2", 6))], {"C": 0.5}).needs
    assert need.places == 1


def test_the_fastest_tune_counts(store: Store) -> None:
    """A key that two tunes need is wanted at the faster one's tempo."""
    (need,) = gig(store, [tune(IN_C), tune(IN_C, "Fast", 170)], {"C": 0.5}).needs
    assert (need.row.tempo, need.places) == (170, 4)


def test_what_is_far_beyond_the_goal_is_not_asked_for(store: Store) -> None:
    """At 200 a phrase whose goal is 160 isn't planned for."""
    assert gig(store, [tune(IN_C, tempo=200)], {"C": 0.9}).needs == ()


def test_bars_are_covered_by_what_is_played_there(store: Store) -> None:
    """What would have to go by far faster than its goal covers none; what is in reach does."""
    tunes = [tune(IN_C), tune(IN_C, "Fast", 200)]
    found = gig(store, tunes, {"C": 0.9})
    assert [(each.tune.title, bars_to_play(each)) for each in found.tunes] == [
        ("Salt", 4),
        ("Fast", 0),
    ]


def test_a_gig_far_off_is_reckoned_a_month_deep(store: Store) -> None:
    """However far it is, no more visits are tried than a month has days, one chance for each."""
    short = next(each for each in PHRASES if each.title == "short")
    keep(store, [prepare(short, PLAIN)], NOW)
    card, asked = candidates(store)[0], []

    def chance(each: Candidate, _: int) -> float:
        asked.append(each.clean + each.missed)
        return 0.1

    found = dict(phrases_in_practice(store))
    day = TODAY + timedelta(days=400)
    own = Repertoire(found, Phrases(found.items()), Cards([card], chance, day))
    (need,) = gig_of("Far", day, [tune(IN_C)], own, TODAY, PLAIN, Pace()).needs
    assert (need.visits, need.prospect) == (None, "leave")
    assert sorted(set(asked)) == list(range(LONGEST + 1))
    assert len(asked) <= LONGEST + 3  # what it is now is asked for by each row, too


@pytest.mark.parametrize(("tempo", "visits"), [(160, 1), (170, None)])
def test_no_more_climbing_is_reckoned_with_than_a_drill_brings(
    store: Store, tempo: int, visits: int | None
) -> None:
    """A key climbs to its goal of 160 and not beyond, so that what is faster stays a stretch."""
    short = next(each for each in PHRASES if each.title == "short")
    keep(store, [prepare(short, PLAIN)], NOW)
    card = candidates(store)[0]._replace(tempo=150)

    def chance(each: Candidate, asked: int) -> float:
        return 0.9 if each.tempo >= asked else 0.5

    cards = Cards([card], chance, TODAY)
    chances = enumerate(cards.to_come(card, LONGEST, tempo))
    assert next((days for days, each in chances if each > 0.5), None) == visits


def test_on_its_day_and_after_it_nothing_more_can_be_done(store: Store) -> None:
    """No days are left; once it has been it says so."""
    today = gig(store, [tune(IN_C)], {"C": 0.75}, days=0)
    assert (today.days, today.over, today.needs[0].prospect) == (0, False, "leave")
    assert gig(store, [tune(IN_C)], {"C": 0.75}, days=-1).over


FRIDAY = TODAY + timedelta(days=32)


@pytest.fixture
def put_down(store: Store) -> Store:
    """A store with a phrase, one key of it well known, and a gig with a tune in two keys."""
    short = next(each for each in PHRASES if each.title == "short")
    keep(store, [prepare(short, PLAIN)], NOW)
    made = add_tunes(store, [NewTune(tune(f"{IN_C} | {IN_F}", tempo=90))], NOW)
    add_gig(store, "Friday", FRIDAY, made, NOW)
    return store


def test_a_drill_for_a_gig_plays_what_will_be_ready(put_down: Store) -> None:
    """The keys that its fits need, at its tunes' tempo, and no others."""
    goals = goals_for(put_down, PLAIN, "fri", TODAY)
    keys = {each.card_id: each.key for each in candidates(put_down)}
    assert {keys[card_id] for card_id in goals} <= {"C", "F"}
    assert set(goals.values()) == {90}
    found = narrow(put_down, PLAIN, Narrowing(gig="Friday"), NOW)
    assert found is not None
    assert (found.only, found.goals) == (frozenset(goals), goals)


def test_a_drill_for_a_gig_never_plays_above_its_tempo(put_down: Store) -> None:
    """Nor in later visits of a day, though the key has reached more."""
    ids = [each.card_id for each in candidates(put_down)][:2]
    for card_id in ids:
        go(put_down, card_id, session(put_down, NOW), [Recall.FLUENT] * 8)
    before = {each.card_id: each.tempo for each in candidates(put_down)}
    assert all(before[each] > 60 for each in ids)
    at = NOW + timedelta(days=1)
    drill = Drill(
        put_down, PLAIN, minutes=30, now=at, timed=False, only=frozenset(ids),
        goals=dict.fromkeys(ids, 60),
    )  # fmt: skip
    played = []
    while drill.showing and len(played) < 8:
        played.append(drill.showing.tempo)
        drill.rate(Recall.CLEAN, at)
    assert len(played) == 8
    assert set(played) == {60}


def test_a_drill_for_a_gig_plays_what_is_at_its_goal_at_the_gigs_tempo(put_down: Store) -> None:
    """A tune may be a little faster than a phrase's goal; a key on its way climbs as ever."""
    at_goal, climbing = candidates(put_down)[:2]
    for recalls, card in ((16, at_goal), (2, climbing)):
        go(put_down, card.card_id, session(put_down, NOW), [Recall.CLEAN] * recalls)
    reached = {each.card_id: each.tempo for each in candidates(put_down)}
    assert reached[at_goal.card_id] == at_goal.goal == 160
    assert reached[climbing.card_id] < 160
    at = NOW + timedelta(days=1)
    goals = {at_goal.card_id: 170, climbing.card_id: 170}
    drill = Drill(
        put_down, PLAIN, minutes=30, now=at, timed=False, only=frozenset(goals), goals=goals
    )
    fastest: dict[int, int] = {}
    for _ in range(4):
        assert drill.showing
        card_id = drill.showing.card.id
        fastest[card_id] = max(fastest.get(card_id, 0), drill.showing.tempo)
        if card_id == climbing.card_id:
            assert drill.showing.tempo <= drill.showing.card.state.tempo.tempo
        drill.rate(Recall.CLEAN, at)
    assert fastest[at_goal.card_id] == 170


def test_a_gig_that_has_been_drops_out_of_the_plan(put_down: Store) -> None:
    """It says so; on its day it is still drilled for."""
    assert goals_for(put_down, PLAIN, "Friday", FRIDAY)
    with pytest.raises(BadInput, match="'Friday' was on 2026-04-03"):
        goals_for(put_down, PLAIN, "Friday", FRIDAY + timedelta(days=1))
    with pytest.raises(NotFound):
        goals_for(put_down, PLAIN, "Sunday", TODAY)


def test_where_nothing_can_be_ready_the_nearest_is_drilled(store: Store) -> None:
    """What needs the fewest days comes first, as much of it as a day holds."""
    tunes = [tune(IN_C), tune(IN_F, "Slate")]
    steps = {"C": 0.15, "F": 0.25}  # seven days and six
    far = gig(store, tunes, steps, days=2, minutes=1)
    assert {(each.row.key.text(), each.visits, each.prospect) for each in far.needs} == {
        ("F", 6, "leave"),
        ("C", 7, "leave"),
    }
    assert [each.row.key.text() for each in far.to_drill] == ["F"]
    longer = gig(store, tunes, steps, days=2, minutes=4)
    assert [each.row.key.text() for each in longer.to_drill] == ["F", "C"]


def test_what_will_be_ready_is_drilled_before_what_is(store: Store) -> None:
    """And what is ready where nothing else can be; what is to be left waits."""
    tunes = [tune(IN_C), tune(IN_F, "Slate")]
    for in_c, in_f, keys in ((0.75, 0.9, ["C"]), (0.1, 0.9, ["F"]), (0.85, 0.9, ["C", "F"])):
        found = gig(store, tunes, {"C": in_c, "F": in_f}, days=2)
        assert sorted(each.row.key.text() for each in found.to_drill) == keys


def test_a_gig_without_tunes_says_what_to_do(put_down: Store) -> None:
    """They were deleted; and so it is where nothing fits into those that are left."""
    made = add_tunes(put_down, [NewTune(tune("Abmaj7 | Bmaj7", "Odd"))], NOW)
    add_gig(put_down, "Odd night", FRIDAY, made, NOW)
    with pytest.raises(BadInput, match="the tunes of 'Odd night' at a tempo near"):
        goals_for(put_down, PLAIN, "odd", TODAY)
    delete_tune(put_down, made[0], NOW)
    with pytest.raises(BadInput, match="'Odd night' has no tunes left") as said:
        goals_for(put_down, PLAIN, "odd", TODAY)
    assert "drillbox gig edit 'Odd night' --tunes" in said.value.remedy
