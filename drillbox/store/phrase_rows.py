"""Phrases: brought in with their cards, listed, found by what the player types, put aside."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import datetime
from typing import TYPE_CHECKING, Any

from drillbox.errors import BadInput, NotFound
from drillbox.memory.cards import FIRST_STRIDE, first_tempo
from drillbox.memory.rules import rules_of
from drillbox.music.charts import chart_from, chart_json
from drillbox.music.keys import key_text, parse_key
from drillbox.music.phrases import (
    Phrase,
    folded_title,
    line_from,
    line_json,
    numbered_title,
)
from drillbox.store.naming import Noun, find_row, pasted
from drillbox.store.setting_rows import settings_in
from drillbox.store.sql import CARD, DELETED, PHRASE, STATE, change, query
from drillbox.store.twins import numbers_by_uid, uids_of
from drillbox.store.values import (
    NewPhrase,
    PhraseOverview,
    PhraseRecord,
    new_uid,
    time_of_change,
)

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from drillbox.store.access import Store

Values = dict[str, Any]
_NOUN = Noun("phrase", "drillbox phrases", "drillbox add")


def add_phrases(store: Store, new: Sequence[NewPhrase], now: datetime) -> list[PhraseRecord]:
    """Store phrases with all their cards, in one transaction: all or none.

    Raises BadInput if a title is taken already, in the store or among the new ones; a retired
    phrase gives up its title, and goes by one with a number.
    """
    with store.write() as connection:
        return [_add(connection, each, now) for each in new]


def _add(connection: Connection, new: NewPhrase, now: datetime) -> PhraseRecord:
    refuse_taken(connection, new.phrase.title, now)
    added = insert_phrase(connection, new_columns(now), new)
    return record_from(connection.execute(query(ONE), {"id": added}).one())


def new_columns(now: datetime) -> Values:
    """Return the columns of a phrase that has just come in."""
    never = dict.fromkeys(("retired_at", "changed_at", "restored_at", "former"))
    return {"uid": new_uid(), "also": [], "added_at": now, **never}


def columns_of(new: NewPhrase) -> Values:
    """Return the columns that say what was written down, and what is in it."""
    analysis = None
    if new.analysis is not None:
        from drillbox.music.analysis.whole import analysis_json  # when there is one

        analysis = analysis_json(new.analysis)
    return {
        **written_columns(new.phrase, new.order, new.tags, new.aside, new.octave_breaks),
        "folded": folded_title(new.phrase.title),
        "analysis": analysis,
    }


def written_columns(
    phrase: Phrase,
    order: str,
    tags: Sequence[str] = (),
    aside: Collection[int] = (),
    octave_breaks: bool = False,
) -> Values:
    """Return the columns that say what was written down.

    Raises BadInput for a key that no signature holds.
    """
    return {
        "title": phrase.title,
        "key": key_text(phrase.key),
        "tempo": phrase.tempo,
        "double_time": phrase.double_time,
        "key_order": order,
        "chart": chart_json(phrase.chart),
        "line": line_json(phrase.line),
        "tags": list(tags),
        "aside": sorted(aside),
        "octave_breaks": octave_breaks,
    }


def card_columns(new: NewPhrase) -> list[Values]:
    """Return the columns of each card that say how it is played, and whether it is."""
    return [
        {
            "key": card.key.text(),
            "position": position,
            "chart": chart_json(card.chart),
            "line": line_json(card.line),
            "quarters": float(card.chart.length),
            "put_aside": card.key.tonic.pitch_class in new.aside,
        }
        for position, card in enumerate(new.cards)
    ]


def insert_phrase(connection: Connection, values: Values, new: NewPhrase) -> int:
    """Add a phrase with its cards, at the tempo of new ones by the settings in force; return its
    number.

    ``values`` are its columns besides those that ``columns_of`` gives.
    """
    words = f"{PHRASE.insert()} RETURNING id"
    found = connection.execute(change(words), {**values, **columns_of(new)})
    phrase_id: int = found.scalar_one()
    counts = ("clean_run", "attempts", "days_clean", "days_missed", "goal_run", "owned")
    untried = {
        **dict.fromkeys((*STATE, "note", "note_at")),
        **dict.fromkeys(counts, 0),
        "stride": FIRST_STRIDE,
        "tempo": first_tempo(new.phrase.tempo, rules_of(settings_in(connection)).tempo),
        "phrase_id": phrase_id,
    }
    connection.execute(change(CARD.insert()), [untried | each for each in card_columns(new)])
    return phrase_id


OTHER_TITLE = "Choose another title, or see the other with: drillbox show"


def refuse_taken(
    connection: Connection, title: str, now: datetime, remedy: str = OTHER_TITLE
) -> None:
    """Raise BadInput where a phrase in practice has a title; a retired one is given another."""
    found = connection.execute(
        query("SELECT id, title, retired_at FROM phrase WHERE folded = :folded"),
        {"folded": folded_title(title)},
    ).one_or_none()
    if found is None:
        return
    if found.retired_at is None:
        raise BadInput(f"There is a phrase {found.title!r} already", remedy)
    set_title(connection, found.id, free_title(connection, found.title), now)


def set_title(connection: Connection, phrase_id: int, title: str, now: datetime) -> None:
    """Set another title for a phrase, which is free."""
    row = connection.execute(query(ONE), {"id": phrase_id}).one()
    at = time_of_change(now, row.changed_at, row.added_at)
    values = {"title": title, "folded": folded_title(title), "changed_at": at, "id": phrase_id}
    connection.execute(change(PHRASE.update("title", "folded", "changed_at")), values)


def free_title(connection: Connection, title: str) -> str:
    """Return a title that no phrase has: this one, or with the first number that is free."""
    taken = set(connection.execute(query("SELECT folded FROM phrase")).scalars())
    return numbered_title(title, taken)


def record_from(row: Any) -> PhraseRecord:
    """Return the value of a row."""
    return PhraseRecord(
        id=row.id,
        uid=row.uid,
        phrase=_written(row),
        order=row.key_order,
        added_at=row.added_at,
        retired_at=row.retired_at,
        analysis_document=row.analysis,
        tags=tuple(row.tags),
        aside=frozenset(row.aside),
        octave_breaks=row.octave_breaks,
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


ONE = f"{PHRASE.select()} WHERE id = :id"


def phrase(store: Store, phrase_id: int) -> PhraseRecord:
    """Return the phrase of that number; raise NotFound if there is none."""
    with store.read() as connection:
        row = row_of(connection, phrase_id)
    return record_from(row)


def row_of(connection: Connection, phrase_id: int) -> Any:
    """Return the row of the phrase of that number; raise NotFound if there is none."""
    row = connection.execute(query(ONE), {"id": phrase_id}).one_or_none()
    if row is None:
        raise NotFound(f"There is no phrase number {phrase_id}", "See drillbox phrases.")
    return row


def number_of(connection: Connection, uid: str) -> int | None:
    """Return the number of the phrase that goes by a uid, None where there is none."""
    rows = connection.execute(query("SELECT id, uid, also FROM phrase")).all()
    return numbers_by_uid(rows).get(uid)


def check_there(store: Store, record: PhraseRecord) -> None:
    """Raise NotFound where a phrase that was read before isn't there any more.

    Another may have its number now: SQLite gives that of the last row once more when it is
    deleted.
    """
    with store.read() as connection:
        number = number_of(connection, record.uid)
    if number != record.id:
        raise NotFound(f"{record.title!r} isn't there any more", "See drillbox phrases.")


def phrases_in_practice(store: Store) -> list[tuple[int, Phrase]]:
    """Return every phrase that isn't retired with its number, in the order they were added."""
    words = f"SELECT {_WRITTEN} FROM phrase WHERE retired_at IS NULL ORDER BY id"
    with store.read() as connection:
        rows = connection.execute(query(words)).all()
    return [(row.id, _written(row)) for row in rows]


