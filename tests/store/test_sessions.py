"""Drill sessions: begun, ended once, and seen from another program while open."""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError

from drillbox.memory.cards import replay, untried
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules
from drillbox.practice.preferences import preferences_from
from drillbox.store.access import Store
from drillbox.store.card_rows import cards_of
from drillbox.store.checks import check_store
from drillbox.store.files import host_name, is_running, process_name, this_process
from drillbox.store.log import attempted_of
from drillbox.store.merging import merge
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import delete_phrase
from drillbox.store.reckoning import undo_attempt
from drillbox.store.sessions import (
    PastSession,
    add_history,
    begin_session,
    end_session,
    open_sessions,
)
from drillbox.store.values import NewAttempt
from tests.conftest import copied
from tests.store.making import DAY, NOW, ZONE, add, add_in_keys, go, session, step
from tests.store.reading import attempts_of, document, members_in


def test_an_open_session_is_seen_until_it_ends(store: Store) -> None:
    """A second program on the store is told of the first one's session."""
    begun = begin_session(store, minutes=20, zone=ZONE, kind="drill", now=NOW)
    with open_store(store.place, now=NOW) as other:
        assert open_sessions(other, NOW) == [begun]
        end_session(store, begun.id, NOW + timedelta(minutes=5))
        assert open_sessions(other, NOW) == []


def belongs_to(store: Store, session_id: int, host: str | None, process: str | None) -> None:
    """Say whose a session is."""
    words = "UPDATE drill_session SET host = :host, process = :process WHERE id = :id"
    with store.write() as connection:
        values = {"host": host, "process": process, "id": session_id}
        connection.execute(text(words), values)


def other_process() -> tuple[str, subprocess.Popen[bytes]]:
    """Return the name of a process that runs until its input is closed, and the process."""
    running = subprocess.Popen(["cat"], stdin=subprocess.PIPE)
    return process_name(running.pid), running


def test_a_killed_session_is_not_open(store: Store) -> None:
    """As long as its process runs it is open, after hours too; once that is gone it isn't."""
    begun = begin_session(store, minutes=20, zone=ZONE, kind="drill", now=NOW)
    process, running = other_process()
    belongs_to(store, begun.id, host_name(), process)
    for later in (timedelta(), timedelta(hours=20), -timedelta(days=365)):
        assert [each.id for each in open_sessions(store, NOW + later)] == [begun.id]
    running.kill()
    running.communicate()
    for later in (timedelta(), timedelta(hours=20), -timedelta(days=365)):
        assert open_sessions(store, NOW + later) == []


def test_a_process_number_that_was_given_anew_is_another_process(store: Store) -> None:
    """After a restart some other program has the number of the one that was cut off."""
    begun = begin_session(store, minutes=20, zone=ZONE, kind="drill", now=NOW)
    number, _, began = this_process().partition(":")
    belongs_to(store, begun.id, host_name(), f"{number}:{int(began) - 1}")
    assert open_sessions(store, NOW) == []


@pytest.mark.parametrize("where", ["elsewhere", "unknown", "only its number"])
def test_where_the_process_cannot_be_asked_time_decides(store: Store, where: str) -> None:
    """Of another computer, or from before it was kept: twice its minutes and half an hour."""
    begun = begin_session(store, minutes=20, zone=ZONE, kind="round", now=NOW)
    number = this_process().partition(":")[0]
    whose = {"elsewhere": ("attic", "1:1"), "unknown": (None, None)}.get(
        where, (host_name(), number)
    )
    belongs_to(store, begun.id, *whose)
    assert len(open_sessions(store, NOW + timedelta(minutes=69))) == 1
    assert open_sessions(store, NOW + timedelta(minutes=70)) == []
    # A clock that stood a year ahead there: not open for a year. Two may differ a little.
    assert open_sessions(store, NOW - timedelta(days=365)) == []
    assert len(open_sessions(store, NOW - timedelta(minutes=5))) == 1


def test_processes_are_told_apart() -> None:
    """One that runs, one that ended, a number that nobody has."""
    process, running = other_process()
    assert is_running(process) is True
    assert is_running(process.partition(":")[0]) is True
    running.communicate()
    assert is_running(process) is False
    assert is_running(str(2**31 - 1)) is False


@pytest.mark.skipif(sys.platform != "linux", reason="what a process is doing is told by Linux")
def test_a_process_that_nobody_asks_for_its_end_has_ended() -> None:
    """As in a container without an init: what a killed program left there is swept, too."""
    process, running = other_process()
    running.kill()
    os.waitid(os.P_PID, running.pid, os.WEXITED | os.WNOWAIT)  # it stays a zombie
    number = process.partition(":")[0]
    os.kill(int(number), 0)
    assert is_running(process) is False
    assert is_running(number) is False
    running.communicate()


