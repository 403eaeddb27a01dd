"""What tests read of a store that the product never asks for in this form."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from drillbox.memory.recall import Recall
from drillbox.store.access import Store
from drillbox.store.documents import LISTS, Members, snapshot
from drillbox.store.sql import ATTEMPT, query
from drillbox.store.values import AttemptRecord


def attempts_of(store: Store, card_id: int, *, undone: bool = False) -> list[AttemptRecord]:
    """Return a card's attempts in the order in which they were made, undone ones only if asked."""
    kept = "" if undone else " AND undone_at IS NULL"
    words = f"{ATTEMPT.select()} WHERE card_id = :id{kept} ORDER BY at, id"
    with store.read() as connection:
        rows = connection.execute(query(words), {"id": card_id}).all()
    return [AttemptRecord(**(row._asdict() | {"recall": Recall(row.recall)})) for row in rows]


def opened_on(store: Store, day: date) -> int:
    """Return how many cards were opened on a practice day."""
    words = "SELECT count(*) FROM card WHERE opened_day = :day"
    with store.read() as connection:
        return int(connection.execute(query(words), {"day": day}).scalar_one())


def document(store: Store) -> dict[str, Any]:
    """Return everything the store holds, as values that JSON can hold, in a fixed order."""
    found: dict[str, Any] = {}
    with snapshot(store) as at:
        for name, value in at.members():
            if name in LISTS:
                found.setdefault(name, []).append(value)
            else:
                found[name] = value
    return {**found, **{name: found.get(name, []) for name in LISTS}}


def members_in(found: Any) -> Members:
    """Return the members of a document that is in memory."""

    def members() -> Iterator[tuple[str, Any]]:
        if not isinstance(found, Mapping):
            raise ValueError("it isn't an object")
        for name, value in found.items():
            if name in LISTS and isinstance(value, list):
                yield from ((name, item) for item in value)
            else:
                yield name, value

    return members
