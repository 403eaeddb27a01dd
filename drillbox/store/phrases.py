"""Phrases: brought in with their cards, listed, found by what the player types, put aside."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any

from drillbox.errors import BadInput, NotFound
from drillbox.memory.cards import untried
from drillbox.memory.rules import Rules
from drillbox.music.codec import chart_from, chart_json, line_from, line_json
from drillbox.music.keys import parse_key
from drillbox.music.phrases import Phrase
from drillbox.music.titles import folded
from drillbox.store.columns import DELETED, PHRASE
from drillbox.store.naming import Noun, find_row
from drillbox.store.phrase_writing import card_ids, card_values, change_written, made, written
from drillbox.store.reckoning import reckon
from drillbox.store.sql import change, query
from drillbox.store.values import NewCard, NewPhrase, PhraseOverview, PhraseRecord

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from drillbox.store.opening import Store
    from drillbox.store.tables import Phrase as Row

__all__ = ["NewCard", "NewPhrase", "PhraseOverview", "PhraseRecord"]


_NOUN = Noun("phrase", "drillbox phrases", "drillbox add")


def add_phrases(store: Store, new: Sequence[NewPhrase], now: datetime) -> list[PhraseRecord]:
    """Store phrases with all their cards, in one transaction: all or none.

    Raises BadInput if a title is taken already, in the store or among the new ones.
    """
    from drillbox.store.tables import Session  # the models load in 0.2 s

    with store.write() as connection, Session(connection) as session:
        rows = []
        for each in new:
            _refuse_taken(connection, each.phrase.title)
            row = _phrase_row(each, now)
            session.add(row)
            session.flush()
            session.add_all(_card_rows(each, row.id or 0))
            session.flush()
            rows.append(row)
        return [record_from(row) for row in rows]


def _refuse_taken(connection: Connection, title: str) -> None:
    found = connection.execute(
        query("SELECT title FROM phrase WHERE folded = :folded"), {"folded": folded(title)}
    ).scalar()
    if found is not None:
        raise BadInput(
            f"There is a phrase {found!r} already",
            "Give this one another title, or see the other with: drillbox show.",
        )


def _phrase_row(new: NewPhrase, now: datetime) -> Row:
    from drillbox.store.tables import Phrase as Row  # as above

    phrase = new.phrase
    analysis = None
    if new.analysis is not None:
        from drillbox.music.analysis_codec import analysis_json  # when there is one

        analysis = analysis_json(new.analysis)
    return Row(
        uid=uuid.uuid4().hex,
        title=phrase.title,
        folded=folded(phrase.title),
        key=phrase.key.text(),
        tempo=phrase.tempo,
        double_time=phrase.double_time,
        key_order=new.order,
        chart=chart_json(phrase.chart),
        line=line_json(phrase.line),
        analysis=analysis,
        added_at=now,
    )


def _card_rows(new: NewPhrase, phrase_id: int) -> list[Any]:
    from drillbox.store.tables import Card  # as above

    first = untried(new.phrase.tempo, Rules()).tempo.tempo
    return [
        Card(
            phrase_id=phrase_id,
            key=card.key.text(),
            position=position,
            chart=chart_json(card.chart),
            line=line_json(card.line),
            quarters=float(card.chart.length),
            tempo=card.tempo or first,
        )
        for position, card in enumerate(new.cards)
    ]


def record_from(row: Any) -> PhraseRecord:
    """Return the value of a row, be it a model or a row of a query."""
    return PhraseRecord(
        id=row.id,
        uid=row.uid,
        phrase=_written(row),
        order=row.key_order,
        added_at=row.added_at,
        retired_at=row.retired_at,
        analysis_document=row.analysis,
    )


def _written(row: Any) -> Phrase:
    return Phrase(
        title=row.title,
        key=parse_key(row.key),
        tempo=row.tempo,
        chart=chart_from(row.chart),
        line=line_from(row.line),
        double_time=row.double_time,
    )


_ONE = f"{PHRASE.select()} WHERE id = :id"


def phrase(store: Store, phrase_id: int) -> PhraseRecord:
    """Return the phrase of that number; raise NotFound if there is none."""
    with store.read() as connection:
        row = connection.execute(query(_ONE), {"id": phrase_id}).one_or_none()
    if row is None:
        raise NotFound(f"There is no phrase number {phrase_id}", "See drillbox phrases.")
    return record_from(row)


def phrases_in_practice(store: Store) -> list[tuple[int, Phrase]]:
    """Return every phrase that isn't retired with its number, in the order they were added."""
    words = f"SELECT {_WRITTEN} FROM phrase WHERE retired_at IS NULL ORDER BY id"
    with store.read() as connection:
        rows = connection.execute(query(words)).all()
    return [(row.id, _written(row)) for row in rows]


