"""Write phrases with their cards: anew, changed, begun afresh, the last change taken back.

A phrase keeps what its last edit replaced, or the merge that changed it last, in its column
``former``, which isn't exported: an undo is for the store in which that was done. Of what was
taken back only the time is kept there: it is the last edit still, and can't be undone again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection

from drillbox.errors import BadInput
from drillbox.music.analysis.whole import analyse
from drillbox.music.charts import chart_from
from drillbox.music.keys import Key, parse_key
from drillbox.music.moving.instruments import laid
from drillbox.music.moving.transposition import Range
from drillbox.music.phrases import Phrase, folded_title, line_from
from drillbox.store.access import ILLEGIBLE
from drillbox.store.naming import pasted
from drillbox.store.phrase_rows import (
    ONE,
    OTHER_TITLE,
    Values,
    card_columns,
    columns_of,
    free_title,
    insert_phrase,
    new_columns,
    number_of,
    phrase,
    refuse_taken,
    remove_phrase,
    restored,
    retire,
    row_of,
    set_title,
)
from drillbox.store.reckoning import reckon
from drillbox.store.sql import CARD, PHRASE, change, query
from drillbox.store.values import NewPhrase, PhraseRecord, new_cards, time_of_change

if TYPE_CHECKING:
    from drillbox.store.access import Store

# What was written down; the rest of a phrase's columns are about it.
WRITTEN = (
    "title", "key", "tempo", "double_time", "key_order", "chart", "line", "tags", "aside",
    "octave_breaks",
)  # fmt: skip
_LAID = ("key", "position", "chart", "line", "quarters", "put_aside")


def change_written(
    connection: Connection, phrase_id: int, values: Mapping[str, Any], cards: Sequence[Values]
) -> None:
    """Change columns of a phrase, and give its cards other charts and lines.

    A card stays the one that sounds in its key, whatever the key is called; what is remembered
    of it stays too, until it is recomputed for another goal.
    """
    names = [name for name in PHRASE.columns if name in values]
    connection.execute(change(PHRASE.update(*names)), {**values, "id": phrase_id})
    ids = card_ids(connection, phrase_id)
    # Two cards may change places, and never stand on one.
    words = "UPDATE card SET position = position + 100 WHERE phrase_id = :id"
    connection.execute(change(words), {"id": phrase_id})
    rows = [{**each, "id": ids[tonic_pitch_class(each["key"])]} for each in cards]
    connection.execute(change(CARD.update(*_LAID)), rows)


def card_ids(connection: Connection, phrase_id: int) -> dict[int, int]:
    """Return the numbers of a phrase's cards by the pitch class that each sounds on."""
    words = "SELECT key, id FROM card WHERE phrase_id = :id"
    rows = connection.execute(query(words), {"id": phrase_id}).all()
    return {tonic_pitch_class(row.key): row.id for row in rows}


def tonic_pitch_class(key: str) -> int:
    """Return the pitch class of a stored key's tonic."""
    return parse_key(key).tonic.pitch_class


# In ``former``: the uid of the phrase in whose place this one stands, and when the edit was made.
_AFRESH, _AT = "afresh", "at"


@dataclass(frozen=True, slots=True)
class Content:
    """What an edit replaces or brings: a phrase, its order, ``keys`` in order, tags, keys aside,
    and whether its line breaks octaves, as in ``NewPhrase``."""

    phrase: Phrase
    order: str
    keys: tuple[Key, ...]
    tags: tuple[str, ...]
    aside: frozenset[int]
    octave_breaks: bool

    def laid_out(self, sounding_range: Range | None) -> NewPhrase:
        """Return the phrase with its twelve cards, each in the octave that fits a range, or with
        octaves broken for it."""
        phrase, breaking = self.phrase, self.octave_breaks
        there = (
            laid(phrase, key, breaking=breaking, sounding_range=sounding_range) for key in self.keys
        )
        return NewPhrase(
            phrase,
            self.order,
            new_cards(there),
            analyse(phrase),
            self.tags,
            self.aside,
            breaking,
        )


def change_phrase(
    store: Store, phrase_id: int, new: NewPhrase, now: datetime, *, undo: bool = False
) -> PhraseRecord:
    """Put another title, tempo, order, key, chart, line or tags in the place of a phrase's own.

    ``new`` has its twelve cards as for adding. Cards keep what is remembered of them, by how
    they sound, and are recomputed for the new goal. ``now`` is kept as the time of the change,
    by which the later of two stores' versions wins. What was there is kept for one undo,
    unless this is it. Raises BadInput if the title is taken by another phrase in practice,
    NotFound if there is no such phrase.
    """
    title = new.phrase.title
    with store.write() as connection:
        row = row_of(connection, phrase_id)
        if folded_title(title) != row.folded:
            free = f"Give that one another first: drillbox edit {pasted(title)} --title OTHER"
            refuse_taken(connection, title, now, free if undo else OTHER_TITLE)
        at = _after_all_edits(connection, now)
        values = {
            **columns_of(new),
            "changed_at": time_of_change(now, row.changed_at, row.added_at),
            "former": taken_back(at) if undo else kept_for_undo(connection, phrase_id, at),
        }
        change_written(connection, phrase_id, values, card_columns(new))
        reckon(connection, set(card_ids(connection, phrase_id).values()))
    return phrase(store, phrase_id)