@pytest.mark.skipif(not hasattr(os, "setresuid"), reason="users are changed by Linux's call")
def test_a_process_of_another_user_runs() -> None:
    """Process 1 is root's: nobody else may signal it, but it is there."""
    users = os.getresuid()
    os.setresuid(*(65534, 65534, 0) if 0 in users else users)
    try:
        assert is_running("1") is True
    finally:
        os.setresuid(*users)


def test_a_session_counts_its_ratings(store: Store) -> None:
    """Also undone ones; a phrase that is deleted takes its own along."""
    add(store, "Late kettle", "Blue door")
    at = session(store)
    *_, (made,) = (go(store, card_id, at) for card_id in (1, 2, 13))
    undo_attempt(store, made.uid, NOW)
    assert ratings(store) == [3]
    delete_phrase(store, 1, NOW)
    assert ratings(store) == [1]
    assert check_store(store) == []


def test_a_merge_counts_what_it_adds(store: Store, empty: Path, tmp_path: Path) -> None:
    """Once, however often it comes; whose a session is stays with the store it was begun in."""
    add_in_keys(store, "Late kettle")
    at = session(store)
    go(store, 1, at)
    place = copied(empty, tmp_path / "other.sqlite3")
    with open_store(place, now=NOW, backups=False) as other:
        for _ in range(2):
            merge(other, members_in(document(store)), preferences_from)
        assert ratings(other) == [1]
        go(store, 2, at)
        merge(other, members_in(document(store)), preferences_from)
        assert ratings(other) == [2]
        assert [each.process for each in open_sessions(other, NOW)] == [None]
        assert check_store(other) == []


def ratings(store: Store) -> list[int]:
    """Return how many ratings each session counts."""
    with store.read() as connection:
        return list(connection.exec_driver_sql("SELECT ratings FROM drill_session").scalars())


def test_the_first_end_stands(store: Store) -> None:
    """Ending a session again changes nothing."""
    begun = begin_session(store, minutes=20, zone=ZONE, kind="drill", now=NOW)
    end_session(store, begun.id, NOW + timedelta(minutes=5))
    end_session(store, begun.id, NOW + timedelta(minutes=9))
    with store.read() as connection:
        ended = connection.exec_driver_sql("SELECT ended_at FROM drill_session").scalar_one()
    assert ended == "2026-03-01 18:05:00.000000"


def test_the_schema_refuses_what_no_session_is(store: Store) -> None:
    """No minutes, or another kind, are refused by the store itself."""
    with pytest.raises(IntegrityError, match="ck_drill_session_minutes"):
        begin_session(store, minutes=0, zone=ZONE, kind="drill", now=NOW)
    with pytest.raises(IntegrityError, match="ck_drill_session_kind"):
        begin_session(store, minutes=1, zone=ZONE, kind="nap", now=NOW)  # type: ignore[arg-type] # meant


def test_reads_back(store: Store) -> None:
    """Attempts keep session, order and first of day; each card stands where they lead."""
    record = add(store, "Late kettle")[0]
    card = cards_of(store, record.id)[0]
    state, sessions = untried(132, Rules()), []
    for days in (2, 1):
        then, attempts = NOW - timedelta(days=days), []
        for minute, recall in ((1, Recall.LOST), (5, Recall.CLEAN)):
            attempted, after = step(state, recall, DAY - timedelta(days=days))
            at = then + timedelta(minutes=minute)
            attempts.append(NewAttempt(card.id, 0, at, ZONE, attempted, state.attempts, 31.5, 2))
            state = after
        sessions.append(PastSession(then, then + timedelta(minutes=20), 20, ZONE, tuple(attempts)))
    add_history(store, sessions, {card.id: state})

    found = attempts_of(store, card.id)
    assert [(each.recall, each.first_of_day, each.seconds, each.loops) for each in found] == [
        (Recall.LOST, True, 31.5, 2),
        (Recall.CLEAN, False, 31.5, 2),
    ] * 2
    assert len({each.session_id for each in found}) == 2
    assert {each.session_id for each in found[:2]} == {found[0].session_id}
    stored = cards_of(store, record.id)[0]
    assert stored.opened_day == DAY - timedelta(days=2)
    assert stored.state == state == replay(132, (attempted_of(each) for each in found), Rules())
    assert open_sessions(store, NOW - timedelta(days=1)) == []


def test_all_or_nothing(store: Store) -> None:
    """Where one attempt can't be stored, no session is."""
    record = add(store, "Late kettle")[0]
    card = cards_of(store, record.id)[0]
    attempted, after = step(untried(132, Rules()), Recall.CLEAN, DAY)
    good = NewAttempt(card.id, 0, NOW, ZONE, attempted, 0)
    bad = NewAttempt(card.id + 999, 0, NOW, ZONE, attempted, 0)
    session = PastSession(NOW, NOW + timedelta(minutes=1), 20, ZONE, (good, bad))
    with pytest.raises(IntegrityError):
        add_history(store, [session], {card.id: after})
    assert attempts_of(store, card.id) == []
    assert cards_of(store, record.id)[0].state.attempts == 0
