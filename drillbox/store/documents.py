"""The whole store as one open document, in the form that ``exchange.schema.json`` describes.

The same data give the same document, whichever machine wrote them.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, Row

from drillbox.memory.recall import Recall
from drillbox.store.settings import settings_in
from drillbox.store.sql import query

if TYPE_CHECKING:
    from drillbox.store.opening import Store

FORMAT, VERSION = "drillbox", 1

_PHRASES = """
SELECT id, uid, title, key, tempo, double_time, key_order, chart, line, analysis, added_at,
       retired_at FROM phrase ORDER BY added_at, id
"""
_CARDS = """
SELECT phrase_id, key, position, chart, line, opened_day, stability, difficulty, last_day, tempo,
       clean_run, attempts, due_day, note FROM card ORDER BY phrase_id, position
"""
_SESSIONS = """
SELECT uid, started_at, ended_at, minutes, zone, kind FROM drill_session ORDER BY started_at, id
"""
_ATTEMPTS = """
SELECT attempt.uid, phrase.uid AS phrase, card.key, drill_session.uid AS session, at,
       attempt.zone, day, recall, attempt.tempo, hint, seconds, loops, in_round, due_after,
       undone_at
FROM attempt JOIN card ON card.id = card_id JOIN phrase ON phrase.id = phrase_id
JOIN drill_session ON drill_session.id = session_id
ORDER BY at, attempt.id
"""


def document(store: Store) -> dict[str, Any]:
    """Return all that the store holds, as values that JSON can hold, in a fixed order."""
    with store.read() as connection:
        return {
            "format": FORMAT,
            "version": VERSION,
            "phrases": _phrases(connection),
            "sessions": [_plain(row) for row in connection.execute(query(_SESSIONS))],
            "attempts": [_attempt(row) for row in connection.execute(query(_ATTEMPTS))],
            "settings": settings_in(connection),
        }


def _phrases(connection: Connection) -> list[dict[str, Any]]:
    cards: dict[int, list[dict[str, Any]]] = {}
    for row in connection.execute(query(_CARDS)):
        values = _plain(row)
        cards.setdefault(values.pop("phrase_id"), []).append(values)
    phrases = []
    for row in connection.execute(query(_PHRASES)):
        values = _plain(row)
        values["cards"] = cards.get(values.pop("id"), [])
        phrases.append(values)
    return phrases


def _attempt(row: Row[Any]) -> dict[str, Any]:
    values = _plain(row)
    values["recall"] = Recall(row.recall).word
    return values


def _plain(row: Row[Any]) -> dict[str, Any]:
    return {name: _text(value) for name, value in row._mapping.items()}


def _text(value: Any) -> Any:
    if isinstance(value, datetime):
        return f"{value.astimezone(UTC):%Y-%m-%dT%H:%M:%S.%fZ}"
    return value.isoformat() if isinstance(value, date) else value


def instant(text: str | None) -> datetime | None:
    """Read an instant of a document; raise ValueError if it has no zone."""
    if text is None:
        return None
    at = datetime.fromisoformat(text)
    if at.tzinfo is None:
        raise ValueError(f"{text} has no zone")
    return at


def day(text: str | None) -> date | None:
    """Read a day of a document."""
    return None if text is None else date.fromisoformat(text)
