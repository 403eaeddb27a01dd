"""Phrases of a document: found in the store, changed there or added, with their cards."""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import Connection, Row

from drillbox.memory.cards import first_tempo
from drillbox.memory.rules import Rules
from drillbox.music.analysis.whole import analyse, analysis_json
from drillbox.music.keys import Key
from drillbox.music.moving.transposition import Range, phrase_to
from drillbox.music.phrases import Phrase, folded_title, numbered_title
from drillbox.store.checked import DocumentCard, DocumentDeleted, DocumentPhrase
from drillbox.store.phrase_edits import (
    WRITTEN,
    card_ids,
    change_written,
    former_columns,
)
from drillbox.store.phrase_rows import ONE, Values, insert_phrase, laid_columns, written_columns
from drillbox.store.sql import CARD, DELETED, PHRASE, change, query
from drillbox.store.values import Merged, Replaced

Place = tuple[str, int]
"""Where an attempt of a document belongs: the phrase's uid and its key's number."""


class Placed(NamedTuple):
    """The store's card for each place, and the phrases whose cards have another goal now."""

    cards: dict[Place, int]
    other_goal: set[int]


@dataclass(slots=True)
class PhraseMerging:
    """Merging phrases into a store, within a transaction.

    By their numbers: ``numbered`` has the phrases whose title was taken, with that title;
    ``rewritten`` those that were changed, with what was there; ``retired`` those that were
    deleted there.
    """

    connection: Connection
    rules: Rules
    sounding_range: Range | None
    merged: Merged
    bring_back: datetime | None
    numbered: dict[int, str] = field(default_factory=dict)
    rewritten: dict[int, Values] = field(default_factory=dict)
    retired: list[int] = field(default_factory=list)

    def merge(
        self, phrases: Sequence[DocumentPhrase], deleted: Sequence[DocumentDeleted]
    ) -> Placed:
        """Merge the phrases of a document, and those that were deleted in its store."""
        gone = self._deleted()
        rows = self.connection.execute(query(f"{PHRASE.select()} ORDER BY id")).all()
        known = {row.uid: row for row in rows}
        titles = {row.folded: row for row in rows}
        placed = Placed({}, set())
        for each in phrases:
            if each.uid in gone and each.uid not in known and not self.bring_back:
                self.merged.stayed_deleted.append(each.title)
                continue
            row = known.get(each.uid) or _twin(each, titles)
            phrase_id = self._add(each, titles, gone) if row is None else row.id
            if row is not None and self._take_over(row, each, titles):
                placed.other_goal.add(row.id)
            self._place(each, phrase_id, placed)
        self._keep_deleted(deleted, known, gone)
        self._give_titles_back()
        self._tell()
        return placed

    def _deleted(self) -> dict[str, datetime]:
        rows = self.connection.execute(query(DELETED.select())).all()
        return {row.uid: row.at for row in rows}

    def _add(
        self, phrase: DocumentPhrase, titles: dict[str, Any], gone: Mapping[str, datetime]
    ) -> int:
        title = _free(phrase.title, titles)
        content = replace(phrase.phrase, title=title)
        values = {
            "uid": phrase.uid,
            **written_columns(content, phrase.key_order, phrase.tags, phrase.aside),
            **derived_columns(content),
            "former": None,
            "added_at": phrase.added_at,
            "changed_at": phrase.changed_at,
            **self._retirement(phrase, gone.get(phrase.uid)),
        }
        cards = cards_laid(content, phrase.keys, self.sounding_range, phrase.aside)
        words = "DELETE FROM deleted_phrase WHERE uid = :uid"
        self.connection.execute(change(words), {"uid": phrase.uid})
        self.merged.phrases += 1
        first = first_tempo(content.tempo, self.rules.tempo)
        phrase_id = insert_phrase(self.connection, values, cards, first)
        if title != phrase.title:
            self.numbered[phrase_id] = phrase.title
        return phrase_id

    def _retirement(
        self, phrase: DocumentPhrase, deleted: datetime | None
    ) -> dict[str, datetime | None]:
        """Return when a phrase was retired and restored.

        One that comes back after it was deleted here is restored thereby, also where the other
        store retired it for that; else the next import from there would retire it again.
        """
        if deleted and phrase.retired_at in {None, deleted}:
            return {"retired_at": None, "restored_at": self.bring_back}
        return {"retired_at": phrase.retired_at, "restored_at": phrase.restored_at}

    def _take_over(self, row: Row[Any], phrase: DocumentPhrase, titles: dict[str, Any]) -> bool:
        """Take over what was changed there later; return whether the goal is another now."""
        values: dict[str, Any] = {}
        if phrase.added_at < row.added_at:
            values["added_at"] = phrase.added_at
        if phrase.uid < row.uid:  # written down twice: both stores settle on one of the two
            values["uid"] = phrase.uid
        stayed = (row.retired_at, row.restored_at)
        came = (phrase.retired_at, phrase.restored_at)
        if _rank(came) > _rank(stayed):
            values |= dict(zip(("retired_at", "restored_at"), came, strict=True))
        mine = {name: getattr(row, name) for name in WRITTEN}
        theirs = written_columns(phrase.phrase, phrase.key_order, phrase.tags, phrase.aside)
        since = row.changed_at or row.added_at
        wins = mine != theirs and (
            phrase.last_change > since
            or (phrase.last_change == since and _text(theirs) > _text(mine))
        )
        last = max(phrase.last_change, since)
        ever = row.changed_at or phrase.changed_at or last != values.get("added_at", row.added_at)
        if ever and last != row.changed_at:
            values["changed_at"] = last
        if wins:
            self._rewrite(row, phrase, values, titles)
        elif values:
            words = PHRASE.update(*values)
            self.connection.execute(change(words), {**values, "id": row.id})
        self.merged.changed += bool(values)
        return wins and phrase.tempo != row.tempo

    def _rewrite(
        self,
        row: Row[Any],
        phrase: DocumentPhrase,
        values: dict[str, Any],
        titles: dict[str, Any],
    ) -> None:
        if folded_title(phrase.title) != row.folded:
            titles.pop(row.folded, None)
            title = _free(phrase.title, titles)
        else:
            title = phrase.title
        if title != phrase.title:
            self.numbered[row.id] = phrase.title
        self.rewritten[row.id] = former = former_columns(self.connection, row.id)
        content = replace(phrase.phrase, title=title)
        values |= {
            **written_columns(content, phrase.key_order, phrase.tags, phrase.aside),
            **derived_columns(content),
            "former": former,
        }
        cards = cards_laid(content, phrase.keys, self.sounding_range, phrase.aside)
        change_written(self.connection, row.id, values, cards)

    def _place(self, phrase: DocumentPhrase, phrase_id: int, placed: Placed) -> None:
        ids = card_ids(self.connection, phrase_id)
        for card in phrase.cards:
            card_id = ids[card.key.tonic.pitch_class]
            placed.cards[phrase.uid, card.key.number] = card_id
            if card.note or card.note_at:
                self._note(card_id, card)

    def _note(self, card_id: int, card: DocumentCard) -> None:
        words = "SELECT note, note_at FROM card WHERE id = :id"
        row = self.connection.execute(query(words), {"id": card_id}).one()
        if note_wins((card.note, card.note_at), (row.note, row.note_at)):
            values = {"note": card.note, "note_at": card.note_at, "id": card_id}
            self.connection.execute(change(CARD.update("note", "note_at")), values)
            self.merged.notes += 1

    def _keep_deleted(
        self,
        deleted: Sequence[DocumentDeleted],
        known: Mapping[str, Row[Any]],
        gone: dict[str, datetime],
    ) -> None:
        """Keep in mind what was deleted there; what is here is retired instead, and never lost."""
        for each in deleted:
            row = known.get(each.uid)
            if row is None and each.uid not in gone:
                self.connection.execute(change(DELETED.insert()), each.model_dump())
                gone[each.uid] = each.at
            elif row is not None and row.retired_at is None and each.at > _moment(row):
                values = {"retired_at": each.at, "id": row.id}
                self.connection.execute(change(PHRASE.update("retired_at")), values)
                self.retired.append(row.id)

    def _give_titles_back(self) -> None:
        """Give each phrase in practice the title that none or a retired one has.

        The retired one gets the number in its place, as where a phrase is added. Which are
        retired is known only once all are merged.
        """
        words = "SELECT id, title, retired_at FROM phrase WHERE folded = :folded"
        for phrase_id, title in self.numbered.items():
            mine = self.connection.execute(query(ONE), {"id": phrase_id}).one()
            folded = {"folded": folded_title(title)}
            holder = self.connection.execute(query(words), folded).one_or_none()
            if mine.retired_at is not None or (holder and holder.retired_at is None):
                continue
            if holder:
                self._entitle(phrase_id, mine.uid)  # two may change titles, and never share one
                self._entitle(holder.id, mine.title)
            self._entitle(phrase_id, title)

    def _entitle(self, phrase_id: int, title: str) -> None:
        """Set a title, which isn't a change of the player's: its time stays."""
        values = {"title": title, "folded": folded_title(title), "id": phrase_id}
        self.connection.execute(change(PHRASE.update("title", "folded")), values)

    def _tell(self) -> None:
        """Keep in mind for the player what was changed, under the titles that came of it."""
        for phrase_id, title in self.numbered.items():
            if (now := former_columns(self.connection, phrase_id)["title"]) != title:
                self.merged.renamed[title] = now
        for phrase_id, former in self.rewritten.items():
            now = former_columns(self.connection, phrase_id)
            columns = {name: (former[name], now[name]) for name in WRITTEN}
            differing = {name: both for name, both in columns.items() if both[0] != both[1]}
            if differing:
                self.merged.replaced.append(Replaced(now["title"], differing))
        titles = (former_columns(self.connection, each)["title"] for each in self.retired)
        self.merged.deleted_there += titles


