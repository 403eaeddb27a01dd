"""Tunes and gigs go from store to store, and none is lost or brought back unasked."""

from __future__ import annotations

import json
from contextlib import ExitStack
from dataclasses import replace
from datetime import date, datetime, timedelta
from itertools import permutations
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, Phase, example, given, settings
from hypothesis import strategies as st

from drillbox.errors import BadInput
from drillbox.music.keys import parse_key
from drillbox.music.tunes import Tune, parse_form
from drillbox.practice.preferences import preferences_from
from drillbox.store.access import Store
from drillbox.store.checks import check_store
from drillbox.store.merging import merge
from drillbox.store.opening import open_store
from drillbox.store.sql import change
from drillbox.store.tune_rows import (
    NewTune,
    add_gig,
    add_tunes,
    change_gig,
    change_tune,
    delete_gig,
    delete_tune,
    find_tune,
    list_gigs,
    list_tunes,
)
from drillbox.store.values import Merged
from tests.conftest import copied as copy_of
from tests.music.shorthand import chart
from tests.store.making import NOW
from tests.store.reading import document, members_in

GIG = date(2026, 5, 1)


def brought(store: Store, title: str, chords: str = "Dm7 | G7 | Cmaj7 | A7") -> Any:
    """Add a tune of four bars."""
    found = chart(chords)
    tune = Tune(title, parse_key("C"), 120, found, parse_form("AB", len(found.bars)))
    return add_tunes(store, [NewTune(tune, ("quartet", "slow"))], NOW)[0]


def copied(store: Store, other: Store, **options: bool) -> Merged:
    """Merge one store's document, as it is after having been a file, into another."""
    data = json.loads(json.dumps(document(store)))
    return merge(other, members_in(data), preferences_from, **options)


@pytest.fixture
def second(empty: Path, tmp_path: Path) -> Any:
    """The other computer's store."""
    place = copy_of(empty, tmp_path / "second.sqlite3")
    with open_store(place, now=NOW, backups=False) as opened:
        yield opened


def test_tunes_and_gigs_come_over_whole(store: Store, second: Store) -> None:
    """With form, tags and the order of a gig's tunes; the second time there is nothing."""
    one, two = brought(store, "Corner lamp"), brought(store, "Green stairwell")
    add_gig(store, "Cellar", GIG, [two, one], NOW)
    merged = copied(store, second)
    assert (merged.tunes, merged.gigs) == (2, 1)
    assert document(second) == document(store)
    (gig,) = list_gigs(second)
    assert [tune.title for tune in gig.tunes] == ["Green stairwell", "Corner lamp"]
    assert copied(store, second).nothing
    assert copied(second, store).nothing


def test_a_tune_brought_in_twice_is_one(store: Store, second: Store) -> None:
    """The same title, key, chart and form; another tune of that title gets a number."""
    for each in (store, second):
        brought(each, "Corner lamp")
    brought(store, "Last bus", "Am7 | D7 | Gmaj7 | Gmaj7")
    brought(second, "Last bus")
    merged = copied(store, second)
    assert (merged.tunes, merged.renamed) == (1, {"Last bus": "Last bus (2)"})
    titles = [each.title for each in list_tunes(second)]
    assert titles == ["Corner lamp", "Last bus", "Last bus (2)"]
    assert copied(store, second).nothing


def test_what_was_deleted_stays_away(store: Store, second: Store) -> None:
    """Unless it is asked for; the other store's own isn't deleted by an import."""
    tune = brought(store, "Corner lamp")
    gig = add_gig(store, "Cellar", GIG, [tune], NOW)
    copied(store, second)
    delete_gig(store, gig, NOW)
    delete_tune(store, tune, NOW)
    merged = copied(second, store)
    assert (merged.nothing, merged.stayed_deleted) == (True, ["Corner lamp", "Cellar"])
    assert list_tunes(store) == list_gigs(store) == []
    assert copied(store, second).nothing
    assert len(list_tunes(second)) == len(list_gigs(second)) == 1
    merged = copied(second, store, bring_back=NOW)
    assert (merged.tunes, merged.gigs) == (1, 1)
    assert list_gigs(store)[0].tunes[0].title == "Corner lamp"


