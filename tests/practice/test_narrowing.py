"""A session narrowed to phrases, keys, tags, the new, the slow and the weak."""

from __future__ import annotations

from datetime import timedelta

import pytest

from drillbox.errors import BadInput, NotFound
from drillbox.memory.recall import Recall
from drillbox.music.keys import parse_key
from drillbox.music.symbols.typed import parse_chart, parse_meter
from drillbox.music.tunes import Tune
from drillbox.practice.drilling import Drill
from drillbox.practice.editing import Wanted, carry_out, plan_edit
from drillbox.practice.library import matching, sorted_by, view_phrase
from drillbox.practice.narrowing import Narrowing, narrow
from drillbox.practice.preferences import preferences_from
from drillbox.practice.readiness import chances_of
from drillbox.store.access import Store
from drillbox.store.card_rows import candidates, cards_of
from drillbox.store.phrase_rows import add_phrases, list_phrases, phrase, retire_phrase
from drillbox.store.tune_rows import NewTune, add_gig, add_tunes
from tests.store.making import DAY, NOW, add_in_keys, go, laid_out, new_phrase, session

PREFERENCES = preferences_from({"zone": "UTC"})


@pytest.fixture
def three(store: Store) -> Store:
    """Return a store of three phrases in B flat, one of them tagged, of which one was begun."""
    add_in_keys(store, "Late kettle", "Blue door")
    tagged = laid_out(new_phrase("Tin roof", tempo=200))
    add_phrases(
        store, [type(tagged)(tagged.phrase, tagged.order, tagged.cards, None, ("Duo",))], NOW
    )
    sitting = session(store)
    for card in cards_of(store, 1)[:3]:
        go(store, card.id, sitting, [Recall.CLEAN])
    return store


def left(store: Store, **wanted: object) -> set[tuple[int, str]]:
    """Return which phrases and keys a session is narrowed to."""
    found = narrow(store, PREFERENCES, Narrowing(**wanted), NOW + timedelta(days=5))  # type: ignore[arg-type]
    assert found is not None
    return {(each.phrase_id, each.key) for each in candidates(store) if each.card_id in found.only}


def test_nothing_asked_narrows_nothing(three: Store) -> None:
    """Then the planner chooses among all."""
    assert narrow(three, PREFERENCES, Narrowing(), NOW) is None


def test_phrases_keys_and_tags_all_hold(three: Store) -> None:
    """Each narrows what the other leaves; a key counts in any spelling."""
    assert {number for number, _ in left(three, phrases=["late", "tin"])} == {1, 3}
    assert left(three, phrases=["late"], keys=["F#", "C"]) == {(1, "Gb"), (1, "C")}
    assert left(three, tags=["duo"], keys=["Bb"]) == {(3, "Bb")}


def test_the_new_and_the_slow_may_stand_together(three: Store) -> None:
    """Not begun, or begun and below goal: together that is every key here."""
    assert len(left(three, new=True)) == 33
    assert left(three, slow=True) == {(1, "Bb"), (1, "Eb"), (1, "Ab")}
    assert len(left(three, new=True, slow=True)) == 36


def test_what_is_left_out_is_said_in_one_line(three: Store) -> None:
    """How many keys, and how many of them are due."""
    found = narrow(three, PREFERENCES, Narrowing(tags=["duo"]), NOW + timedelta(days=5))
    assert found is not None
    assert found.line == "Narrowed to 12 keys; 24 keys left out, 3 of them due."


def test_what_cannot_be_is_said(three: Store) -> None:
    """No such tag or phrase, a retired one, no weakness known yet, nothing left."""
    for wanted, error in (
        (Narrowing(tags=["waltz"]), NotFound),
        (Narrowing(phrases=["nowhere"]), NotFound),
        (Narrowing(gig=""), NotFound),
        (Narrowing(keys=["H"]), BadInput),
        (Narrowing(weak=True), BadInput),
        (Narrowing(keys=["Cm"]), BadInput),
    ):
        with pytest.raises(error):
            narrow(three, PREFERENCES, wanted, NOW)
    retire_phrase(three, 2, NOW)
    with pytest.raises(BadInput):
        narrow(three, PREFERENCES, Narrowing(phrases=["blue door"]), NOW)


@pytest.mark.parametrize(
    ("wanted", "said"),
    [
        (
            Narrowing(phrases=["late"], keys=["F#"]),
            "F# is put aside for 'Late kettle'. Bring it back: drillbox edit 'Late kettle'"
            " --back 'F#'",
        ),
        (
            Narrowing(keys=["Gb", "Cm"], tags=["duo"]),
            "Gb is put aside for 'Tin roof'. Bring it back: drillbox edit 'Tin roof' --back Gb",
        ),
        (
            Narrowing(phrases=["late"], keys=["D Dorian"]),
            "'Late kettle' isn't played in D Dorian. It's played in Bb, Eb, Ab, Db, Gb, B, E, A,"
            " D, G, C, F.",
        ),
        (
            Narrowing(keys=["Cm", "D Dorian"]),
            "None of your phrases is played in Cm or D Dorian. Each one's keys:"
            " drillbox show PHRASE",
        ),
        (
            Narrowing(phrases=["late", "blue"], tags=["duo"]),
            "None of these phrases has the tag 'duo'. Leave out --tag, or name other phrases.",
        ),
        (
            Narrowing(phrases=["late"], keys=["Bb"], new=True),
            "None of these keys is still to be started. Drill without --new.",
        ),
        (
            Narrowing(phrases=["blue"], slow=True),
            "None of these keys is started and below its goal. Drill without --slow.",
        ),
        (
            Narrowing(weak=True),
            "None of your keys can be called weak. Drill without --weak.",
        ),
        (
            Narrowing(phrases=["blue"], weak=True, slow=True),
            "None of these keys can be called weak or is started and below its goal."
            " Drill without --weak and --slow.",
        ),
    ],
)
def test_where_nothing_is_left_it_says_why_and_what_to_do(
    three: Store, wanted: Narrowing, said: str
) -> None:
    """The reason is that of the word after which no key was left, in the player's own spelling."""
    for number in (1, 3):
        record, aside = phrase(three, number), Wanted(aside=("Gb",))
        carry_out(three, plan_edit(three, PREFERENCES, record, aside), NOW)
    with pytest.raises(BadInput) as caught:
        narrow(three, PREFERENCES, wanted, NOW + timedelta(days=5))
    assert caught.value.line() == said


