"""Drill sessions and attempts of a document: united, and undone where either side undid them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date
from itertools import islice
from typing import Any

from sqlalchemy import Connection

from drillbox.store.card_rows import COUNT, keep_heard
from drillbox.store.checked import DocumentAttempt, DocumentSession
from drillbox.store.phrase_merging import Place
from drillbox.store.sql import ATTEMPT, SESSION, change, query
from drillbox.store.values import HeardAttempt, Merged

_AT_ONCE = 1000  # attempts that are looked up and added by one statement
_KNOWN = "SELECT id, uid, card_id, undone_at FROM attempt WHERE uid IN :uids"


def merge_sessions(
    connection: Connection, sessions: Iterable[DocumentSession], merged: Merged
) -> dict[str, int]:
    """Add the sessions that are missing, end those that ended there; return all by uid.

    Of two ends the earlier one stands.
    """
    rows = connection.execute(query("SELECT id, uid, ended_at FROM drill_session")).all()
    known = {row.uid: row for row in rows}
    numbers: dict[str, int] = {row.uid: row.id for row in rows}
    insert, end = f"{SESSION.insert()} RETURNING id", SESSION.update("ended_at")
    for each in sessions:
        row = known.get(each.uid)
        if row is None:
            values = {**each.model_dump(), "host": None, "process": None, "ratings": 0}
            numbers[each.uid] = connection.execute(change(insert), values).scalar_one()
            merged.sessions += 1
        elif each.ended_at and (row.ended_at is None or each.ended_at < row.ended_at):
            connection.execute(change(end), {"id": row.id, "ended_at": each.ended_at})
    return numbers


def merge_attempts(
    connection: Connection,
    attempts: Iterator[DocumentAttempt],
    cards: Mapping[Place, int],
    sessions: Mapping[str, int],
    merged: Merged,
) -> set[int]:
    """Add the attempts that are missing; return the cards that changed by it."""
    adding = _Adding(connection, cards, sessions, merged)
    while batch := list(islice(attempts, _AT_ONCE)):
        adding.add(batch)
    return adding.touched


class _Adding:
    def __init__(
        self,
        connection: Connection,
        cards: Mapping[Place, int],
        sessions: Mapping[str, int],
        merged: Merged,
    ) -> None:
        self.connection = connection
        self.cards, self.sessions, self.merged = cards, sessions, merged
        self.touched: set[int] = set()
        self._last: dict[int, date] = {}

    def add(self, batch: Sequence[DocumentAttempt]) -> None:
        found = self.connection.execute(query(_KNOWN), {"uids": [each.uid for each in batch]})
        known = {row.uid: row for row in found}
        new: dict[str, dict[str, Any]] = {}
        for each in batch:
            card_id = self.cards.get((each.phrase, each.key.number))
            if each.uid in known:
                self._undo(known[each.uid], each)
            elif card_id is not None:  # else its phrase was deleted here
                new[each.uid] = self._values(each, card_id)
                self.touched.add(card_id)
        if new:
            self.connection.execute(change(ATTEMPT.insert()), list(new.values()))
            self._count(new.values())
            # By uid, as a document may have an attempt twice.
            heard = {each.uid: each for each in batch if each.heard and each.uid in new}
            self._keep_heard(list(heard.values()))
        self.merged.attempts += len(new)

    def _count(self, new: Iterable[Mapping[str, Any]]) -> None:
        added = Counter(values["session_id"] for values in new)
        rows = [{"id": session, "more": count} for session, count in added.items()]
        self.connection.execute(change(COUNT), rows)

    def _keep_heard(self, attempts: Sequence[DocumentAttempt]) -> None:
        if not attempts:
            return
        found = self.connection.execute(query(_KNOWN), {"uids": [each.uid for each in attempts]})
        ids = {row.uid: row.id for row in found}
        for each in attempts:
            assert each.heard is not None
            keep_heard(self.connection, ids[each.uid], HeardAttempt(**dict(each.heard)))

    def _undo(self, row: Any, attempt: DocumentAttempt) -> None:
        """Mark an attempt as undone since the earlier of two times."""
        at = attempt.undone_at
        if at is None or (row.undone_at is not None and row.undone_at <= at):
            return
        values = {"id": row.id, "undone_at": at}
        self.connection.execute(change(ATTEMPT.update("undone_at")), values)
        if row.undone_at is None:
            self.touched.add(row.card_id)
            self.merged.undone += 1

    def _values(self, attempt: DocumentAttempt, card_id: int) -> dict[str, Any]:
        """Return the columns; whether it is the day's first is settled with the card.

        Guessed here, as documents are in order, so that hardly one must be set right there.
        """
        first = self._last.get(card_id) != attempt.day and attempt.undone_at is None
        if first:
            self._last[card_id] = attempt.day
        return {
            **{name: getattr(attempt, name) for name in _SAME},
            "recall": int(attempt.recall),
            "card_id": card_id,
            "session_id": self.sessions[attempt.session],
            "first_of_day": first,
        }


_SAME = [name for name in ATTEMPT.columns if name in DocumentAttempt.model_fields]