def test_a_tune_that_is_brought_back_is_in_its_gigs_again(store: Store, second: Store) -> None:
    """At its place, in those that are here still, also in one that was changed since; one that was
    typed again meanwhile as well."""
    one, two, other = (brought(store, title) for title in ("Corner lamp", "Last bus", "Slate"))
    add_gig(store, "Cellar", GIG, [other, one, two], NOW)
    copied(store, second)
    delete_tune(store, one, NOW)
    delete_tune(store, other, NOW)
    add_tunes(store, [NewTune(other.tune)], NOW)
    assert copied(second, store, bring_back=True).tunes == 1
    titles = ["Slate", "Corner lamp", "Last bus"]
    assert [each.title for each in list_gigs(store)[0].tunes] == titles
    assert copied(second, store, bring_back=True).nothing
    assert [each.title for each in list_gigs(store)[0].tunes] == titles
    delete_tune(store, find_tune(store, "Corner lamp"), NOW)
    replanned(store, title="Attic")
    assert [each.title for each in copied(second, store, bring_back=True).replanned] == ["Attic"]
    assert [each.title for each in list_gigs(store)[0].tunes] == titles


def retuned(store: Store, named: str, hours: int = 1, **changes: Any) -> None:
    """Change a tune, so many hours from now."""
    found = find_tune(store, named)
    new = NewTune(replace(found.tune, **changes), found.tags)
    change_tune(store, found, new, NOW + timedelta(hours=hours))


def test_the_later_change_of_a_tune_is_taken(store: Store, second: Store) -> None:
    """Title, tempo and form go together; whoever imports first, and the next time there is
    nothing; what it was is told."""
    one = brought(store, "Corner lamp")
    add_gig(store, "Cellar", GIG, [one], NOW)
    copied(store, second)
    retuned(store, "Corner lamp", hours=1, tempo=100)
    retuned(second, "Corner lamp", hours=2, title="Corner light", form=parse_form("AA", 4))
    assert copied(store, second).nothing
    merged = copied(second, store)
    (told,) = merged.retuned
    assert told.title == "Corner light"
    assert told.columns == {
        "title": ("Corner lamp", "Corner light"),
        "tempo": (100, 120),
        "form": ("A2 B2", "A2 A2"),
    }
    assert document(store) == document(second)
    assert [each.title for each in list_gigs(store)[0].tunes] == ["Corner light"]
    for each, other in ((store, second), (second, store)):
        assert copied(each, other).nothing


@pytest.mark.parametrize("hours", [0, 1])
def test_of_a_tune_brought_in_twice_the_later_one_is_taken(
    store: Store, second: Store, hours: int
) -> None:
    """Its tempo and its tags, though neither was changed; at one moment both agree on one."""
    tune = brought(store, "Slow one").tune
    slow = [NewTune(replace(tune, tempo=80), ("duo",))]
    add_tunes(second, slow, NOW + timedelta(hours=hours))
    data = json.loads(json.dumps(document(store)))
    copied(second, store)
    merge(second, members_in(data), preferences_from)
    assert document(store) == document(second)
    if hours:
        assert list_tunes(store)[0].tune.tempo == 80
        assert list_tunes(store)[0].tags == ("duo",)


def test_a_tune_changed_after_a_clock_was_ahead_stays_so(store: Store, second: Store) -> None:
    """What came last on one computer is the later change."""
    brought(store, "Corner lamp")
    copied(store, second)
    retuned(second, "Corner lamp", hours=9000, tempo=150)
    copied(second, store)
    retuned(store, "Corner lamp", hours=2, tempo=140)
    assert copied(second, store).nothing
    copied(store, second)
    assert [list_tunes(each)[0].tune.tempo for each in (store, second)] == [140, 140]


def test_a_tune_whose_later_title_is_taken_gets_a_number(store: Store, second: Store) -> None:
    """And keeps it, as a tune that comes in does."""
    brought(store, "Corner lamp")
    copied(store, second)
    brought(store, "Last bus", "Am7 | D7 | Gmaj7 | Gmaj7")
    retuned(second, "Corner lamp", title="Last bus")
    merged = copied(second, store)
    assert merged.renamed == {"Last bus": "Last bus (2)"}
    assert [each.title for each in list_tunes(store)] == ["Last bus (2)", "Last bus"]
    assert copied(second, store).nothing


def replanned(store: Store, hours: int = 1, **changes: Any) -> None:
    """Change the first gig, its tunes by their titles, so many hours from now."""
    gig = list_gigs(store)[0]
    if "tunes" in changes:
        changes["tunes"] = tuple(find_tune(store, each) for each in changes["tunes"])
    wanted = replace(gig, **changes)
    change_gig(store, gig, wanted.title, wanted.day, wanted.tunes, NOW + timedelta(hours=hours))