_WRITTEN = "id, title, key, tempo, chart, line, double_time"


def titles(store: Store) -> list[str]:
    """Return the titles of all phrases, retired ones too, in the order they were added."""
    with store.read() as connection:
        return list(connection.execute(query("SELECT title FROM phrase ORDER BY id")).scalars())


_OVERVIEW = """
SELECT phrase.id, title, phrase.key, phrase.tempo, double_time, added_at, retired_at,
       count(card.id) AS cards, count(opened_day) AS opened,
       coalesce(sum(attempts), 0) AS attempts, max(last_day) AS last_day, min(due_day) AS next_due
FROM phrase LEFT JOIN card ON card.phrase_id = phrase.id
WHERE (retired_at IS NOT NULL) = :retired
GROUP BY phrase.id ORDER BY phrase.id
"""


def list_phrases(store: Store, *, retired: bool = False) -> list[PhraseOverview]:
    """Return the phrases that are drilled, or the retired ones, in the order they were added."""
    with store.read() as connection:
        rows = connection.execute(query(_OVERVIEW), {"retired": retired}).all()
    return [PhraseOverview(*row) for row in rows]


def find_phrase(store: Store, text: str) -> PhraseRecord:
    """Return the phrase that ``text`` names, as ``naming.find_row`` does; NotFound for none."""
    with store.read() as connection:
        rows = connection.execute(query("SELECT id, title, folded FROM phrase ORDER BY id")).all()
    return phrase(store, find_row(rows, text, _NOUN).id)


def retire(store: Store, phrase_id: int, now: datetime) -> None:
    """Keep the phrase out of drills; its cards and attempts stay. No change if it is already."""
    words = "UPDATE phrase SET retired_at = :now WHERE id = :id AND retired_at IS NULL"
    with store.write() as connection:
        connection.execute(change(words), {"now": now, "id": phrase_id})


def restore(store: Store, phrase_id: int, now: datetime) -> None:
    """Take a retired phrase back into drills, as it was left. No change if it isn't retired."""
    words = (
        "UPDATE phrase SET retired_at = NULL, restored_at = :now"
        " WHERE id = :id AND retired_at IS NOT NULL"
    )
    with store.write() as connection:
        connection.execute(change(words), {"now": now, "id": phrase_id})


def delete_phrase(store: Store, phrase_id: int, now: datetime) -> None:
    """Delete a phrase with its cards and their attempts, for good.

    What remains is that it was deleted, and when, so that no import brings it back unasked.
    Raises NotFound if there is no such phrase.
    """
    uid = phrase(store, phrase_id).uid
    of_it = "card_id IN (SELECT id FROM card WHERE phrase_id = :id)"
    with store.write() as connection:
        for words in (
            f"DELETE FROM heard WHERE attempt_id IN (SELECT id FROM attempt WHERE {of_it})",
            f"DELETE FROM attempt WHERE {of_it}",
            "DELETE FROM card WHERE phrase_id = :id",
            "DELETE FROM phrase WHERE id = :id",
        ):
            connection.execute(change(words), {"id": phrase_id})
        connection.execute(change(DELETED.insert()), {"uid": uid, "at": now})


def change_phrase(
    store: Store, phrase_id: int, new: NewPhrase, rules: Rules, now: datetime
) -> PhraseRecord:
    """Put another title, tempo, order, key, chart or line in the place of a phrase's own.

    ``new`` has its twelve cards as for adding. Cards keep what is remembered of them, by how
    they sound, and are reckoned for the new goal. ``now`` is kept as the time of the change,
    by which the later of two stores' versions wins. Raises BadInput if the title is taken by
    another phrase, NotFound if there is no such phrase.
    """
    before = phrase(store, phrase_id)
    with store.write() as connection:
        if folded(new.phrase.title) != folded(before.title):
            _refuse_taken(connection, new.phrase.title)
        values = {**written(new.phrase, new.order), **made(new.phrase), "changed_at": now}
        cards = [
            card_values(position, card.key, card.chart, card.line)
            for position, card in enumerate(new.cards)
        ]
        change_written(connection, phrase_id, values, cards)
        reckon(connection, rules, set(card_ids(connection, phrase_id).values()))
    return phrase(store, phrase_id)
