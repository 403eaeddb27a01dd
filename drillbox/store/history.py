"""A past brought in at once: drill sessions with their attempts, and where the cards stand."""

from __future__ import annotations

import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import TYPE_CHECKING

from drillbox.memory.cards import CardState
from drillbox.store.attempts import insert, move
from drillbox.store.columns import SESSION
from drillbox.store.sql import change
from drillbox.store.values import NewAttempt

if TYPE_CHECKING:
    from drillbox.store.access import Store


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
                "uid": uuid.uuid4().hex,
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
                insert(connection, new, first_of_day=(attempt.card_id, day) not in seen)
                seen.add((attempt.card_id, day))
                opened.setdefault(attempt.card_id, day)
        for card_id, state in states.items():
            move(connection, card_id, state, opened[card_id])
