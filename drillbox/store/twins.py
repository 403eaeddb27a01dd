"""What was written down on two computers and is one thing: a phrase or a tune, by all its uids.

It goes by the smallest of them, and keeps the others in its column ``also``, so that whatever
becomes of it here, what comes from the other store is still known as the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import Connection, Row

from drillbox.music.phrases import folded_title, numbered_title
from drillbox.store.sql import Table, change, query


def uids_of(thing: Any) -> set[str]:
    """Return every uid that a row, or an item of a document, goes by; a gig has one only."""
    return {thing.uid, *also_of(thing)}


def also_of(thing: Any) -> tuple[str, ...]:
    """Return the other uids that a row or an item goes by, none where they were damaged.

    One thing's damage stops no other's edit; ``store check`` tells of it.
    """
    also = getattr(thing, "also", ())
    return tuple(e for e in also if isinstance(e, str)) if isinstance(also, list | tuple) else ()


def joined_uids(*things: Any) -> dict[str, Any]:
    """Return the columns that say which uids things go by as one."""
    first, *others = sorted(set().union(*map(uids_of, things)))
    return {"uid": first, "also": others}


def numbers_by_uid(rows: Iterable[Any]) -> dict[str, int]:
    """Return the numbers of rows by every uid that they go by."""
    return {uid: row.id for row in rows for uid in uids_of(row)}


def columns_changed(
    former: Mapping[str, Any], now: Mapping[str, Any]
) -> dict[str, tuple[Any, Any]]:
    """Return what is another value now, each with what it was and what it is."""
    return {name: (was, now[name]) for name, was in former.items() if was != now[name]}


class Known:
    """What a store has and had of one table, while a document is merged into it.

    ``numbers`` has the rows by each uid, ``titles`` by folded title (None for one that was given
    away in this merge), ``gone`` what was deleted here, and when. No uid is in both ``numbers``
    and ``gone``. ``beside`` are the uids of all that the document has.
    """

    def __init__(
        self, connection: Connection, table: Table, deleted: Table, things: Iterable[Any]
    ) -> None:
        self._connection, self._table, self._deleted = connection, table, deleted
        rows = connection.execute(query(f"{table.select()} ORDER BY id")).all()
        self.numbers = numbers_by_uid(rows)
        self.titles: dict[str, int | None] = {row.folded: row.id for row in rows}
        found = connection.execute(query(deleted.select())).all()
        self.gone: dict[str, datetime] = {row.uid: row.at for row in found}
        self.beside = {uid for each in things for uid in uids_of(each)}

    def row(self, number: int) -> Row[Any]:
        """Return a row as it stands now."""
        words = query(f"{self._table.select()} WHERE id = :id")
        return self._connection.execute(words, {"id": number}).one()

    def same_as(self, thing: Any) -> list[int]:
        """Return the numbers of the rows that go by any uid of a thing, in order."""
        return sorted({self.numbers[uid] for uid in uids_of(thing) if uid in self.numbers})

    def namesake(self, thing: Any) -> Row[Any] | None:
        """Return the row of a thing's title, which may be its twin.

        One that the document has beside the thing, by its uids, isn't.
        """
        number = self.titles.get(folded_title(thing.title))
        row = None if number is None else self.row(number)
        return None if row is None or self.beside & uids_of(row) else row

    def free_title(self, title: str) -> str:
        """Return a title that no other row has, with a number where that is needed."""
        free = numbered_title(title, self.titles)
        self.titles[folded_title(free)] = None
        return free

    def entitle(self, number: int, title: str) -> None:
        """Set a row's title, which isn't a change of the player's: its time stays."""
        values = {"title": title, "folded": folded_title(title)}
        words = change(self._table.update(*values))
        self._connection.execute(words, {**values, "id": number})

    def only_title(self, number: int, stood: Iterable[str]) -> dict[str, str]:
        """Return the titles of those that stood here twice and are gone, each with the one kept."""
        kept: str = self.row(number).title
        return {title: kept for title in stood if title != kept}

    def goes_by(self, number: int, thing: Any) -> None:
        """Know a row by the uids of a thing; nothing that is in the store was deleted."""
        uids = uids_of(thing)
        self.numbers |= dict.fromkeys(uids, number)
        for uid in uids & self.gone.keys():
            words = f"DELETE FROM {self._deleted.name} WHERE uid = :uid"
            self._connection.execute(change(words), {"uid": uid})
            del self.gone[uid]

    def gave_up(self, row: Row[Any], number: int) -> None:
        """Know that a row is out of the store, and which one goes by its uids."""
        del self.titles[row.folded]
        self.goes_by(number, row)

    def deleted_at(self, thing: Any) -> list[datetime]:
        """Return when a thing was deleted here, under any of its uids; nothing for never."""
        return [self.gone[uid] for uid in uids_of(thing) if uid in self.gone]

    def stays_away(self, thing: Any) -> bool:
        """Return whether a thing was deleted here; what else it goes by then stays away, too."""
        moments = self.deleted_at(thing)
        if moments:
            self.keep_away(thing, max(moments))
        return bool(moments)

    def keep_away(self, thing: Any, at: datetime) -> None:
        """Keep in mind that a thing was deleted, under all of its uids."""
        for uid in sorted(uids_of(thing) - self.gone.keys()):
            self._connection.execute(change(self._deleted.insert()), {"uid": uid, "at": at})
            self.gone[uid] = at