def set_list(store: Store) -> list[str]:
    """Return the titles of the first gig's tunes."""
    return [each.title for each in list_gigs(store)[0].tunes]


@pytest.fixture
def cellar(store: Store, second: Store) -> Store:
    """A store with a gig of two of its three tunes, which the second has, too."""
    one, two, _ = (brought(store, title) for title in ("Corner lamp", "Last bus", "Slate"))
    add_gig(store, "Cellar", GIG, [one, two], NOW)
    copied(store, second)
    return store


def test_the_later_change_of_a_gig_is_taken(cellar: Store, second: Store) -> None:
    """Name, day and tunes go together; whoever imports first, and the next time there is
    nothing; what it was is told."""
    replanned(cellar, hours=1, title="Attic", tunes=["Last bus"])
    replanned(second, hours=2, day=GIG + timedelta(days=1), tunes=["Slate", "Corner lamp"])
    assert copied(cellar, second).nothing
    merged = copied(second, cellar)
    assert not merged.nothing
    (told,) = merged.replanned
    assert told.title == "Cellar"
    assert told.columns == {
        "title": ("Attic", "Cellar"),
        "day": (GIG, GIG + timedelta(days=1)),
        "tunes": (["Last bus"], ["Slate", "Corner lamp"]),
    }
    assert document(cellar) == document(second)
    assert set_list(cellar) == ["Slate", "Corner lamp"]
    for each, other in ((cellar, second), (second, cellar)):
        assert copied(each, other).nothing


def test_a_gig_comes_over_as_it_was_changed(cellar: Store, third: Store) -> None:
    """With the time of its change, by which a still later one wins."""
    replanned(cellar, hours=3, title="Attic")
    copied(cellar, third)
    assert document(third) == document(cellar)
    replanned(third, hours=2, tunes=["Slate"])  # that computer's clock is behind
    assert [each.title for each in copied(third, cellar).replanned] == ["Attic"]
    assert set_list(cellar) == ["Slate"]


def test_an_export_from_before_gigs_were_changed_changes_none(cellar: Store, second: Store) -> None:
    """It has no time of a change."""
    old = json.loads(json.dumps(document(second)))
    for each in (*old["tunes"], *old["gigs"]):
        del each["changed_at"]
    old["version"] = 1  # programs of that time refuse a later one, and say why
    replanned(cellar, tunes=["Slate"])
    assert merge(cellar, members_in(old), preferences_from).nothing
    assert set_list(cellar) == ["Slate"]


def test_a_gig_whose_later_name_is_taken_gets_a_number(cellar: Store, second: Store) -> None:
    """As a gig that comes in does, and keeps it."""
    add_gig(cellar, "Attic", GIG, [], NOW)
    replanned(second, title="Attic")
    assert copied(second, cellar).renamed == {"Attic": "Attic (2)"}
    assert [each.title for each in list_gigs(cellar)] == ["Attic (2)", "Attic"]
    assert copied(second, cellar).nothing


def test_titles_that_others_gave_up_there_are_taken(cellar: Store, second: Store) -> None:
    """Whichever the document has first: one takes the place of another, or two change places;
    it is told under the title that came of it."""
    add_gig(cellar, "Attic", GIG, [], NOW)
    copied(cellar, second)
    for before, after in (("Last bus", "Last bus, slow"), ("Corner lamp", "Last bus")):
        retuned(second, before, title=after)
    for place, title in ((0, "Roof"), (1, "Cellar"), (0, "Attic")):
        gig = list_gigs(second)[place]
        change_gig(second, gig, title, gig.day, gig.tunes, NOW + timedelta(hours=1))
    merged = copied(second, cellar)
    assert merged.renamed == {}
    assert document(cellar) == document(second)
    assert [each.title for each in merged.retuned] == ["Last bus", "Last bus, slow"]
    assert [(each.title, each.columns["title"]) for each in merged.replanned] == [
        ("Attic", ("Cellar", "Attic")),
        ("Cellar", ("Attic", "Cellar")),
    ]
    assert copied(second, cellar).nothing


