"""Tunes and gigs of a document: those that the store lacks are added, none is taken away.

Of a tune that both have, the version that was changed last is taken.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import Connection

from drillbox.music.charts import chart_json
from drillbox.music.phrases import folded_title
from drillbox.music.tunes import form_text
from drillbox.store.checked import DocumentDeleted, DocumentGig, DocumentTune
from drillbox.store.sql import DELETED_GIG, DELETED_TUNE, GIG, GIG_TUNE, TUNE, Table, change, query
from drillbox.store.tune_rows import WRITTEN, NewTune, columns_of
from drillbox.store.twins import Known, joined_uids
from drillbox.store.values import Merged, Replaced


class _Version(NamedTuple):
    """What a tune is in a store or a document; ``written`` by column."""

    written: dict[str, Any]
    added_at: datetime
    changed_at: datetime | None

    @property
    def rank(self) -> tuple[datetime, str]:
        """Return when it was changed last, and what decides between two of one time."""
        text = json.dumps({**self.written, "title": ""}, sort_keys=True)  # it may have a number
        return self.changed_at or self.added_at, text


def _version_of(thing: Any) -> _Version:
    """Return the version of a row, or of a document's tune."""
    written = (
        columns_of(NewTune(thing.tune, tuple(thing.tags)))
        if isinstance(thing, DocumentTune)
        else {name: getattr(thing, name) for name in WRITTEN}
    )
    return _Version(written, thing.added_at, thing.changed_at)


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
            "changed_at": tune.changed_at,
        }
        known.goes_by(self._insert(TUNE, values), tune)
        self.merged.tunes += 1

    def _join(self, tune: DocumentTune, there: Sequence[int], known: Known) -> None:
        """Make one of the tunes that are the document's, as the last change of any left it.

        It takes the places of the others in gigs, where it isn't itself.
        """
        number, rows = there[0], [known.row(each) for each in there]
        for row in rows[1:]:
            known.gave_up(row, number)
            for words in (
                "UPDATE gig_tune SET tune_id = :number WHERE tune_id = :other AND gig_id NOT IN"
                " (SELECT gig_id FROM gig_tune WHERE tune_id = :number)",
                "DELETE FROM gig_tune WHERE tune_id = :other",
                "DELETE FROM tune WHERE id = :other",
            ):
                self.connection.execute(change(words), {"number": number, "other": row.id})
        here = rows[0]
        values = joined_uids(tune, *rows) | self._latest(here, [*rows, tune], known)
        differing = {n: each for n, each in values.items() if each != getattr(here, n)}
        if differing:
            self.connection.execute(change(TUNE.update(*differing)), {**differing, "id": number})
            known.goes_by(number, tune)
        if len(rows) > 1:
            title = values["title"]
            self.merged.joined |= {row.title: title for row in rows if row.title != title}
        if written := {n: (getattr(here, n), differing[n]) for n in WRITTEN if n in differing}:
            self.merged.retuned.append(Replaced(values["title"], written))

    def _latest(self, here: Any, things: Iterable[Any], known: Known) -> dict[str, Any]:
        """Return the columns of a tune as the last change left it, and their times."""
        versions = [_version_of(each) for each in things]
        last = max(versions, key=lambda each: each.rank)
        title = last.written["title"]
        if folded_title(title) != here.folded:
            del known.titles[here.folded]
            title = self._free(title, known)
        added = min(each.added_at for each in versions)
        ever = any(each.changed_at for each in versions) or last.rank[0] != added
        return {
            **last.written,
            "title": title,
            "folded": folded_title(title),
            "added_at": added,
            "changed_at": last.rank[0] if ever else None,
        }

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
