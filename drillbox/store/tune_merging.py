"""Tunes and gigs of a document: those that the store lacks are added, none is taken away."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

from sqlalchemy import Connection

from drillbox.music.charts import chart_json
from drillbox.music.phrases import folded_title
from drillbox.music.tunes import form_text
from drillbox.store.checked import DocumentDeleted, DocumentGig, DocumentTune
from drillbox.store.sql import DELETED_GIG, DELETED_TUNE, GIG, GIG_TUNE, TUNE, Table, change, query
from drillbox.store.tune_rows import NewTune, columns_of
from drillbox.store.twins import Known, joined_uids
from drillbox.store.values import Merged


class TuneMerging:
    """Merging tunes and gigs into a store, within a transaction."""

    def __init__(self, connection: Connection, merged: Merged, *, bring_back: bool) -> None:
        self.connection = connection
        self.merged = merged
        self.bring_back = bring_back
        self._brought_back: set[int] = set()

    def merge_tunes(
        self, tunes: Sequence[DocumentTune], deleted: Iterable[DocumentDeleted]
    ) -> dict[str, int]:
        """Return the number of the store's tune for each uid of the document's."""
        known = Known(self.connection, TUNE, DELETED_TUNE, tunes)
        for each in tunes:
            if not known.same_as(each) and self._stays_away(each, known):
                continue
            was_deleted = known.deleted_at(each)
            there = known.same_as(each) or self._twin(each, known)
            if there:
                self._join(each, there, known)
            else:
                self._add_tune(each, known)
            if was_deleted:
                self._brought_back.add(known.numbers[each.uid])
        self._keep_deleted(deleted, known)
        return known.numbers

    def _add_tune(self, tune: DocumentTune, known: Known) -> None:
        title = self._free(tune.title, known)
        values = {
            **columns_of(NewTune(replace(tune.tune, title=title), tuple(tune.tags))),
            **joined_uids(tune),
            "folded": folded_title(title),
            "added_at": tune.added_at,
        }
        known.goes_by(self._insert(TUNE, values), tune)
        self.merged.tunes += 1

    def _join(self, tune: DocumentTune, there: Sequence[int], known: Known) -> None:
        """Make one of the tunes that are the document's, and tell how that differs.

        It takes the places of the others in gigs, where it isn't itself.
        """
        number, rows = there[0], [known.row(each) for each in there]
        here, other = rows[0], columns_of(NewTune(tune.tune))
        pairs = {name: (getattr(here, name), other[name]) for name in ("tempo", "form")}
        if unlike := {name: pair for name, pair in pairs.items() if pair[0] != pair[1]}:
            self.merged.unlike[here.title] = unlike
        for row in rows[1:]:
            known.gave_up(row, number)
            self.merged.joined[row.title] = rows[0].title
            for words in (
                "UPDATE gig_tune SET tune_id = :number WHERE tune_id = :other AND gig_id NOT IN"
                " (SELECT gig_id FROM gig_tune WHERE tune_id = :number)",
                "DELETE FROM gig_tune WHERE tune_id = :other",
                "DELETE FROM tune WHERE id = :other",
            ):
                self.connection.execute(change(words), {"number": number, "other": row.id})
        uids = joined_uids(tune, *rows)
        if uids["also"] != rows[0].also:
            self.connection.execute(change(TUNE.update(*uids)), {**uids, "id": number})
            known.goes_by(number, tune)

    def merge_gigs(
        self,
        gigs: Sequence[DocumentGig],
        deleted: Iterable[DocumentDeleted],
        tunes: dict[str, int],
    ) -> None:
        """Add the gigs that are missing, each with its tunes that are there.

        What was brought back of the tunes goes back into those that are here.
        """
        known = Known(self.connection, GIG, DELETED_GIG, gigs)
        for each in gigs:
            if there := known.same_as(each):
                self._link(there[0], each, tunes, self._brought_back)
                continue
            if self._stays_away(each, known):
                continue
            title = self._free(each.title, known)
            values = {
                "uid": each.uid,
                "title": title,
                "folded": folded_title(title),
                "day": each.day,
                "added_at": each.added_at,
            }
            number = self._insert(GIG, values)
            known.goes_by(number, each)
            self._link(number, each, tunes, set(tunes.values()))
            self.merged.gigs += 1
        self._keep_deleted(deleted, known)

    def _link(self, number: int, gig: DocumentGig, tunes: dict[str, int], only: set[int]) -> None:
        """Put some of a document's tunes into a gig that lacks them, each at its place there."""
        words = query("SELECT tune_id FROM gig_tune WHERE gig_id = :id")
        lacking = only - set(self.connection.execute(words, {"id": number}).scalars())
        there = dict.fromkeys(tunes[uid] for uid in gig.tunes if uid in tunes)
        links = [
            {"gig_id": number, "tune_id": tune, "position": position}
            for position, tune in enumerate(there)
            if tune in lacking
        ]
        if links:
            self.connection.execute(change(GIG_TUNE.insert()), links)

    def _stays_away(self, each: DocumentTune | DocumentGig, known: Known) -> bool:
        if self.bring_back or not known.stays_away(each):
            return False
        self.merged.stayed_deleted.append(each.title)
        return True

    def _twin(self, tune: DocumentTune, known: Known) -> list[int]:
        """Return the number of the tune that was written down here a second time, if any."""
        row = known.namesake(tune)
        written = (tune.key.text(), chart_json(tune.chart), form_text(tune.tune.form))
        return [row.id] if row and (row.key, row.chart, row.form) == written else []

    def _free(self, title: str, known: Known) -> str:
        free = known.free_title(title)
        if free != title:
            self.merged.renamed[title] = free
        return free

    def _insert(self, table: Table, values: dict[str, Any]) -> int:
        words = f"{table.insert()} RETURNING id"
        number: int = self.connection.execute(change(words), values).scalar_one()
        return number

    def _keep_deleted(self, deleted: Iterable[DocumentDeleted], known: Known) -> None:
        """Keep in mind what was deleted there, but for what is here."""
        for each in deleted:
            if each.uid not in known.numbers:
                known.keep_away(each, each.at)
