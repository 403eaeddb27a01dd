"""Drill sessions: begun, ended, and those that another program has open."""

from __future__ import annotations

import uuid
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from drillbox.store.columns import SESSION
from drillbox.store.sql import change, query
from drillbox.store.values import SessionKind, SessionRecord

if TYPE_CHECKING:
    from drillbox.store.access import Store

# A session that was cut off never ends; one is taken for open no longer than this.
_GRACE = timedelta(minutes=30)
_LONGEST = timedelta(hours=12)


def begin_session(
    store: Store, *, minutes: int, zone: str, kind: SessionKind, now: datetime
) -> SessionRecord:
    """Store the beginning of a drill session of so many minutes and return it."""
    words = f"{SESSION.insert()} RETURNING id"
    uid = uuid.uuid4().hex
    values = {
        "uid": uid,
        "started_at": now,
        "ended_at": None,
        "minutes": minutes,
        "zone": zone,
        "kind": kind,
    }
    # The first card needn't wait for the day's backup; the first rating makes it.
    with store.write(backup=False) as connection:
        session_id = connection.execute(change(words), values).scalar_one()
    return SessionRecord(session_id, uid, now, None, minutes, zone, kind)


def end_session(store: Store, session_id: int, now: datetime) -> None:
    """Store the end of a drill session; the first end stands."""
    words = "UPDATE drill_session SET ended_at = :now WHERE id = :id AND ended_at IS NULL"
    with store.write() as connection:
        connection.execute(change(words), {"now": now, "id": session_id})


def kept_of(store: Store, session_id: int) -> int:
    """Return how many ratings of a session stand in the store."""
    words = "SELECT count(*) FROM attempt WHERE session_id = :id AND undone_at IS NULL"
    with store.read() as connection:
        return int(connection.execute(query(words), {"id": session_id}).scalar_one())


def open_sessions(store: Store, now: datetime) -> list[SessionRecord]:
    """Return the sessions that seem open elsewhere, oldest first.

    That is those without an end that began no longer ago than twice their minutes and half
    an hour: one that was cut off by a power failure isn't open for ever. Nor is one that is
    to begin in time to come: the clock stood ahead then.
    """
    words = f"""
        {SESSION.select()}
        WHERE ended_at IS NULL AND started_at > :at AND started_at < :soon ORDER BY started_at
    """
    with store.read() as connection:
        span = {"at": now - _LONGEST, "soon": now + _GRACE}
        rows = connection.execute(query(words), span).all()
    found = [SessionRecord(*row) for row in rows]
    return [
        each
        for each in found
        if now < each.started_at + 2 * timedelta(minutes=each.minutes) + _GRACE
    ]
