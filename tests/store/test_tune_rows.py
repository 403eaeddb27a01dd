"""Tunes and gigs: stored all or none, found by what a player types, deleted for good."""

from __future__ import annotations

import random
import subprocess
import sys
import time
from dataclasses import replace
from datetime import date, timedelta
from itertools import count
from pathlib import Path

import pytest
from sqlalchemy import event, text

from drillbox.errors import BadInput, NotFound
from drillbox.music.keys import Key, parse_key
from drillbox.music.pitch import Name
from drillbox.music.tunes import Tune, parse_form
from drillbox.practice.tunes import check_new
from drillbox.store.access import Store
from drillbox.store.checks import check_store
from drillbox.store.opening import open_store
from drillbox.store.tune_rows import (
    NewTune,
    add_gig,
    add_tunes,
    change_gig,
    change_tune,
    delete_gig,
    delete_tune,
    find_gig,
    find_tune,
    gigs_with,
    list_gigs,
    list_tunes,
    name_gig,
    name_tune,
)
from tests.music.shorthand import chart
from tests.store.making import NOW

FRIDAY = date(2026, 3, 6)


def new_tune(title: str = "Tram to the lake", *tags: str) -> NewTune:
    """Return a tune to be."""
    read = chart("Bbmaj7 | Am7b5 D7 | Gm6 | Ebmaj7 | Cm7 F7 | Bbmaj7")
    return NewTune(Tune(title, parse_key("Bb"), 168, read, parse_form("A4 coda2", 6)), tags)


def test_a_tune_comes_back_as_it_went_in(store: Store) -> None:
    """Title, key, tempo, chart, form and tags survive the store exactly."""
    new = new_tune("Tram to the lake", "quartet", "Friday")
    (stored,) = add_tunes(store, [new], NOW)
    assert find_tune(store, "tram") == stored
    assert (stored.tune, stored.tags, stored.added_at) == (new.tune, ("quartet", "Friday"), NOW)
    assert list_tunes(store) == [stored]


def test_one_taken_title_keeps_all_out(store: Store) -> None:
    """Of several tunes all are stored or none."""
    add_tunes(store, [new_tune()], NOW)
    with pytest.raises(BadInput, match="There is a tune 'Tram to the lake' already"):
        add_tunes(store, [new_tune("Salt"), new_tune("TRAM to the  lake")], NOW)
    assert [each.title for each in list_tunes(store)] == ["Tram to the lake"]


def test_a_gig_comes_back_with_its_tunes_in_order(store: Store) -> None:
    """The order of the evening is the player's, not that of the store."""
    one, two = add_tunes(store, [new_tune("One"), new_tune("Two")], NOW)
    made = add_gig(store, "Friday", FRIDAY, [two, one], NOW)
    assert find_gig(store, "fri") == made
    assert [each.title for each in made.tunes] == ["Two", "One"]
    later = add_gig(store, "Before", FRIDAY - timedelta(days=1), [], NOW)
    assert list_gigs(store) == [later, made]
    with pytest.raises(BadInput, match="There is a gig 'Friday' already"):
        add_gig(store, "FRIDAY", FRIDAY, [], NOW)


def test_a_changed_tune_stays_what_it_is(store: Store) -> None:
    """Its uid, its tags and its place in gigs; a title that another has is refused."""
    one, two = add_tunes(store, [new_tune("One", "quartet"), new_tune("Two")], NOW)
    add_gig(store, "Friday", FRIDAY, [one, two], NOW)
    tune = replace(one.tune, title="ONE", tempo=90, form=parse_form("A6", 6))
    change_tune(store, one, NewTune(tune, ("slow",)), NOW)
    changed = find_tune(store, "one")
    assert changed == replace(one, tune=tune, tags=("slow",))
    assert find_gig(store, "Friday").tunes == (changed, two)
    with pytest.raises(BadInput, match="There is a tune 'Two' already"):
        change_tune(store, one, NewTune(replace(tune, title="two")), NOW)
    assert find_tune(store, "one") == changed
    delete_tune(store, one, NOW)
    with pytest.raises(NotFound, match="'ONE' was deleted meanwhile"):
        change_tune(store, changed, NewTune(tune), NOW)