_WRITTEN = "id, title, key, tempo, chart, line, double_time"


def all_titles(store: Store, *, retired: bool = True) -> list[str]:
    """Return the titles of all phrases, in the order they were added; of retired ones too."""
    words = "SELECT title FROM phrase WHERE :retired OR retired_at IS NULL ORDER BY id"
    with store.read() as connection:
        return list(connection.execute(query(words), {"retired": retired}).scalars())


def deleted_uids(store: Store) -> set[str]:
    """Return the uids of the phrases that were deleted, here or where they came from."""
    with store.read() as connection:
        return set(connection.execute(query(f"SELECT uid FROM {DELETED.name}")).scalars())


_OVERVIEW = """
SELECT phrase.id, title, phrase.key, phrase.tempo, double_time, added_at, retired_at,
       sum(CASE WHEN put_aside THEN 0 ELSE 1 END) AS cards,
       sum(CASE WHEN put_aside OR opened_day IS NULL THEN 0 ELSE 1 END) AS opened,
       coalesce(sum(attempts), 0) AS attempts, max(last_day) AS last_day,
       min(CASE WHEN put_aside THEN NULL ELSE due_day END) AS next_due,
       sum(CASE WHEN put_aside THEN 1 ELSE 0 END) AS away,
       avg(CASE WHEN put_aside OR opened_day IS NULL THEN NULL ELSE card.tempo END) AS reached
FROM phrase LEFT JOIN card ON card.phrase_id = phrase.id
WHERE (retired_at IS NOT NULL) = :retired
GROUP BY phrase.id ORDER BY phrase.id
"""


