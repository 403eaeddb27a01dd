"""Several programs on one store at the same time: none is refused, and no update is lost."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
import threading
import time
from contextlib import closing
from pathlib import Path

import pytest

from drillbox.errors import Overtaken
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules
from drillbox.store.access import PATIENCE, Store
from drillbox.store.card_rows import card
from drillbox.store.checks import check_store
from drillbox.store.opening import open_store
from drillbox.store.reckoning import undo_attempt
from tests.store.at_once import at_once, ratings_of
from tests.store.making import NOW, add, go, session
from tests.store.reading import attempts_of

CARDS = 2  # few, so that the programs meet


def check_counts(place: Path, raters: list[list[int]]) -> None:
    """Every rating that a program stored is there, and each card is what its log gives."""
    with open_store(place, now=NOW) as store:
        logs = [attempts_of(store, card_id) for card_id in (1, 2)]
        assert sum(map(len, logs)) == sum(stored for stored, *_ in raters)
        for card_id, log in zip((1, 2), logs, strict=True):
            state = card(store, card_id).state
            assert state.attempts == len(log)
            assert ratings_of(log, Rules()) == state
        assert check_store(store) == []


def test_two_sessions_and_a_summary(place: Path) -> None:
    """For a second: no fault reaches anyone, nothing is lost, nothing is half seen."""
    with open_store(place, now=NOW) as store:
        add(store, "Late kettle")
    one, two, sums = at_once(place, CARDS, 1, "rate", "rate", "sum")
    assert min(one[0], two[0]) >= 1
    assert one[0] + two[0] > 10
    assert sums[0] >= 1
    check_counts(place, [one, two])


def test_twenty_sessions(place: Path) -> None:
    """On the same two cards: each gets its ratings in within its patience."""
    with open_store(place, now=NOW) as store:
        add(store, "Late kettle")
    raters = at_once(place, CARDS, 0.5, *["rate"] * 20)
    assert all(stored > 0 for stored, *_ in raters)
    check_counts(place, raters)


@pytest.mark.slow
def test_six_sessions_for_longer(place: Path) -> None:
    """The same with six raters for fifteen seconds."""
    with open_store(place, now=NOW) as store:
        add(store, "Late kettle")
    *raters, _ = at_once(place, CARDS, 15, *["rate"] * 6, "sum")
    check_counts(place, raters)


def test_a_rating_waits_for_a_writer_that_takes_its_time(store: Store) -> None:
    """Another program that writes for two seconds delays the rating and no more."""
    add(store, "Late kettle")
    at = session(store)
    held = threading.Event()

    def hold() -> None:
        with closing(sqlite3.connect(store.place, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            held.set()
            time.sleep(2)
            other.execute("ROLLBACK")

    holder = threading.Thread(target=hold)
    holder.start()
    held.wait()
    began = time.monotonic()
    go(store, 1, at)
    holder.join()
    assert time.monotonic() - began > 1
    assert len(attempts_of(store, 1)) == 1
    assert PATIENCE >= 10_000


def test_the_slower_of_two_computes_anew(place: Path) -> None:
    """Both ratings of one card count, the second on top of the first, which stays then."""
    with open_store(place, now=NOW) as one, open_store(place, now=NOW) as two:
        add(one, "Late kettle")
        at = session(one)
        seen = card(two, 1).state
        (first,) = go(one, 1, at, (Recall.CLEAN,))
        assert card(two, 1).state != seen
        go(two, 1, at, (Recall.CLEAN,))
        with pytest.raises(Overtaken):
            undo_attempt(one, first.uid, NOW)
        assert card(one, 1).state == card(two, 1).state
        assert card(one, 1).state.tempo.tempo == 96  # by one rung, then by one and a half


def test_reading_goes_on_beside_a_writer(store: Store) -> None:
    """A summary never waits for a rating, and sees all of it or nothing."""
    add(store, "Late kettle")
    go(store, 1, session(store))
    with closing(sqlite3.connect(store.place, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        other.execute("UPDATE card SET note = 'half'")
        began = time.monotonic()
        assert card(store, 1).note is None
        assert time.monotonic() - began < 1
        other.execute("ROLLBACK")


def test_a_program_that_comes_and_goes_leaves_a_session_its_log(place: Path) -> None:
    """A summary ends while a session is open: what is rated after it is there at once.

    The last program to close a store takes its WAL away, and knows by locks that it is the
    last. A process lets go of all its locks on a file when it closes any handle on it (POSIX;
    sqlite.org, "How To Corrupt An SQLite Database File", 2.2), so a session must open no other.
    """
    with open_store(place, now=NOW) as store:
        add(store, "Late kettle")
    count = (
        "import sqlite3, sys; store = sqlite3.connect(sys.argv[1]);"
        " print(*store.execute(sys.argv[2]).fetchone()); store.close()"
    )
    asked = [sys.executable, "-c", count, str(place), "SELECT count(*) FROM attempt"]
    with open_store(place, now=NOW) as store:
        sitting = session(store)
        for rated in (1, 2, 3):
            go(store, 1, sitting)
            seen = subprocess.run(asked, capture_output=True, text=True, check=True)
            assert int(seen.stdout) == rated
            assert place.with_name(f"{place.name}-wal").exists()
