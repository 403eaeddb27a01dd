"""Phrases of a document: found in the store, changed there or added, with their cards."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any, NamedTuple

from sqlalchemy import Connection, Row

from drillbox.music.moving.transposition import Range
from drillbox.music.phrases import folded_title
from drillbox.store.checked import DocumentCard, DocumentDeleted, DocumentPhrase
from drillbox.store.phrase_edits import (
    WRITTEN,
    Content,
    card_ids,
    change_written,
    kept_for_undo,
    tonic_pitch_class,
    written_now,
)
from drillbox.store.phrase_joining import give_up
from drillbox.store.phrase_rows import (
    ONE,
    Values,
    card_columns,
    columns_of,
    insert_phrase,
    written_columns,
)
from drillbox.store.sql import CARD, DELETED, PHRASE, change, query
from drillbox.store.twins import Known, columns_changed, joined_uids, uids_of
from drillbox.store.values import Merged, NewPhrase, Replaced, time_of_change

Place = tuple[str, int]
"""Where an attempt of a document belongs: the phrase's uid and its key's number."""


class Placed(NamedTuple):
    """The store's card for each place, and the phrases whose cards are to be reckoned.

    Those have another goal now, or attempts of a phrase that was joined with them.
    """

    cards: dict[Place, int]
    unreckoned: set[int]


@dataclass(slots=True)
class PhraseMerging:
    """Merging phrases into a store, within a transaction.

    By their numbers: ``numbered`` has the phrases whose title was taken, with that title;
    ``rewritten`` those that were changed, with what was there; ``moved`` those that were retired
    or restored, with whether they had been retired; ``retired`` those that were deleted there;
    ``joined`` the titles of those that stood here twice.
    """

    connection: Connection
    sounding_range: Range | None
    merged: Merged
    bring_back: datetime | None
    numbered: dict[int, str] = field(default_factory=dict)
    rewritten: dict[int, Values] = field(default_factory=dict)
    moved: dict[int, bool] = field(default_factory=dict)
    retired: list[int] = field(default_factory=list)
    joined: dict[int, list[str]] = field(default_factory=dict)
    known: Known = field(init=False)

    def merge(
        self, phrases: Sequence[DocumentPhrase], deleted: Sequence[DocumentDeleted]
    ) -> Placed:
        """Merge the phrases of a document, and those that were deleted in its store."""
        self.known = Known(self.connection, PHRASE, DELETED, phrases)
        placed, found = Placed({}, set()), set()
        for each in phrases:
            self._join(self.known.same_as(each), placed)
        for each in phrases:
            numbers = self.known.same_as(each)
            if not numbers and self._stays_deleted(each):
                continue
            row = self.known.row(numbers[0]) if numbers else self._twin(each)
            phrase_id = self._add(each) if row is None else row.id
            if row is not None and self._take_over(row, each):
                placed.unreckoned.add(row.id)
            self._place(each, phrase_id, placed)
            found.add(phrase_id)
        self._keep_deleted(deleted, found)
        self._give_titles_back()
        self._tell()
        return placed

    def _join(self, numbers: Sequence[int], placed: Placed) -> None:
        """Make one of the phrases here that are one in the other store."""
        for other in numbers[1:]:
            row = self.known.row(numbers[0])
            self.known.gave_up(self.known.row(other), row.id)
            given_up = give_up(self.connection, row.id, other)
            self.numbered.pop(other, None)
            self.rewritten.pop(other, None)
            self.moved.pop(other, None)
            stood = self.joined.pop(other, [given_up.title])
            self.joined.setdefault(row.id, [row.title]).extend(stood)
            self._take_over(row, given_up)
            self._place(given_up, numbers[0], placed)
            placed.unreckoned.add(numbers[0])

    def _twin(self, phrase: DocumentPhrase) -> Row[Any] | None:
        """Return the phrase that was written down in the store a second time, if there is one."""
        row = self.known.namesake(phrase)
        if row is None:
            return None
        theirs = written_columns(phrase.phrase, phrase.key_order)
        same = all(theirs[name] == getattr(row, name) for name in ("key", "chart", "line"))
        return row if same else None

    def _stays_deleted(self, phrase: DocumentPhrase) -> bool:
        if self.bring_back or not self.known.stays_away(phrase):
            return False
        self.merged.stayed_deleted.append(phrase.title)
        return True

    def _add(self, phrase: DocumentPhrase) -> int:
        title = self.known.free_title(phrase.title)
        values = {
            **joined_uids(phrase),
            "former": None,
            "added_at": phrase.added_at,
            "changed_at": phrase.changed_at,
            **self._retirement(phrase, self.known.deleted_at(phrase)),
        }
        self.merged.phrases += 1
        new = self._laid_out(phrase, title, breaking=bool(phrase.octave_breaks))
        phrase_id = insert_phrase(self.connection, values, new)
        self.known.goes_by(phrase_id, phrase)
        if title != phrase.title:
            self.numbered[phrase_id] = phrase.title
        return phrase_id

    def _retirement(
        self, phrase: DocumentPhrase, deleted: Sequence[datetime]
    ) -> dict[str, datetime | None]:
        """Return when a phrase was retired and restored.

        One that comes back after it was deleted here is restored thereby, also where the other
        store retired it for that; else the next import from there would retire it again.
        """
        if deleted and self.bring_back and phrase.retired_at in {None, *deleted}:
            at = time_of_change(self.bring_back, *deleted, phrase.restored_at)
            return {"retired_at": None, "restored_at": at}
        return {"retired_at": phrase.retired_at, "restored_at": phrase.restored_at}

    def _take_over(self, row: Row[Any], phrase: DocumentPhrase) -> bool:
        """Take over what was changed there later; return whether the goal is another now."""
        values: dict[str, Any] = {}
        if phrase.added_at < row.added_at:
            values["added_at"] = phrase.added_at
        if uids_of(phrase) - uids_of(row):  # written down twice: all stores settle on one uid
            values |= joined_uids(row, phrase)
            self.known.goes_by(row.id, phrase)
        stayed = (row.retired_at, row.restored_at)
        came = (phrase.retired_at, phrase.restored_at)
        if _rank(came) > _rank(stayed):
            self.moved.setdefault(row.id, row.retired_at is not None)
            values |= dict(zip(("retired_at", "restored_at"), came, strict=True))
        mine = {name: getattr(row, name) for name in WRITTEN}
        breaking = row.octave_breaks if phrase.octave_breaks is None else phrase.octave_breaks
        theirs = written_columns(
            phrase.phrase, phrase.key_order, phrase.tags, phrase.aside, breaking
        )
        # Of the player's own order the name alone doesn't tell which it is.
        mine["keys"] = self._tonics(row.id)
        theirs["keys"] = [key.tonic.pitch_class for key in phrase.keys]
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
            self._rewrite(row, phrase, values, breaking=breaking)
        elif values:
            words = PHRASE.update(*values)
            self.connection.execute(change(words), {**values, "id": row.id})
        self.merged.changed += bool(values)
        return wins and phrase.tempo != row.tempo

    def _tonics(self, phrase_id: int) -> list[int]:
        """Return the pitch classes of a phrase's keys in the order in which they start."""
        return list(map(tonic_pitch_class, written_now(self.connection, phrase_id)["keys"]))

    def _rewrite(
        self, row: Row[Any], phrase: DocumentPhrase, values: dict[str, Any], *, breaking: bool
    ) -> None:
        if folded_title(phrase.title) != row.folded:
            self.known.titles.pop(row.folded, None)
            title = self.known.free_title(phrase.title)
        else:
            title = phrase.title
        self.numbered.pop(row.id, None)
        if title != phrase.title:
            self.numbered[row.id] = phrase.title
        kept = kept_for_undo(self.connection, row.id, phrase.last_change)
        former = self.rewritten.setdefault(row.id, kept)
        new = self._laid_out(phrase, title, breaking=breaking)
        values |= {**columns_of(new), "former": former}
        change_written(self.connection, row.id, values, card_columns(new))

    def _laid_out(self, phrase: DocumentPhrase, title: str, *, breaking: bool) -> NewPhrase:
        """Return a phrase of the document under a title, in its keys, for the player's range."""
        return Content(
            replace(phrase.phrase, title=title),
            phrase.key_order,
            tuple(phrase.keys),
            tuple(phrase.tags),
            frozenset(phrase.aside),
            breaking,
        ).laid_out(self.sounding_range)

    def _place(self, phrase: DocumentPhrase, phrase_id: int, placed: Placed) -> None:
        ids = card_ids(self.connection, phrase_id)
        for card in phrase.cards:
            card_id = ids[card.key.tonic.pitch_class]
            placed.cards[phrase.uid, card.key.number] = card_id
            if card.note or card.note_at:
                self._note(phrase_id, card_id, card)

    def _note(self, phrase_id: int, card_id: int, card: DocumentCard) -> None:
        words = "SELECT note, note_at FROM card WHERE id = :id"
        row = self.connection.execute(query(words), {"id": card_id}).one()
        if note_wins((card.note, card.note_at), (row.note, row.note_at)):
            values = {"note": card.note, "note_at": card.note_at, "id": card_id}
            self.connection.execute(change(CARD.update("note", "note_at")), values)
            self.merged.notes += 1
            if row.note and row.note != card.note:
                self.merged.noted.append((self._title(phrase_id), row.note, card.note))

    def _keep_deleted(self, deleted: Sequence[DocumentDeleted], found: set[int]) -> None:
        """Keep in mind what was deleted there; what is here is retired instead, and never lost.

        ``found`` are those that are in the document still, written down there once more.
        """
        for each in deleted:
            number = self.known.numbers.get(each.uid)
            if number is None:
                self.known.keep_away(each, each.at)
            elif number not in found:
                self._retire(self.known.row(number), each.at)

    def _retire(self, row: Row[Any], at: datetime) -> None:
        if row.retired_at is None and at > (row.restored_at or row.added_at):
            values = {"retired_at": at, "id": row.id}
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
                self.known.entitle(phrase_id, mine.uid)  # two may change titles, and share none
                self.known.entitle(holder.id, mine.title)
            self.known.entitle(phrase_id, title)

    def _tell(self) -> None:
        """Keep in mind for the player what was changed, under the titles that came of it."""
        for phrase_id, title in self.numbered.items():
            if (given := self._title(phrase_id)) != title:
                self.merged.renamed[title] = given
        for phrase_id, former in self.rewritten.items():
            now = written_now(self.connection, phrase_id)
            written = {name: former[name] for name in WRITTEN}
            columns = columns_changed(written, now)
            if not {"key", "key_order"} & columns.keys():  # these say what the keys are now
                was, keys = (tuple(map(tonic_pitch_class, each["keys"])) for each in (former, now))
                columns |= columns_changed({"keys": was}, {"keys": keys})
            if columns:
                self.merged.replaced.append(Replaced(now["title"], columns))
        for phrase_id, stood in self.joined.items():
            self.merged.joined |= self.known.only_title(phrase_id, stood)
        self.merged.deleted_there += map(self._title, self.retired)
        for phrase_id, was_retired in self.moved.items():
            row = self.known.row(phrase_id)
            if was_retired and row.retired_at is None:
                self.merged.restored.append(row.title)
            if not (was_retired or row.retired_at is None or phrase_id in self.retired):
                self.merged.retired.append(row.title)

    def _title(self, phrase_id: int) -> str:
        """Return the title that a phrase has now."""
        title: str = self.known.row(phrase_id).title
        return title


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
