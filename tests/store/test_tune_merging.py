"""Tunes and gigs go from store to store, and none is lost or brought back unasked."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from drillbox.errors import BadInput
from drillbox.music.keys import parse_key
from drillbox.music.tunes import Tune, parse_form
from drillbox.practice.preferences import preferences_from
from drillbox.store.access import Store
from drillbox.store.merging import merge
from drillbox.store.opening import open_store
from drillbox.store.sql import change
from drillbox.store.tune_rows import (
    NewTune,
    add_gig,
    add_tunes,
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
    """At its place, in those that are here still; one that was typed again meanwhile as well."""
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


def retuned(store: Store, named: str, hours: int = 1, **changes: Any) -> None:
    """Change a tune, so many hours from now."""
    found = find_tune(store, named)
    change_tune(store, found, replace(found.tune, **changes), NOW + timedelta(hours=hours))


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
