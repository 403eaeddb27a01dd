"""Tunes and gigs of a document: those that the store lacks are added, none is taken away."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

from sqlalchemy import Connection

from drillbox.music.charts import chart_json
from drillbox.music.phrases import folded_title, numbered_title
from drillbox.music.tunes import form_text
from drillbox.store.checked import DocumentDeleted, DocumentGig, DocumentTune
from drillbox.store.sql import DELETED_GIG, DELETED_TUNE, GIG, GIG_TUNE, TUNE, Table, change, query
from drillbox.store.tune_rows import NewTune, columns_of
from drillbox.store.values import Merged


class TuneMerging:
    """Merging tunes and gigs into a store, within a transaction."""

    def __init__(self, connection: Connection, merged: Merged, *, bring_back: bool) -> None:
        self.connection = connection
        self.merged = merged
        self.bring_back = bring_back

    def merge_tunes(
        self, tunes: Sequence[DocumentTune], deleted: Iterable[DocumentDeleted]
    ) -> dict[str, int]:
        """Return the number of the store's tune for each uid of the document's."""
        numbers, titles, gone = self._there(TUNE, DELETED_TUNE)
        for each in tunes:
            if each.uid in numbers or self._stays_away(each, gone):
                continue
            twin = titles.get(folded_title(each.title))
            if twin is not None and self._same(twin, each):
                numbers[each.uid] = twin
                continue
            title = self._free(each.title, titles)
            values = {
                **columns_of(NewTune(replace(each.tune, title=title), tuple(each.tags))),
                "uid": each.uid,
                "folded": folded_title(title),
                "added_at": each.added_at,
            }
            numbers[each.uid] = self._insert(TUNE, DELETED_TUNE, values)
            titles[folded_title(title)] = numbers[each.uid]
            self.merged.tunes += 1
        self._keep_deleted(DELETED_TUNE, deleted, numbers, gone)
        return numbers

    def merge_gigs(
        self,
        gigs: Sequence[DocumentGig],
        deleted: Iterable[DocumentDeleted],
        tunes: dict[str, int],
    ) -> None:
        """Add the gigs that are missing, each with its tunes that are there."""
        numbers, titles, gone = self._there(GIG, DELETED_GIG)
        for each in gigs:
            if each.uid in numbers or self._stays_away(each, gone):
                continue
            title = self._free(each.title, titles)
            values = {
                "uid": each.uid,
                "title": title,
                "folded": folded_title(title),
                "day": each.day,
                "added_at": each.added_at,
            }
            number = self._insert(GIG, DELETED_GIG, values)
            numbers[each.uid] = titles[folded_title(title)] = number
            kept = dict.fromkeys(tunes[uid] for uid in each.tunes if uid in tunes)
            links = [
                {"gig_id": number, "tune_id": tune, "position": position}
                for position, tune in enumerate(kept)
            ]
            if links:
                self.connection.execute(change(GIG_TUNE.insert()), links)
            self.merged.gigs += 1
        self._keep_deleted(DELETED_GIG, deleted, numbers, gone)

    def _there(
        self, table: Table, deleted: Table
    ) -> tuple[dict[str, int], dict[str, int], set[str]]:
        """Return numbers by uid and by folded title, and the uids of what was deleted."""
        words = f"SELECT id, uid, folded FROM {table.name} ORDER BY id"
        rows = self.connection.execute(query(words)).all()
        gone = self.connection.execute(query(f"SELECT uid FROM {deleted.name}")).scalars()
        return {row.uid: row.id for row in rows}, {row.folded: row.id for row in rows}, set(gone)

    def _stays_away(self, each: DocumentTune | DocumentGig, gone: set[str]) -> bool:
        if each.uid not in gone or self.bring_back:
            return False
        self.merged.stayed_deleted.append(each.title)
        return True

    def _same(self, number: int, tune: DocumentTune) -> bool:
        words = "SELECT key, chart, form FROM tune WHERE id = :id"
        row = self.connection.execute(query(words), {"id": number}).one()
        written = (tune.key.text(), chart_json(tune.chart), form_text(tune.tune.form))
        return tuple(row) == written

    def _free(self, title: str, titles: dict[str, int]) -> str:
        free = numbered_title(title, titles)
        if free != title:
            self.merged.renamed[title] = free
        return free

    def _insert(self, table: Table, deleted: Table, values: dict[str, Any]) -> int:
        words = f"DELETE FROM {deleted.name} WHERE uid = :uid"
        self.connection.execute(change(words), {"uid": values["uid"]})
        words = f"{table.insert()} RETURNING id"
        number: int = self.connection.execute(change(words), values).scalar_one()
        return number

    def _keep_deleted(
        self,
        table: Table,
        deleted: Iterable[DocumentDeleted],
        numbers: dict[str, int],
        gone: set[str],
    ) -> None:
        """Keep in mind what was deleted there, but for what is here."""
        for each in deleted:
            if each.uid not in numbers and each.uid not in gone:
                self.connection.execute(change(table.insert()), each.model_dump())
                gone.add(each.uid)