def kept_for_undo(connection: Connection, phrase_id: int, at: datetime) -> Values:
    """Return what an edit made at a time keeps for one undo."""
    return {**written_now(connection, phrase_id), **taken_back(at)}


def taken_back(at: datetime) -> Values:
    """Return what is kept of an edit that was taken back at a time."""
    return {_AT: at.isoformat()}


def written_now(connection: Connection, phrase_id: int) -> Values:
    """Return what is written down of a phrase now."""
    row = connection.execute(query(ONE), {"id": phrase_id}).one()
    words = "SELECT key FROM card WHERE phrase_id = :id ORDER BY position"
    keys = connection.execute(query(words), {"id": phrase_id}).scalars()
    return {**{name: getattr(row, name) for name in WRITTEN}, "keys": list(keys)}


def begin_afresh(store: Store, phrase_id: int, new: NewPhrase, now: datetime) -> PhraseRecord:
    """Retire a phrase and put a new one in its place, of which nothing is remembered yet.

    The retired one keeps its attempts, and gives up its title where the new one has it. Raises
    NotFound if there is no such phrase.
    """
    with store.write() as connection:
        old = row_of(connection, phrase_id)
        retire(connection, old.id, now)
        refuse_taken(connection, new.phrase.title, now)
        at = _after_all_edits(connection, now)
        former = {_AFRESH: old.uid, "title": old.title, **taken_back(at)}
        values = {**new_columns(now), "former": former}
        added = insert_phrase(connection, values, new)
    return phrase(store, added)


_EDITED = "SELECT id, former, changed_at, added_at FROM phrase WHERE former IS NOT NULL"


def _after_all_edits(connection: Connection, now: datetime) -> datetime:
    """Return the time of an edit that is the last, also where a clock stood ahead before."""
    return time_of_change(now, *map(_edited_at, connection.execute(query(_EDITED))))


def last_edited(store: Store) -> PhraseRecord | None:
    """Return the phrase that was edited last, also where that is taken back already."""
    with store.read() as connection:
        rows = connection.execute(query(_EDITED)).all()
    last = max(rows, key=lambda row: (_edited_at(row), row.id), default=None)
    return None if last is None else phrase(store, last.id)


def _edited_at(row: Any) -> datetime:
    """Return when a phrase was edited last; an older drillbox kept only when it was changed.

    So it is where what is kept of the edit is damaged: other phrases' edits don't hang on it.
    """
    with suppress(*ILLEGIBLE):
        at = datetime.fromisoformat(row.former[_AT])
        if at.tzinfo is not None:
            return at
    found: datetime = row.changed_at or row.added_at
    return found


def former_of(store: Store, phrase_id: int) -> Content | str | None:
    """Return what the last edit of a phrase replaced: the uid of one that it stands in for,
    or what the phrase was. None where there is nothing to undo, or it is undone.

    Raises BadInput where what is kept can't be read, as of a damaged phrase that an import mended.
    """
    with store.read() as connection:
        row = connection.execute(query(ONE), {"id": phrase_id}).one()
    found = row.former
    try:
        if not found or "title" not in found:
            return None
        if _AFRESH in found:
            return str(found[_AFRESH])
        # Once no edit changed octave breaks.
        return _decoded({"octave_breaks": row.octave_breaks, **found})
    except ILLEGIBLE:
        raise BadInput(
            f"What {row.title!r} was before its last edit can't be read",
            "See your backups: drillbox store list",
        ) from None


def _decoded(found: Mapping[str, Any]) -> Content:
    content = Phrase(
        title=found["title"],
        key=parse_key(found["key"]),
        tempo=found["tempo"],
        chart=chart_from(found["chart"]),
        line=line_from(found["line"]),
        double_time=found["double_time"],
    )
    keys = tuple(map(parse_key, found["keys"]))
    return Content(
        content,
        found["key_order"],
        keys,
        tuple(found["tags"]),
        frozenset(found["aside"]),
        found["octave_breaks"],
    )


def undo_afresh(store: Store, phrase_id: int, uid: str, now: datetime) -> PhraseRecord | None:
    """Take back the phrase that another was put in the place of; None where it is gone.

    The other is deleted, or retired where it has attempts, which nothing loses.
    """
    with store.write() as connection:
        number = number_of(connection, uid)
        if number is None or number == phrase_id:
            return None
        old = connection.execute(query(ONE), {"id": number}).one()
        new = connection.execute(query(ONE), {"id": phrase_id}).one()
        at = _after_all_edits(connection, now)
        if _attempted(connection, phrase_id):
            retire(connection, new.id, now)
            set_title(connection, new.id, free_title(connection, new.title), now)
            values: Values = {"former": taken_back(at), "id": new.id}
            connection.execute(change(PHRASE.update("former")), values)
        else:
            remove_phrase(connection, new.id, now)
        if old.title != new.former["title"]:
            set_title(connection, old.id, free_title(connection, new.former["title"]), now)
        back: Values = {
            **restored(old, now),
            "changed_at": time_of_change(now, old.changed_at, old.added_at),
            "former": taken_back(at),
        }
        connection.execute(change(PHRASE.update(*back)), {**back, "id": old.id})
    return phrase(store, number)


def _attempted(connection: Connection, phrase_id: int) -> bool:
    words = """
        SELECT count(*) FROM attempt JOIN card ON card.id = card_id WHERE phrase_id = :id
    """
    return bool(connection.execute(query(words), {"id": phrase_id}).scalar_one())
