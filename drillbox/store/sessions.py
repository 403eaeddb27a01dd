"""Drill sessions: begun, ended, left open; and a past of them brought in at once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any

from drillbox.memory.cards import CardState
from drillbox.store.card_rows import insert_attempt, move_card
from drillbox.store.files import host_name, is_running, tells_beginning, this_process
from drillbox.store.sql import SESSION, change, query
from drillbox.store.values import NewAttempt, SessionKind, SessionRecord, new_uid

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
    values: dict[str, Any] = {
        "uid": new_uid(),
        "started_at": now,
        "ended_at": None,
        "minutes": minutes,
        "zone": zone,
        "kind": kind,
        "host": host_name(),
        "process": this_process(),
        "ratings": 0,
    }
    # The first card needn't wait for the day's backup; the first rating makes it.
    with store.write(backup=False) as connection:
        session_id = connection.execute(change(words), values).scalar_one()
    return SessionRecord(**values, id=session_id)


def end_session(store: Store, session_id: int, now: datetime) -> None:
    """Store the end of a drill session; the first end stands."""
    words = "UPDATE drill_session SET ended_at = :now WHERE id = :id AND ended_at IS NULL"
    with store.write() as connection:
        connection.execute(change(words), {"now": now, "id": session_id})


def ratings_kept(store: Store, session_id: int) -> int:
    """Return how many ratings of a session stand in the store."""
    words = "SELECT count(*) FROM attempt WHERE session_id = :id AND undone_at IS NULL"
    with store.read() as connection:
        return int(connection.execute(query(words), {"id": session_id}).scalar_one())


def open_sessions(store: Store, now: datetime) -> list[SessionRecord]:
    """Return the sessions that seem open elsewhere, oldest first.

    Of those without an end, one of a process on this computer is open as long as that process
    runs. One of another computer, whose processes can't be asked, is taken for open if it began
    no longer ago than twice its minutes and half an hour: one that was cut off there isn't open
    for ever. Nor is one that is to begin in time to come: a clock stood ahead then.
    """
    words = f"""
        {SESSION.select()} WHERE ended_at IS NULL
        AND (host = :host OR started_at > :at AND started_at < :soon) ORDER BY started_at
    """
    with store.read() as connection:
        span = {"at": now - _LONGEST, "soon": now + _GRACE, "host": host_name()}
        rows = connection.execute(query(words), span).all()
    return [each for row in rows if _is_open(each := SessionRecord(*row), now)]


def _is_open(session: SessionRecord, now: datetime) -> bool:
    end = session.started_at + 2 * timedelta(minutes=session.minutes) + _GRACE
    recent = session.started_at < now + _GRACE and now < end
    if session.process is None or session.host != host_name():
        return recent
    running = is_running(session.process)
    if tells_beginning(session.process):
        return bool(running)
    return recent and running is not False


@dataclass(frozen=True, slots=True)
class PastSession:
    """A drill session that is over. The ``session_id`` of its attempts is set when stored."""

    started_at: datetime
    ended_at: datetime
    minutes: int
    zone: str
    attempts: tuple[NewAttempt, ...]


def add_history(
    store: Store, sessions: Sequence[PastSession], states: Mapping[int, CardState]
) -> None:
    """Store past sessions, oldest first, of cards never attempted: all in one transaction.

    ``states`` gives for each card that was attempted the state that its attempts lead to.
    """
    words = f"{SESSION.insert()} RETURNING id"
    opened: dict[int, date] = {}
    seen: set[tuple[int, date]] = set()
    with store.write() as connection:
        for session in sessions:
            values = {
                "uid": new_uid(),
                "started_at": session.started_at,
                "ended_at": session.ended_at,
                "minutes": session.minutes,
                "zone": session.zone,
                "kind": "drill",
                "host": None,
                "process": None,
                "ratings": 0,
            }
            session_id = connection.execute(change(words), values).scalar_one()
            for attempt in session.attempts:
                day = attempt.attempted.day
                new = replace(attempt, session_id=session_id)
                insert_attempt(connection, new, first_of_day=(attempt.card_id, day) not in seen)
                seen.add((attempt.card_id, day))
                opened.setdefault(attempt.card_id, day)
        for card_id, state in states.items():
            move_card(connection, card_id, state, opened[card_id])
