"""Tunes and gigs of a document: those that the store lacks are added, none is taken away.

Of a tune or a gig that both have, the version that was changed last is taken.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import Connection

from drillbox.music.charts import chart_json
from drillbox.music.phrases import folded_title
from drillbox.music.tunes import form_text
from drillbox.store.checked import DocumentDeleted, DocumentGig, DocumentTune
from drillbox.store.documents import TUNES_OF_A_GIG
from drillbox.store.sql import DELETED_GIG, DELETED_TUNE, GIG, TUNE, Table, change, query
from drillbox.store.tune_rows import WRITTEN, NewTune, columns_of, set_tunes
from drillbox.store.twins import Known, columns_changed, joined_uids
from drillbox.store.values import Merged, Replaced


class _Version(NamedTuple):
    """What a tune or a gig is in a store or a document; ``written`` by column.

    A gig's ``tunes`` are among that, each by the uid that it goes by here.
    """

    written: dict[str, Any]
    added_at: datetime
    changed_at: datetime | None

    @property
    def rank(self) -> tuple[datetime, str]:
        """Return when it was changed last, and what decides between two of one time."""
        told = {**self.written, "title": ""}  # it may have a number
        text = json.dumps(told, sort_keys=True, default=str)
        return self.changed_at or self.added_at, text


def _version_of(thing: Any) -> _Version:
    """Return the version of a row, or of a document's tune."""
    written = (
        columns_of(NewTune(thing.tune, tuple(thing.tags)))
        if isinstance(thing, DocumentTune)
        else {name: getattr(thing, name) for name in WRITTEN}
    )
    return _Version(written, thing.added_at, thing.changed_at)


def _gig_version(thing: Any, tunes: Sequence[str]) -> _Version:
    """Return the version of a row, or of a document's gig, with its tunes by the uids of here."""
    written = {"title": thing.title, "day": thing.day, "tunes": list(tunes)}
    return _Version(written, thing.added_at, thing.changed_at)


def _tunes_of_both(mine: _Version, theirs: _Version, back: set[str]) -> list[str]:
    """Return a gig's tunes as the last change left them, and what was brought back of the others.

    Where neither is the later one, they differ by tunes that were deleted in one of the stores:
    all of both stay. One that is added goes behind the one that it follows there.
    """
    last, other = sorted((mine, theirs), key=lambda each: each.rank, reverse=True)
    found, place = list(last.written["tunes"]), 0
    for each in other.written["tunes"]:
        if each in found:
            place = found.index(each) + 1
        elif each in back or last.rank[0] == other.rank[0]:
            found.insert(place, each)
            place += 1
    return found