def list_phrases(store: Store, *, retired: bool = False) -> list[PhraseOverview]:
    """Return the phrases that are drilled, or the retired ones, in the order they were added."""
    with store.read() as connection:
        rows = connection.execute(query(_OVERVIEW), {"retired": retired}).all()
        words = query("SELECT id, tags FROM phrase")
        tags = {row.id: tuple(row.tags) for row in connection.execute(words).all()}
    return [replace(PhraseOverview(*row), tags=tags[row.id]) for row in rows]


def find_phrase(store: Store, text: str, *, retired: bool = False) -> PhraseRecord:
    """Return the phrase that ``text`` names, as ``naming.find_row`` does; NotFound for none.

    The beginning of a title means one in practice, if there is one, before a retired one; with
    ``retired`` it is the other way round.
    """
    words = "SELECT id, title, folded, retired_at FROM phrase ORDER BY id"
    with store.read() as connection:
        rows = connection.execute(query(words)).all()
    if all(row.folded != folded_title(text) for row in rows):
        with suppress(NotFound):
            meant = [row for row in rows if (row.retired_at is not None) == retired]
            return phrase(store, find_row(meant, text, _NOUN).id)
    return phrase(store, find_row(rows, text, _NOUN).id)


def find_in_practice(store: Store, text: str) -> PhraseRecord:
    """Return what ``find_phrase`` does; raise BadInput where that phrase is retired."""
    record = find_phrase(store, text)
    if record.retired:
        raise BadInput(
            f"{record.title!r} is retired",
            f"Bring it back first: drillbox retire {pasted(record.title)} --back",
        )
    return record


def retire_phrase(store: Store, phrase_id: int, now: datetime) -> None:
    """Keep the phrase out of drills; its cards and attempts stay. No change if it is already."""
    with store.write() as connection:
        retire(connection, phrase_id, now)


def retire(connection: Connection, phrase_id: int, now: datetime) -> None:
    """Retire a phrase within a transaction of this room."""
    row = connection.execute(query(ONE), {"id": phrase_id}).one_or_none()
    if row and row.retired_at is None:
        values = {"retired_at": time_of_change(now, row.restored_at), "id": phrase_id}
        connection.execute(change(PHRASE.update("retired_at")), values)


def restore_phrase(store: Store, phrase_id: int, now: datetime) -> None:
    """Take a retired phrase back into drills, as it was left. No change if it isn't retired."""
    with store.write() as connection:
        row = connection.execute(query(ONE), {"id": phrase_id}).one_or_none()
        if row and row.retired_at is not None:
            values = {"id": phrase_id, **restored(row, now)}
            connection.execute(change(PHRASE.update("retired_at", "restored_at")), values)


def restored(row: Any, now: datetime) -> Values:
    """Return the columns of a phrase that is taken back into drills."""
    at = time_of_change(now, row.retired_at, row.restored_at)
    return {"retired_at": None, "restored_at": at}


def delete_phrase(store: Store, phrase_id: int, now: datetime) -> None:
    """Delete a phrase with its cards and their attempts, for good.

    What remains is that it was deleted, and when, so that no import brings it back unasked.
    Raises NotFound if there is no such phrase.
    """
    with store.write() as connection:
        remove_phrase(connection, phrase_id, now)


def remove_phrase(connection: Connection, phrase_id: int, now: datetime) -> None:
    """Delete a phrase with everything that belongs to it, as a part of a larger change."""
    row = row_of(connection, phrase_id)
    of_it = "card_id IN (SELECT id FROM card WHERE phrase_id = :id)"
    counted = f"SELECT session_id, count(*) AS gone FROM attempt WHERE {of_it} GROUP BY session_id"
    for words in (
        f"UPDATE drill_session SET ratings = ratings - counted.gone FROM ({counted}) AS counted"
        " WHERE counted.session_id = drill_session.id",
        f"DELETE FROM heard WHERE attempt_id IN (SELECT id FROM attempt WHERE {of_it})",
        f"DELETE FROM attempt WHERE {of_it}",
        "DELETE FROM card WHERE phrase_id = :id",
        "DELETE FROM phrase WHERE id = :id",
    ):
        connection.execute(change(words), {"id": phrase_id})
    at = time_of_change(now, row.added_at, row.restored_at)
    kept_away = [{"uid": uid, "at": at} for uid in sorted(uids_of(row))]
    connection.execute(change(DELETED.insert()), kept_away)
