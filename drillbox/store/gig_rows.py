"""Gigs: a day with its tunes, added, listed, found and deleted."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from drillbox.errors import BadInput
from drillbox.music.titles import folded
from drillbox.store.columns import DELETED_GIG, GIG, GIG_TUNE, TUNE
from drillbox.store.naming import Noun, find_row
from drillbox.store.sql import change, query
from drillbox.store.tune_rows import record_from
from drillbox.store.values import GigRecord, TuneRecord

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from drillbox.store.access import Store

NOUN = Noun("gig", "drillbox gig list", "drillbox gig add")


def add_gig(
    store: Store, title: str, day: date, tunes: Sequence[TuneRecord], now: datetime
) -> GigRecord:
    """Store a gig with its tunes in order. Raises BadInput where the name is taken."""
    uid = uuid.uuid4().hex
    with store.write() as connection:
        words = query("SELECT title FROM gig WHERE folded = :folded")
        taken = connection.execute(words, {"folded": folded(title)}).scalar()
        if taken is not None:
            raise BadInput(
                f"There is a gig {taken!r} already",
                "Choose another name, or delete the other first: drillbox gig delete.",
            )
        values = {"uid": uid, "title": title, "folded": folded(title), "day": day, "added_at": now}
        number = connection.execute(change(f"{GIG.insert()} RETURNING id"), values).scalar_one()
        links = [
            {"gig_id": number, "tune_id": tune.id, "position": position}
            for position, tune in enumerate(tunes)
        ]
        if links:
            connection.execute(change(GIG_TUNE.insert()), links)
    return GigRecord(number, uid, title, day, now, tuple(tunes))


def list_gigs(store: Store) -> list[GigRecord]:
    """Return all gigs by day, with their tunes."""
    with store.read() as connection:
        rows = connection.execute(query(f"{GIG.select()} ORDER BY day, id")).all()
        return [_record(connection, row) for row in rows]


def find_gig(store: Store, text: str) -> GigRecord:
    """Return the gig that ``text`` names, as ``naming.find_row`` does; NotFound for none."""
    with store.read() as connection:
        rows = connection.execute(query(f"{GIG.select()} ORDER BY day, id")).all()
        return _record(connection, find_row(rows, text, NOUN))


_TUNES = f"""
SELECT {", ".join(f"tune.{name}" for name in TUNE.columns)}
FROM gig_tune JOIN tune ON tune.id = tune_id WHERE gig_id = :id ORDER BY position, tune.id
"""


def _record(connection: Connection, row: Any) -> GigRecord:
    tunes = connection.execute(query(_TUNES), {"id": row.id}).all()
    return GigRecord(
        row.id,
        row.uid,
        row.title,
        row.day,
        row.added_at,
        tuple(record_from(each) for each in tunes),
    )


def delete_gig(store: Store, record: GigRecord, now: datetime) -> None:
    """Delete a gig; its tunes stay, and no import brings it back."""
    with store.write() as connection:
        connection.execute(change("DELETE FROM gig_tune WHERE gig_id = :id"), {"id": record.id})
        connection.execute(change("DELETE FROM gig WHERE id = :id"), {"id": record.id})
        connection.execute(change(DELETED_GIG.insert()), {"uid": record.uid, "at": now})