def test_what_is_not_weak_may_be_new(three: Store) -> None:
    """The kinds add up: where nothing is weak, what is new is left."""
    assert len(left(three, weak=True, new=True)) == 33


def test_for_a_gig_that_asks_for_other_keys(three: Store) -> None:
    """Its own page says which it asks for."""
    tune = Tune("Corner", parse_key("Bb"), 132, parse_chart("Cm7 F7 | Bbmaj7", parse_meter("4/4")))
    added = add_tunes(three, [NewTune(tune)], NOW)
    add_gig(three, "Friday", (NOW + timedelta(days=9)).date(), added, NOW)
    assert left(three, gig="friday")
    other = "is to be drilled for 'friday'. What it asks for: drillbox gig show friday"
    slow = "for 'friday' is started and below its goal. Drill without --slow, or without --gig."
    for wanted, said in (
        (Narrowing(keys=["E"], gig="friday"), f"None of these keys {other}"),
        (Narrowing(keys=["E"], slow=True, gig="friday"), f"None of these keys {other}"),
        (Narrowing(slow=True, gig="friday"), f"None of your keys {slow}"),
    ):
        with pytest.raises(BadInput) as caught:
            narrow(three, PREFERENCES, wanted, NOW)
        assert caught.value.line() == said


def test_the_planner_chooses_within(three: Store) -> None:
    """A drill narrowed to a tag and two keys shows those, and nothing else."""
    found = narrow(three, PREFERENCES, Narrowing(tags=["duo"], keys=["Bb", "Eb"]), NOW)
    assert found is not None
    drill = Drill(three, PREFERENCES, minutes=20, now=NOW, timed=False, only=found.only)
    shown = []
    while drill.showing and len(shown) < 5:
        shown.append(drill.showing.card.key.text())
        assert drill.showing.card.phrase_id == 3
        drill.rate(Recall.CLEAN, NOW)
    assert set(shown) == {"Bb", "Eb"}


def test_phrases_are_found_by_words_and_tag(three: Store) -> None:
    """Every word, in the title or among the tags, whatever its case."""
    listed = list_phrases(three)
    assert [each.title for each in matching(listed, ["TIN"], None)] == ["Tin roof"]
    assert [each.title for each in matching(listed, ["roof", "duo"], None)] == ["Tin roof"]
    assert matching(listed, ["late", "duo"], None) == []
    assert len(matching(listed, [], "DUO")) == 1


@pytest.mark.parametrize(
    ("sort", "first"),
    [
        (None, "Late kettle"),
        ("title", "Blue door"),
        ("weakest", "Late kettle"),
        ("tempo", "Late kettle"),
        ("due", "Late kettle"),
    ],
)
def test_phrases_are_listed_in_an_order(three: Store, sort: str | None, first: str) -> None:
    """Those that weren't begun come last but by title."""
    listed = list_phrases(three)
    assert (
        sorted_by(three, PREFERENCES, listed[::-1] if sort else listed, sort, DAY)[0].title == first
    )
    with pytest.raises(BadInput):
        sorted_by(three, PREFERENCES, listed, "speed", DAY)


def test_the_weakest_are_those_least_clean_at_goal_tempo(three: Store) -> None:
    """Not those least recalled: one played three weeks ago that had climbed to its goal comes
    behind one played today at .6 of it.
    """
    played = DAY - timedelta(days=21)
    old = cards_of(three, 3)[0]
    go(three, old.id, session(three), [Recall.FLUENT] * 5, day=played)
    listed = sorted_by(three, PREFERENCES, list_phrases(three), "weakest", DAY)
    assert [each.title for each in listed[:2]] == ["Late kettle", "Tin roof"]


def test_a_phrase_shows_the_chances_that_choosing_goes_by(three: Store) -> None:
    """None for a key that wasn't begun, and none of a phrase that was retired."""
    view = view_phrase(three, PREFERENCES, phrase(three, 1), NOW)
    chances = chances_of(three, PREFERENCES.rules, DAY)
    wanted = [chances.at_goal(each) for each in candidates(three)[:3]]
    assert [each.clean for each in view.cards] == [*wanted, *[None] * 9]
    retire_phrase(three, 1, NOW)
    view = view_phrase(three, PREFERENCES, phrase(three, 1), NOW)
    assert {each.clean for each in view.cards} == {None}
