"""Cards: those that may come next, one with everything a drill shows of it, and the due days."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import closing
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, Row

from drillbox.errors import NotFound
from drillbox.memory.candidates import Candidate
from drillbox.memory.cards import CardState, TempoState
from drillbox.memory.recall import MemoryState
from drillbox.music.charts import chart_from
from drillbox.music.keys import parse_key
from drillbox.music.phrases import line_from
from drillbox.store.sql import CARD, change, query
from drillbox.store.values import CardRecord

if TYPE_CHECKING:
    from drillbox.store.access import Store

# Days come as numbers: on 12,000 cards turning each into a date and back takes longer than the
# query.
_CANDIDATES = """
SELECT card.id, phrase_id, position, quarters, phrase.tempo, card.tempo,
       coalesce(stability, 0), coalesce(difficulty, 0),
       coalesce({last_day}, 0), coalesce({due_day}, 0), days_clean, days_missed, clean_run,
       stride, owned, card.key
FROM phrase JOIN card ON card.phrase_id = phrase.id
WHERE retired_at IS NULL AND card.id NOT IN (SELECT id FROM card WHERE put_aside)
ORDER BY phrase.id, position
"""


def candidates(store: Store) -> list[Candidate]:
    """Return every card that may come next: the cards of all phrases that aren't retired.

    Keys that are put aside are left out.

    In the order of phrases and of their keys.
    """
    with store.read() as connection:
        words = candidates_sql(sqlite=connection.dialect.name == "sqlite")
        # Rows as the driver gives them: wrapping 12,000 takes a third of the whole time.
        with closing(connection.connection.cursor()) as cursor:
            cursor.execute(words)
            return list(map(Candidate._make, cursor.fetchall()))


def candidates_sql(*, sqlite: bool) -> str:
    """Return the query of ``candidates``; its days are numbers as ``date.toordinal`` has them."""
    form = (
        "CAST(julianday({}) - 1721424.5 AS INTEGER)" if sqlite else "({} - DATE '0001-01-01' + 1)"
    )
    return _CANDIDATES.format(last_day=form.format("last_day"), due_day=form.format("due_day"))


_CARD = """
SELECT card.id, phrase_id, phrase.uid AS phrase_uid, title, card.key, position, card.chart,
       card.line, phrase.tempo AS goal, double_time, opened_day, stability, difficulty, last_day,
       card.tempo, stride, attempts, due_day, days_clean, days_missed, clean_run, goal_run, owned,
       note, put_aside
FROM card JOIN phrase ON phrase.id = card.phrase_id
"""
_SIBLINGS = """
SELECT id, due_day FROM card
WHERE phrase_id = :phrase_id AND due_day IS NOT NULL AND NOT put_aside ORDER BY position
"""


def card(store: Store, card_id: int) -> CardRecord:
    """Return one card with its chart and line; raise NotFound if there is no such card."""
    with store.read() as connection:
        rows = connection.execute(query(_CARD + "WHERE card.id = :id"), {"id": card_id}).all()
        if not rows:
            raise NotFound(f"There is no card number {card_id}", "See drillbox phrases.")
        return _records(connection, rows)[0]


def cards_of(store: Store, phrase_id: int) -> list[CardRecord]:
    """Return the cards of a phrase in the order in which its keys open, written key first."""
    words = _CARD + "WHERE phrase_id = :id ORDER BY position"
    with store.read() as connection:
        return _records(connection, connection.execute(query(words), {"id": phrase_id}).all())


def _records(connection: Connection, rows: Sequence[Row[Any]]) -> list[CardRecord]:
    """Return the cards of one phrase; each knows when the others are due."""
    if not rows:
        return []
    found = connection.execute(query(_SIBLINGS), {"phrase_id": rows[0].phrase_id}).all()
    due = [(row.id, row.due_day) for row in found]
    return [
        CardRecord(
            id=row.id,
            phrase_id=row.phrase_id,
            phrase_uid=row.phrase_uid,
            title=row.title,
            key=parse_key(row.key),
            position=row.position,
            chart=chart_from(row.chart),
            line=line_from(row.line),
            goal=row.goal,
            double_time=row.double_time,
            opened_day=row.opened_day,
            state=state_of(row),
            note=row.note,
            sibling_due=frozenset(day for card_id, day in due if card_id != row.id),
            aside=row.put_aside,
        )
        for row in rows
    ]


def state_of(row: Any) -> CardState:
    """Return the state that a row of the card table holds."""
    memory = None
    if row.stability is not None:
        memory = MemoryState(row.stability, row.difficulty, row.last_day)
    tempo = TempoState(row.tempo, row.stride)
    days = row.days_clean, row.days_missed, row.clean_run, row.goal_run
    return CardState(memory, tempo, row.attempts, row.due_day, *days, bool(row.owned))


def due_counts(store: Store, from_day: date) -> dict[date, int]:
    """Return how many cards of phrases in practice are due on each day from ``from_day`` on."""
    words = """
        SELECT due_day, count(*) FROM card JOIN phrase ON phrase.id = phrase_id
        WHERE due_day >= :since AND retired_at IS NULL AND NOT put_aside
        GROUP BY due_day ORDER BY due_day
    """
    with store.read() as connection:
        return dict(map(tuple, connection.execute(query(words), {"since": from_day}).all()))


def set_note(store: Store, card_id: int, note: str | None, now: datetime) -> None:
    """Keep the player's note to self on a card; None takes it away."""
    with store.write() as connection:
        values = {"note": note, "note_at": now, "id": card_id}
        connection.execute(change(CARD.update("note", "note_at")), values)