def _free(title: str, titles: dict[str, Any]) -> str:
    """Return a title that no other phrase has, with a number where that is needed."""
    free = numbered_title(title, titles)
    titles[folded_title(free)] = None
    return free


def _moment(row: Row[Any]) -> datetime:
    moment: datetime = row.restored_at or row.added_at
    return moment


def note_wins(
    theirs: tuple[str | None, datetime | None], mine: tuple[str | None, datetime | None]
) -> bool:
    """Return whether another store's note replaces one's own: it is later, or one has none."""
    (their_note, their_time), (my_note, my_time) = theirs, mine
    if their_time == my_time:
        # At the same time, or both undated: whoever merges first, the same note stays.
        return (their_note or "") > (my_note or "")
    return my_time is None or (their_time is not None and their_time > my_time)


def _rank(retirement: tuple[datetime | None, datetime | None]) -> tuple[float, bool]:
    """Return when a phrase was last retired or restored, and which of the two."""
    retired, _ = retirement
    moments = [each.timestamp() for each in retirement if each]
    return max(moments, default=0.0), retired is not None


def _text(content: Mapping[str, Any]) -> str:
    """Return what decides between two contents of one time; a title may have got a number."""
    return json.dumps({**content, "title": ""}, sort_keys=True)


def _twin(phrase: DocumentPhrase, titles: Mapping[str, Any]) -> Row[Any] | None:
    """Return the phrase that was written down in the store a second time, if there is one."""
    row: Row[Any] | None = titles.get(folded_title(phrase.title))
    if row is None:
        return None
    theirs = written_columns(phrase.phrase, phrase.key_order)
    same = all(theirs[name] == getattr(row, name) for name in ("key", "chart", "line"))
    return row if same else None


def derived_columns(phrase: Phrase) -> Values:
    """Return the columns that are made from what was written down."""
    return {"folded": folded_title(phrase.title), "analysis": analysis_json(analyse(phrase))}


def cards_laid(
    phrase: Phrase,
    keys: Sequence[Key],
    sounding_range: Range | None,
    aside: Collection[int] = (),
) -> list[Values]:
    """Return the columns of a card in each key, its line in the octave that fits the range."""
    versions = (phrase_to(phrase, key, sounding_range=sounding_range) for key in keys)
    return [
        laid_columns(position, each.key, each.chart, each.line, aside)
        for position, each in enumerate(versions)
    ]