@pytest.mark.parametrize("title", ["Corner lamp", "Last bus"])
def test_a_deleted_tune_leaves_the_gigs_of_its_own_store_only(
    cellar: Store, second: Store, title: str
) -> None:
    """An import takes it out of no gig; a later list of the other store comes without it."""
    delete_tune(cellar, find_tune(cellar, title), NOW)
    assert copied(cellar, second).nothing
    assert copied(second, cellar).nothing
    assert set_list(second) == ["Corner lamp", "Last bus"]
    replanned(second, tunes=["Slate", "Last bus", "Corner lamp"])
    copied(second, cellar)
    assert copied(cellar, second).nothing
    assert set_list(second) == ["Slate", "Last bus", "Corner lamp"]
    assert set_list(cellar) == [each for each in set_list(second) if each != title]


@pytest.mark.parametrize("uids", [("1", "2"), ("2", "1")])
def test_a_changed_list_names_tunes_by_any_of_their_uids(
    store: Store, second: Store, uids: tuple[str, str]
) -> None:
    """A tune that was brought in on both computers, and a store that doesn't know that yet."""
    for into, uid in ((store, uids[0]), (second, uids[1])):
        brought(into, "Slate")
        with into.write() as connection:
            connection.execute(change("UPDATE tune SET uid = :uid"), {"uid": uid})
        brought(into, f"Only {uid}")
    add_gig(store, "Cellar", GIG, list_tunes(store), NOW)
    old = json.loads(json.dumps(document(second)))
    copied(store, second)
    replanned(second, tunes=["Slate"])
    old["gigs"] = [{**document(second)["gigs"][0], "tunes": [uids[1]]}]
    merge(store, members_in(old), preferences_from)
    assert set_list(store) == set_list(second) == ["Slate"]
    for each, other in ((second, store), (store, second)):
        copied(each, other)
    assert document(store)["gigs"] == document(second)["gigs"]


GIG_DEEDS = ["rename", "move", "drop", "add", "turn", "retune", "delete", "merge"]


