"""Two phrases of a store that are one elsewhere: the second comes into the first."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, Row

from drillbox.music.keys import parse_key
from drillbox.store.checked import DocumentCard, DocumentPhrase
from drillbox.store.phrase_edits import card_ids
from drillbox.store.phrase_rows import ONE, record_from
from drillbox.store.sql import change, query


def give_up(connection: Connection, phrase_id: int, other: int) -> DocumentPhrase:
    """Take ``other`` out of the store, its attempts now at the phrase's cards; return what it was.

    That is still to be merged into the phrase, and its cards to be reckoned.
    """
    row = connection.execute(query(ONE), {"id": other}).one()
    given_up = _as_document(connection, row)
    ids = card_ids(connection, phrase_id)
    moves = [
        {"here": ids[tonic], "there": there} for tonic, there in card_ids(connection, other).items()
    ]
    words = "UPDATE attempt SET card_id = :here WHERE card_id = :there"
    connection.execute(change(words), moves)
    connection.execute(change("DELETE FROM card WHERE phrase_id = :id"), {"id": other})
    connection.execute(change("DELETE FROM phrase WHERE id = :id"), {"id": other})
    return given_up


def _as_document(connection: Connection, row: Row[Any]) -> DocumentPhrase:
    """Return a stored phrase as a document has it; the store's own values aren't checked again."""
    written = record_from(row).phrase
    words = "SELECT key, position, note, note_at FROM card WHERE phrase_id = :id"
    cards = connection.execute(query(words), {"id": row.id}).all()
    values = {
        name: getattr(row, name)
        for name in DocumentPhrase.model_fields
        if name not in {"analysis", "cards"}
    }
    values |= {"key": written.key, "chart": written.chart, "line": written.line}
    made = [
        DocumentCard.model_construct(**{**card._mapping, "key": parse_key(card.key)})
        for card in cards
    ]
    return DocumentPhrase.model_construct(**values, cards=made)
