"""Attempts: each stored together with its card's next state, taken back but never deleted."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, Row

from drillbox.errors import NotFound
from drillbox.memory.candidates import Timed
from drillbox.memory.cards import Attempted, CardState
from drillbox.memory.days import offset_minutes
from drillbox.memory.learning import Seen
from drillbox.memory.recall import Recall
from drillbox.store.sql import ATTEMPT, CARD, HEARD, STATE, change, query
from drillbox.store.values import AttemptRecord, AttemptStored, CardMoved, HeardAttempt, NewAttempt

if TYPE_CHECKING:
    from drillbox.store.access import Store

__all__ = ["AttemptRecord", "AttemptStored", "CardMoved", "HeardAttempt", "NewAttempt"]

_SEEN = """
SELECT attempts, opened_day, last_day,
       NOT EXISTS (SELECT 1 FROM attempt WHERE card_id = :id AND day = :day
                   AND undone_at IS NULL) AS first_of_day,
       (SELECT max(at) FROM attempt WHERE card_id = :id AND undone_at IS NULL) AS at
FROM card WHERE id = :id
"""
LOGGED = "day, recall, attempt.tempo, hint, due_after, in_round, attempt.goal"
"""The columns of an attempt that ``attempted_of`` needs."""
_THERE = "SELECT id FROM attempt WHERE uid = :uid"
_INSERT = f"{ATTEMPT.insert()} RETURNING id"
COUNT = "UPDATE drill_session SET ratings = ratings + :more WHERE id = :id"
_MOVE = CARD.update(*STATE)


def record_attempt(store: Store, new: NewAttempt, after: CardState) -> AttemptRecord:
    """Store an attempt and its card's next state; both are on disk when this returns.

    It is never dated before the card's latest one, be it that another program rated the card
    meanwhile or that a clock was ahead: a log is replayed by these times, in the order in which
    the card moved. Its practice day stays the one it has.

    Raises CardMoved, and stores nothing, if the card was rated since ``after`` was computed;
    AttemptStored if it is there already; NotKnown if the store's answer is lost, and then the
    same attempt can be tried again; StoreFailure if the store can't take it.
    """
    with store.write() as connection:
        # Under the writers' lock: what was on its way when an answer was lost has arrived or not.
        there = connection.execute(query(_THERE), {"uid": new.uid}).scalar()
        if there is not None:
            raise AttemptStored(there)
        seen = _seen(connection, new.card_id, new.attempted.day)
        if seen.attempts != new.seen_attempts:
            raise CardMoved(new.card_id)
        new = replace(new, at=max(new.at, seen.at or new.at))
        values = insert_attempt(connection, new, first_of_day=bool(seen.first_of_day))
        move_card(connection, new.card_id, after, seen.opened_day or new.attempted.day)
        if new.heard:
            keep_heard(connection, values["id"], new.heard)
    return AttemptRecord(**(values | {"recall": Recall(new.attempted.recall)}))


def _seen(connection: Connection, card_id: int, day: date) -> Row[Any]:
    row = connection.execute(query(_SEEN), {"id": card_id, "day": day}).one_or_none()
    if row is None:
        raise NotFound(f"There is no card number {card_id}", "See drillbox phrases.")
    return row


def insert_attempt(
    connection: Connection, new: NewAttempt, *, first_of_day: bool
) -> dict[str, Any]:
    """Insert one attempt within a transaction of this room; return its columns."""
    attempted = new.attempted
    values: dict[str, Any] = {
        "uid": new.uid,
        "card_id": new.card_id,
        "session_id": new.session_id,
        "at": new.at,
        "zone": new.zone,
        "day": attempted.day,
        "recall": int(attempted.recall),
        "tempo": attempted.tempo,
        "hint": attempted.hint,
        "seconds": new.seconds,
        "loops": new.loops,
        "in_round": attempted.in_round,
        "first_of_day": first_of_day,
        "due_after": attempted.due,
        "undone_at": None,
        "reached": new.reached,
        "utc_offset": offset_minutes(new.at, new.zone),
        "goal": attempted.goal,
    }
    connection.execute(change(COUNT), {"id": new.session_id, "more": 1})
    values["id"] = connection.execute(change(_INSERT), values).scalar_one()
    return values


def keep_heard(connection: Connection, attempt_id: int, heard: HeardAttempt) -> None:
    """Keep what was heard of an attempt within a transaction of this room."""
    values = {
        "attempt_id": attempt_id,
        "ear": heard.ear,
        "proposed": heard.proposed and int(heard.proposed),
        "other": heard.other and int(heard.other),
        "features": heard.features,
    }
    connection.execute(change(HEARD.insert()), values)


def move_card(
    connection: Connection, card_id: int, state: CardState, opened_day: date | None
) -> None:
    """Put a card into a state within a transaction of this room."""
    memory = state.memory
    connection.execute(
        change(_MOVE),
        {
            "id": card_id,
            "opened_day": opened_day if memory else None,
            "stability": memory and memory.stability,
            "difficulty": memory and memory.difficulty,
            "last_day": memory and memory.last_day,
            "tempo": state.tempo.tempo,
            "stride": state.tempo.stride,
            "attempts": state.attempts,
            "due_day": state.due,
            "days_clean": state.days_clean,
            "days_missed": state.days_missed,
            "clean_run": state.clean_run,
            "goal_run": state.goal_run,
            "owned": state.owned,
        },
    )


def undo_attempt(store: Store, attempt_id: int, before: CardState, now: datetime) -> None:
    """Take an attempt back: its card is again as ``before``, the attempt stays, marked undone.

    Only the card's latest attempt can be taken back: raises CardMoved if another came after,
    NotFound if there is no such attempt or it is undone already.
    """
    mark = "UPDATE attempt SET undone_at = :now WHERE id = :id AND undone_at IS NULL"
    with store.write() as connection:
        attempt = _attempt(connection, attempt_id)
        seen = _seen(connection, attempt.card_id, attempt.day)
        if seen.attempts != before.attempts + 1:
            raise CardMoved(attempt.card_id, undoing=True)
        connection.execute(change(mark), {"now": now, "id": attempt_id})
        move_card(connection, attempt.card_id, before, seen.opened_day)


def _attempt(connection: Connection, attempt_id: int) -> AttemptRecord:
    words = f"{ATTEMPT.select()} WHERE id = :id AND undone_at IS NULL"
    row = connection.execute(query(words), {"id": attempt_id}).one_or_none()
    if row is None:
        raise NotFound("That rating is undone already", "See drillbox show.")
    return _record(row)


def _record(row: Row[Any]) -> AttemptRecord:
    return AttemptRecord(**(row._asdict() | {"recall": Recall(row.recall)}))


def attempted_of(row: Row[Any]) -> Attempted:
    """Return what the memory needs of a row with the columns of ``LOGGED`` to replay it."""
    return Attempted(
        row.day, Recall(row.recall), row.tempo, row.hint, row.due_after, row.in_round, row.goal
    )


def recent_attempts(store: Store, count: int) -> list[Timed]:
    """Return how long the latest ``count`` attempts took, newest first, for the player's pace.

    Those of rounds are left out: in a round the beat sets the pace.
    """
    words = """
        SELECT seconds, quarters, attempt.tempo, loops
        FROM attempt JOIN card ON card.id = card_id
        WHERE undone_at IS NULL AND NOT in_round ORDER BY day DESC, at DESC LIMIT :count
    """
    with store.read() as connection:
        return [Timed(*row) for row in connection.execute(query(words), {"count": count}).all()]


def latest_firsts(store: Store, count: int) -> list[Seen]:
    """Return the latest ``count`` of the cards' first attempts of a day, oldest first."""
    words = """
        SELECT card_id, day, recall, tempo, coalesce(reached, tempo) AS reached
        FROM attempt WHERE undone_at IS NULL AND first_of_day
        ORDER BY day DESC, at DESC LIMIT :count
    """
    with store.read() as connection:
        rows = connection.execute(query(words), {"count": count}).all()
    return [
        Seen(row.card_id, row.day.toordinal(), row.recall >= Recall.CLEAN, row.tempo, row.reached)
        for row in rows[::-1]
    ]