def test_a_changed_gig_stays_what_it_is(store: Store) -> None:
    """Its number and uid; a name that another has and what was deleted meanwhile are refused."""
    one, two = add_tunes(store, [new_tune("One"), new_tune("Two")], NOW)
    made = add_gig(store, "Friday", FRIDAY, [one, two], NOW)
    add_gig(store, "Saturday", FRIDAY, [one], NOW)
    saturday = FRIDAY + timedelta(days=1)
    changed = change_gig(store, made, "FRIDAY", saturday, [two], NOW)
    assert changed == replace(made, title="FRIDAY", day=saturday, tunes=(two,))
    assert find_gig(store, "friday") == changed
    with pytest.raises(BadInput, match="There is a gig 'Saturday' already"):
        change_gig(store, changed, "saturday", FRIDAY, [one], NOW)
    delete_tune(store, one, NOW)
    with pytest.raises(NotFound, match="The tune 'One' was deleted meanwhile"):
        change_gig(store, changed, "Friday", FRIDAY, [one], NOW)
    assert find_gig(store, "friday") == changed
    delete_gig(store, made, NOW)
    with pytest.raises(NotFound, match="'FRIDAY' was deleted meanwhile"):
        change_gig(store, changed, "Friday", FRIDAY, [two], NOW)
    assert [each.title for each in list_gigs(store)] == ["Saturday"]


def test_a_tune_knows_its_gigs(store: Store) -> None:
    """By day; one that is in none has none."""
    one, two = add_tunes(store, [new_tune("One"), new_tune("Two")], NOW)
    add_gig(store, "Later", FRIDAY + timedelta(days=7), [one], NOW)
    add_gig(store, "Friday", FRIDAY, [one], NOW)
    assert (gigs_with(store, one), gigs_with(store, two)) == (["Friday", "Later"], [])


def test_a_deleted_tune_leaves_its_gigs(store: Store) -> None:
    """The gig goes on without it, and the title is free again."""
    one, two = add_tunes(store, [new_tune("One"), new_tune("Two")], NOW)
    add_gig(store, "Friday", FRIDAY, [one, two], NOW)
    delete_tune(store, one, NOW)
    assert [each.title for each in find_gig(store, "Friday").tunes] == ["Two"]
    with pytest.raises(NotFound, match="There is no tune 'One'"):
        find_tune(store, "One")
    add_tunes(store, [new_tune("One")], NOW)


def test_what_another_window_deleted_meanwhile_is_no_fault(store: Store) -> None:
    """A tune or a gig that is gone is gone; a gig to be says which of its tunes is. Another that
    has its number since, as SQLite gives that of the last row once more, stays."""
    one, two = add_tunes(store, [new_tune("One"), new_tune("Two")], NOW)
    gig = add_gig(store, "Friday", FRIDAY, [one, two], NOW)
    for _ in range(2):
        delete_gig(store, gig, NOW)
        delete_tune(store, two, NOW)
    with pytest.raises(NotFound, match="The tune 'Two' was deleted meanwhile"):
        add_gig(store, "Saturday", FRIDAY, [one, two], NOW)
    assert list_gigs(store) == []
    (three,) = add_tunes(store, [new_tune("Three")], NOW)
    sunday = add_gig(store, "Sunday", FRIDAY, [three], NOW)
    assert (three.id, sunday.id) == (two.id, gig.id)
    for gone in (
        lambda: change_tune(store, two, NewTune(two.tune), NOW),
        lambda: change_gig(store, gig, "Friday", FRIDAY, [], NOW),
        lambda: change_gig(store, sunday, "Sunday", FRIDAY, [two], NOW),
    ):
        with pytest.raises(NotFound, match="was deleted meanwhile"):
            gone()
    delete_gig(store, gig, NOW)
    delete_tune(store, two, NOW)
    assert list_gigs(store) == [sunday]


def test_a_deleted_gig_leaves_its_tunes(store: Store) -> None:
    """Only the evening is off."""
    (one,) = add_tunes(store, [new_tune("One")], NOW)
    delete_gig(store, add_gig(store, "Friday", FRIDAY, [one], NOW), NOW)
    assert list_gigs(store) == []
    assert list_tunes(store) == [one]
    with pytest.raises(NotFound) as refused:
        find_gig(store, "Friday")
    assert "drillbox gig add" in refused.value.remedy