@settings(
    max_examples=4,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
    phases=[Phase.explicit, Phase.reuse, Phase.generate],
)
@given(
    rounds=st.lists(st.tuples(st.integers(0, 2), st.sampled_from(GIG_DEEDS)), max_size=14),
    order=st.permutations(list(permutations(range(3), 2))),
)
@example([(0, "move"), (1, "drop"), (2, "add"), (1, "turn")], list(permutations(range(3), 2)))
@example([(0, "delete"), (1, "turn"), (0, "move")], list(permutations(range(3), 2)))
def test_three_stores_agree_on_their_gigs(
    empty: Path,
    tmp_path_factory: pytest.TempPathFactory,
    rounds: list[tuple[int, str]],
    order: list[tuple[int, int]],
) -> None:
    """Whichever changed a gig and its tunes, two of them at one moment, and merges first; but for
    the tunes that one of them deleted."""
    folder = tmp_path_factory.mktemp("gigs")
    with ExitStack() as stack:
        stores = [
            stack.enter_context(
                open_store(copy_of(empty, folder / f"{each}.sqlite3"), now=NOW, backups=False)
            )
            for each in range(3)
        ]
        tunes = [brought(stores[0], f"Tune {number}") for number in range(5)]
        add_gig(stores[0], "Cellar", GIG, tunes[:4], NOW)
        for other in stores[1:]:
            copied(stores[0], other)
        for number, (who, deed) in enumerate(rounds):
            at = NOW + timedelta(hours=1 + number // 2)
            if deed == "merge":
                copied(stores[(who + 1) % 3], stores[who])
            else:
                deed_at_gig(stores[who], deed, at)
        for _ in range(2):
            for one, other in order:
                copied(stores[other], stores[one])
        kept = set.intersection(*({each.uid for each in list_tunes(store)} for store in stores))
        known = [gigs_but_for(store, kept) for store in stores]
        assert known[0] == known[1] == known[2]
        for each in stores:
            assert check_store(each) == []
            assert copied(stores[0], each).nothing


def deed_at_gig(store: Store, deed: str, at: datetime) -> None:
    """Do one deed at the gig of a store, or at a tune of it."""
    (gig,) = list_gigs(store)
    title, day, tunes = gig.title, gig.day, list(gig.tunes)
    others = [each for each in list_tunes(store) if each not in tunes]
    if deed == "retune" and tunes:
        change_tune(store, tunes[0], NewTune(replace(tunes[0].tune, tempo=100 + at.hour)), at)
    elif deed == "delete" and tunes:
        delete_tune(store, tunes[-1], at)
    else:
        if deed == "drop":
            tunes = tunes[1:]
        elif deed == "add":
            tunes[1:1] = others[:1]
        elif deed == "turn":
            tunes.reverse()
        elif deed == "rename":
            title = f"Night {at.hour}"
        else:
            day += timedelta(days=at.hour)
        change_gig(store, gig, title, day, tunes, at)


def gigs_but_for(store: Store, kept: set[str]) -> list[Any]:
    """Return the tunes that are kept, and the gigs with these of their tunes."""
    data = document(store)
    tunes = {each["uid"]: each for each in data["tunes"] if each["uid"] in kept}
    return [
        tunes,
        *({**each, "tunes": [uid for uid in each["tunes"] if uid in kept]}
          for each in data["gigs"]),
    ]  # fmt: skip


@pytest.fixture
def third(empty: Path, tmp_path: Path) -> Any:
    """The store of one more computer."""
    place = copy_of(empty, tmp_path / "third.sqlite3")
    with open_store(place, now=NOW, backups=False) as opened:
        yield opened


def twins(store: Store, second: Store, uids: tuple[str, str]) -> None:
    """Bring one tune in twice, under these uids."""
    for into, uid in ((store, uids[0]), (second, uids[1])):
        brought(into, "Corner lamp")
        with into.write() as connection:
            connection.execute(change("UPDATE tune SET uid = :uid"), {"uid": uid})


@pytest.mark.parametrize("uids", [("1", "2"), ("2", "1")])
def test_a_deleted_tune_takes_its_twin_along(
    store: Store, second: Store, uids: tuple[str, str]
) -> None:
    """Brought in on both computers, it goes by both uids, and stays away under both."""
    twins(store, second, uids)
    copied(second, store)
    (told,) = document(store)["tunes"]
    assert (told["uid"], told["also"]) == ("1", ["2"])
    assert copied(second, store).nothing
    assert len(list_tunes(store)) == 1
    delete_tune(store, find_tune(store, "Corner lamp"), NOW)
    merged = copied(second, store)
    assert (merged.nothing, merged.stayed_deleted) == (True, ["Corner lamp"])
    assert list_tunes(store) == []
    assert copied(second, store, bring_back=NOW).tunes == 1
    copied(store, second)
    assert len(list_tunes(second)) == 1


def test_tunes_that_are_one_elsewhere_become_one(store: Store, second: Store, third: Store) -> None:
    """One that had to take a number is joined when a store comes that knows; gigs keep it."""
    twins(store, second, ("1", "2"))
    for each in (store, second):
        copied(each, third)
    with store.write() as connection:
        words = "UPDATE tune SET title = 'Corner lamp (2)', folded = 'corner lamp (2)'"
        connection.execute(change(words))
    gig = add_gig(second, "Cellar", GIG, list_tunes(second), NOW)
    copied(second, store)
    assert [each.title for each in list_tunes(store)] == ["Corner lamp (2)", "Corner lamp"]
    add_gig(store, "Attic", GIG, list_tunes(store), NOW)
    assert copied(third, store).joined == {"Corner lamp": "Corner lamp (2)"}
    assert [each.title for each in list_tunes(store)] == ["Corner lamp (2)"]
    assert [len(each.tunes) for each in list_gigs(store)] == [1, 1]
    assert [each.uid for each in list_gigs(store)] == [gig.uid, list_gigs(store)[1].uid]
    for one, other in ((third, second), (store, second), (second, third), (store, third)):
        copied(one, other)
    for each in (store, second, third):
        assert document(each)["tunes"][0]["also"] == ["2"]
        assert len(list_gigs(each)) == 2


def test_what_was_deleted_under_a_uid_stays_away_under_all(
    store: Store, second: Store, third: Store
) -> None:
    """A store that joined both tells which other uid the deleted tune went by."""
    twins(store, second, ("1", "2"))
    for each in (store, second):
        copied(each, third)
    delete_tune(store, find_tune(store, "Corner lamp"), NOW)
    assert copied(third, store).stayed_deleted == ["Corner lamp"]
    assert copied(second, store).stayed_deleted == ["Corner lamp"]
    assert list_tunes(store) == []


@pytest.mark.parametrize(
    ("name", "value"),
    [("form", "AAAAA"), ("tags", ["["]), ("tempo", 4), ("chart", {}), ("key", "H"), ("title", " ")],
)
def test_a_tune_that_cannot_be_used_is_named(store: Store, second: Store, name, value) -> None:
    """The field is told, and nothing is stored."""
    brought(store, "Corner lamp")
    data = document(store)
    data["tunes"][0][name] = value
    with pytest.raises(BadInput, match="tunes, number 1"):
        merge(second, members_in(data), preferences_from)
    assert list_tunes(second) == []