class TuneMerging:
    """Merging tunes and gigs into a store, within a transaction.

    By the numbers of the one or the other: ``_numbered`` has those whose title was taken, with
    that title; ``_former`` those that the document has, with what was written here before;
    ``_stood`` the titles of those that stood here twice.
    """

    def __init__(self, connection: Connection, merged: Merged, *, bring_back: bool) -> None:
        self.connection = connection
        self.merged = merged
        self.bring_back = bring_back
        self._numbered: dict[int, str] = {}
        self._former: dict[int, dict[str, Any]] = {}
        self._stood: dict[int, list[str]] = {}
        self._brought_back: set[str] = set()
        self._tunes: dict[str, Any] = {}  # the rows, by uid, once the document's are among them

    def merge_tunes(
        self, tunes: Sequence[DocumentTune], deleted: Iterable[DocumentDeleted]
    ) -> dict[str, int]:
        """Return the number of the store's tune for each uid of the document's."""
        known = self._known(TUNE, DELETED_TUNE, tunes)
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
                self._brought_back.add(each.uid)
        self._keep_deleted(deleted, known)
        self._give_titles_back(known)
        for number, titles in self._stood.items():
            self.merged.joined |= known.only_title(number, titles)
        self.merged.retuned += self._changed(lambda number: _version_of(known.row(number)))
        return known.numbers

    def _known(self, table: Table, deleted: Table, things: Sequence[Any]) -> Known:
        """Return what the store has of a table, of which nothing is merged yet."""
        self._numbered, self._former, self._stood = {}, {}, {}
        return Known(self.connection, table, deleted, things)

    def _add_tune(self, tune: DocumentTune, known: Known) -> None:
        title = known.free_title(tune.title)
        values = {
            **columns_of(NewTune(replace(tune.tune, title=title), tuple(tune.tags))),
            **joined_uids(tune),
            "folded": folded_title(title),
            "added_at": tune.added_at,
            "changed_at": tune.changed_at,
        }
        number = self._insert(TUNE, values)
        known.goes_by(number, tune)
        self._entitled(number, title, tune.title)
        self.merged.tunes += 1

    def _join(self, tune: DocumentTune, there: Sequence[int], known: Known) -> None:
        """Make one of the tunes that are the document's, as the last change of any left it.

        It takes the places of the others in gigs, where it isn't itself.
        """
        number, rows = there[0], [known.row(each) for each in there]
        for row in rows[1:]:
            known.gave_up(row, number)
            self._numbered.pop(row.id, None)
            self._former.pop(row.id, None)
            stood = self._stood.pop(row.id, [row.title])
            self._stood.setdefault(number, [rows[0].title]).extend(stood)
            for words in (
                "UPDATE gig_tune SET tune_id = :number WHERE tune_id = :other AND gig_id NOT IN"
                " (SELECT gig_id FROM gig_tune WHERE tune_id = :number)",
                "DELETE FROM gig_tune WHERE tune_id = :other",
                "DELETE FROM tune WHERE id = :other",
            ):
                self.connection.execute(change(words), {"number": number, "other": row.id})
        here = rows[0]
        versions = [_version_of(each) for each in (*rows, tune)]
        self._former.setdefault(number, versions[0].written)
        values = joined_uids(tune, *rows) | self._latest(here, versions, known)
        differing = {n: each for n, each in values.items() if each != getattr(here, n)}
        if differing:
            self.connection.execute(change(TUNE.update(*differing)), {**differing, "id": number})
            known.goes_by(number, tune)

    def _latest(self, here: Any, versions: Sequence[_Version], known: Known) -> dict[str, Any]:
        """Return what was written as the last change left it, and the times of that."""
        last = max(versions, key=lambda each: each.rank)
        title = last.written["title"]
        if folded_title(title) != here.folded:
            del known.titles[here.folded]
            title = known.free_title(title)
            self._entitled(here.id, title, last.written["title"])
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
        """Add the gigs that are missing, and take over what was changed there later.

        Of a gig's tunes those come along that are in the store. ``tunes`` has the store's by uid.
        """
        known = self._known(GIG, DELETED_GIG, gigs)
        found = self.connection.execute(query("SELECT id, uid, title FROM tune")).all()
        self._tunes = {row.uid: row for row in found}
        uids = {row.id: row.uid for row in found}
        back = {uids[tunes[uid]] for uid in self._brought_back}
        for each in gigs:
            there = list(dict.fromkeys(uids[tunes[uid]] for uid in each.tunes if uid in tunes))
            if same := known.same_as(each):
                self._replan(known.row(same[0]), _gig_version(each, there), back, known)
            elif not self._stays_away(each, known):
                self._add_gig(each, there, known)
        self._keep_deleted(deleted, known)
        self._give_titles_back(known)
        changed = self._changed(lambda number: self._gig_here(known.row(number)))
        self.merged.replanned += map(self._with_tunes_titled, changed)

    def _add_gig(self, gig: DocumentGig, tunes: Sequence[str], known: Known) -> None:
        title = known.free_title(gig.title)
        values = {
            "uid": gig.uid,
            "title": title,
            "folded": folded_title(title),
            "day": gig.day,
            "added_at": gig.added_at,
            "changed_at": gig.changed_at,
        }
        number = self._insert(GIG, values)
        known.goes_by(number, gig)
        self._entitled(number, title, gig.title)
        self._set_tunes(number, tunes)
        self.merged.gigs += 1

    def _replan(self, here: Any, theirs: _Version, back: set[str], known: Known) -> None:
        """Make a gig what the last change of either side left; ``back`` are tunes brought back."""
        mine = self._gig_here(here)
        self._former.setdefault(here.id, mine.written)
        values = self._latest(here, (mine, theirs), known)
        values["tunes"] = _tunes_of_both(mine, theirs, back)
        before = {**here._asdict(), "tunes": mine.written["tunes"]}
        differing = {n: each for n, each in values.items() if each != before[n]}
        if columns := {n: differing[n] for n in differing if n in GIG.columns}:
            self.connection.execute(change(GIG.update(*columns)), {**columns, "id": here.id})
        if "tunes" in differing:
            self._set_tunes(here.id, values["tunes"])

    def _gig_here(self, row: Any) -> _Version:
        """Return the version of a row, with its tunes."""
        rows = self.connection.execute(query(TUNES_OF_A_GIG), {"id": row.id}).all()
        return _gig_version(row, [each.uid for each in rows])

    def _with_tunes_titled(self, gig: Replaced) -> Replaced:
        """Return what was changed of a gig, its tunes by their titles."""
        if "tunes" not in gig.columns:
            return gig
        was, now = ([self._tunes[uid].title for uid in each] for each in gig.columns["tunes"])
        return replace(gig, columns={**gig.columns, "tunes": (was, now)})

    def _set_tunes(self, gig: int, uids: Sequence[str]) -> None:
        set_tunes(self.connection, gig, [self._tunes[uid].id for uid in uids])

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

    def _entitled(self, number: int, title: str, wanted: str) -> None:
        """Keep in mind which title a thing got, and which it was to get."""
        self._numbered.pop(number, None)
        if title != wanted:
            self._numbered[number] = wanted

    def _give_titles_back(self, known: Known) -> None:
        """Give each thing its title where that is free once all are merged; tell of the others."""
        while free := [
            each for each in self._numbered.items() if folded_title(each[1]) not in known.titles
        ]:
            number, title = free[0]
            del self._numbered[number], known.titles[known.row(number).folded]
            known.entitle(number, known.free_title(title))
        self.merged.renamed |= {
            title: known.row(number).title for number, title in self._numbered.items()
        }

    def _changed(self, now_of: Callable[[int], _Version]) -> list[Replaced]:
        """Return what was written otherwise here before, by what ``now_of`` a number is there."""
        changed = []
        for number, former in self._former.items():
            now = now_of(number).written
            if columns := columns_changed(former, now):
                changed.append(Replaced(now["title"], columns))
        return changed

    def _insert(self, table: Table, values: dict[str, Any]) -> int:
        words = f"{table.insert()} RETURNING id"
        number: int = self.connection.execute(change(words), values).scalar_one()
        return number

    def _keep_deleted(self, deleted: Iterable[DocumentDeleted], known: Known) -> None:
        """Keep in mind what was deleted there, but for what is here."""
        for each in deleted:
            if each.uid not in known.numbers:
                known.keep_away(each, each.at)
