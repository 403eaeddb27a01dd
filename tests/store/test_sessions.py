"""Drill sessions: begun, ended once, and seen from another program while open."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy.exc import IntegrityError

from drillbox.store.access import Store
from drillbox.store.opening import open_store
from drillbox.store.sessions import begin_session, end_session, open_sessions
from tests.store.making import NOW, ZONE


def test_an_open_session_is_seen_until_it_ends(store: Store) -> None:
    """A second program on the store is told of the first one's session."""
    begun = begin_session(store, minutes=20, zone=ZONE, kind="drill", now=NOW)
    with open_store(store.place, now=NOW) as other:
        assert open_sessions(other, NOW) == [begun]
        end_session(store, begun.id, NOW + timedelta(minutes=5))
        assert open_sessions(other, NOW) == []


def test_a_session_that_was_cut_off_is_not_open_for_ever(store: Store) -> None:
    """Without an end it counts as open for twice its minutes and half an hour."""
    begun = begin_session(store, minutes=20, zone=ZONE, kind="round", now=NOW)
    assert open_sessions(store, NOW + timedelta(minutes=69)) == [begun]
    assert open_sessions(store, NOW + timedelta(minutes=70)) == []


def test_a_session_of_a_clock_that_stood_ahead_is_not_open(store: Store) -> None:
    """Cut off a year ahead and put right: not "open" for a year; two clocks may differ a little."""
    begin_session(store, minutes=20, zone=ZONE, kind="drill", now=NOW + timedelta(days=365))
    assert open_sessions(store, NOW) == []
    begin_session(store, minutes=20, zone=ZONE, kind="drill", now=NOW + timedelta(minutes=5))
    assert len(open_sessions(store, NOW)) == 1


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