@pytest.mark.parametrize("number", range(6))
@pytest.mark.parametrize(
    "change", ["tunes", "gig", "change tune", "change gig", "delete tune", "delete gig"]
)
def test_a_fault_at_any_statement_changes_nothing(store: Store, change: str, number: int) -> None:
    """Whatever statement fails, tunes, gigs and their links stay as they were, and work later."""
    one, two = add_tunes(store, [new_tune("One"), new_tune("Two")], NOW)
    gig = add_gig(store, "Friday", FRIDAY, [one, two], NOW)
    changes = {
        "tunes": lambda: add_tunes(store, [new_tune("Three"), new_tune("Four")], NOW),
        "gig": lambda: add_gig(store, "Saturday", FRIDAY, [two, one], NOW),
        "change tune": lambda: change_tune(store, one, NewTune(replace(one.tune, tempo=90)), NOW),
        "change gig": lambda: change_gig(store, gig, "Saturday", FRIDAY, [two], NOW),
        "delete tune": lambda: delete_tune(store, one, NOW),
        "delete gig": lambda: delete_gig(store, gig, NOW),
    }
    left = [number]

    def fail(*_: object) -> None:
        left[0] -= 1
        if left[0] == -1:
            raise ZeroDivisionError

    event.listen(store.engine, "before_cursor_execute", fail)
    try:
        changes[change]()
    except ZeroDivisionError:
        assert (list_tunes(store), list_gigs(store)) == ([one, two], [gig])
        changes[change]()
    else:
        assert left[0] >= 0  # it has fewer statements than that
    finally:
        event.remove(store.engine, "before_cursor_execute", fail)


@pytest.mark.parametrize("seeds", [range(2), pytest.param(range(2, 32), marks=pytest.mark.slow)])
def test_a_kill_leaves_no_gig_without_its_tunes(tmp_path: Path, seeds: range) -> None:
    """Two programs (thirty, in the slow run) killed while they put gigs down: each gig there is
    has both its tunes.
    """
    place = tmp_path / "store.sqlite3"
    with open_store(place, now=NOW, backups=False) as store:
        add_tunes(store, [new_tune("One"), new_tune("Two")], NOW)
    told = [line for seed in seeds for line in _killed(place, seed)]
    with open_store(place, now=NOW, backups=False) as store:
        gigs = list_gigs(store)
        assert not check_store(store)
    assert {gig.title for gig in gigs} >= set(told)
    assert {tuple(tune.title for tune in gig.tunes) for gig in gigs} == {("Two", "One")}


def _killed(place: Path, seed: int) -> list[str]:
    """Let a program put gigs down, kill it after a random time; return those it told of."""
    code = "import sys; from tests.store.test_tune_rows import put_down; put_down(*sys.argv[1:])"
    words = [sys.executable, "-c", code, str(place), str(seed)]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True) as running:
        assert running.stdout
        first = running.stdout.readline()
        time.sleep(random.Random(seed).uniform(0, 0.05))
        running.kill()
        lines = [first, *running.stdout.read().splitlines(keepends=True)]
    return [line.strip() for line in lines if line.endswith("\n")]


def put_down(place: str, seed: str) -> None:
    """Put gigs down one after another, and tell of each once it is stored."""
    with open_store(Path(place), now=NOW, backups=False) as store:
        one, two = list_tunes(store)
        for number in count():
            gig = add_gig(store, f"Gig {seed} {number}", FRIDAY, [two, one], NOW)
            print(gig.title, flush=True)


def test_a_tune_in_a_key_that_no_signature_holds_is_refused(store: Store) -> None:
    """What a row couldn't be read with isn't written: F flat major."""
    far = new_tune()
    far = far._replace(tune=replace(far.tune, key=Key(Name("F", -1))))
    with pytest.raises(BadInput, match="Fb would need more accidentals"):
        add_tunes(store, [far], NOW)
    assert list_tunes(store) == []


def test_a_tune_that_cannot_be_read_can_be_deleted(store: Store) -> None:
    """Its row names a key that isn't read: it is found by its title, and goes, and so does a gig
    with it; another comes in."""
    add_gig(store, "Friday", FRIDAY, add_tunes(store, [new_tune()], NOW), NOW)
    with store.write() as connection:
        connection.execute(text("UPDATE tune SET key = 'Dbm'"))
    with pytest.raises(ValueError, match="Dbm"):
        list_tunes(store)
    check_new(store, [new_tune("Another").tune])
    delete_gig(store, name_gig(store, "fri"), NOW)
    assert list_gigs(store) == []
    delete_tune(store, name_tune(store, "tram"), NOW)
    assert list_tunes(store) == []
