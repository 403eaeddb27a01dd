"""Cards: which may come next, each in full, the due days; and the attempts that move them.

An attempt is stored together with its card's next state.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import closing, suppress
from dataclasses import replace
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, Row

from drillbox.errors import NotFound
from drillbox.memory.candidates import Candidate
from drillbox.memory.cards import CardState, TempoState, is_cold
from drillbox.memory.days import offset_minutes
from drillbox.memory.recall import MemoryState, Recall
from drillbox.music.charts import chart_from
from drillbox.music.keys import parse_key
from drillbox.music.phrases import line_from
from drillbox.store.phrase_rows import number_of
from drillbox.store.setting_rows import written_in
from drillbox.store.sql import ATTEMPT, CARD, HEARD, STATE, STATE_OF_CARD, change, query
from drillbox.store.twins import also_of
from drillbox.store.values import (
    AttemptRecord,
    AttemptStored,
    CardMoved,
    CardRecord,
    HeardAttempt,
    NewAttempt,
    Written,
    time_of_change,
)

if TYPE_CHECKING:
    from drillbox.store.access import Store

# Days come as numbers: on 12,000 cards turning each into a date and back takes longer than the
# query.
_IN_PRACTICE = """
FROM phrase JOIN card ON card.phrase_id = phrase.id
WHERE retired_at IS NULL AND card.id NOT IN (SELECT id FROM card WHERE put_aside)
"""
_CANDIDATES = f"""
SELECT card.id, phrase_id, position, quarters, phrase.tempo, card.tempo,
       coalesce(stability, 0), coalesce(difficulty, 0),
       coalesce({{last_day}}, 0), coalesce({{due_day}}, 0), days_clean, days_missed, clean_run,
       stride, owned, card.key
{_IN_PRACTICE}ORDER BY phrase.id, position
"""


def any_in_practice(store: Store) -> bool:
    """Return whether there is a card that may come: see ``candidates``."""
    with store.read() as connection:
        return connection.execute(query(f"SELECT 1 {_IN_PRACTICE} LIMIT 1")).first() is not None


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


_CARD = f"""
SELECT card.id, phrase_id, phrase.uid AS phrase_uid, also, title, card.key, position, card.chart,
       card.line, phrase.tempo AS goal, double_time, {STATE_OF_CARD}, note, put_aside
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
            raise _no_card(card_id)
        return _records(connection, rows)[0]


def card_again(store: Store, read: CardRecord) -> CardRecord:
    """Return a card that was read before as it stands now.

    Where its phrase was joined with another since, it is that one's card in the key that sounds
    the same. Raises NotFound where it was deleted, also where another has its number now: SQLite
    gives that of the last row once more when it is deleted.
    """
    with suppress(NotFound):
        found = card(store, read.id)
        if read.phrase_uid in {found.phrase_uid, *found.also}:
            return found
    with store.read() as connection:
        number = number_of(connection, read.phrase_uid)
    there = cards_of(store, number) if number is not None else []
    joined = next((each for each in there if each.tonic == read.tonic), None)
    if joined is None:
        raise _no_card(read.id)
    return joined


def _no_card(card_id: int) -> NotFound:
    return NotFound(f"There is no card number {card_id}", "See drillbox phrases.")


def cards_of(store: Store, phrase_id: int) -> list[CardRecord]:
    """Return the cards of a phrase in the order in which its keys open, written key first."""
    words = _CARD + "WHERE phrase_id = :id ORDER BY position"
    with store.read() as connection:
        return _records(connection, connection.execute(query(words), {"id": phrase_id}).all())


def _records(connection: Connection, rows: Sequence[Row[Any]]) -> list[CardRecord]:
    """Return the cards of one phrase; each knows when the others are due."""
    if not rows:
        return []
    keys = [parse_key(row.key) for row in rows]
    found = connection.execute(query(_SIBLINGS), {"phrase_id": rows[0].phrase_id}).all()
    due = [(row.id, row.due_day) for row in found]
    return [
        CardRecord(
            id=row.id,
            phrase_id=row.phrase_id,
            phrase_uid=row.phrase_uid,
            title=row.title,
            key=key,
            tonic=key.tonic.pitch_class,
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
            also=also_of(row),
        )
        for row, key in zip(rows, keys, strict=True)
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
    """Keep the player's note to self on a card; None takes it away.

    Raises NotFound if there is no such card: its phrase may have been deleted meanwhile.
    """
    words = query("SELECT note_at FROM card WHERE id = :id")
    with store.write() as connection:
        found = connection.execute(words, {"id": card_id}).one_or_none()
        if found is None:
            raise _no_card(card_id)
        values = {"note": note, "note_at": time_of_change(now, found.note_at), "id": card_id}
        connection.execute(change(CARD.update("note", "note_at")), values)


_SEEN = f"""
SELECT {STATE_OF_CARD},
       (SELECT max(at) FROM attempt WHERE card_id = :id AND undone_at IS NULL) AS at
FROM card WHERE id = :id
"""
_THERE = "SELECT 1 FROM attempt WHERE uid = :uid"
_INSERT = f"{ATTEMPT.insert()} RETURNING id"
COUNT = "UPDATE drill_session SET ratings = ratings + :more WHERE id = :id"
_MOVE = CARD.update(*STATE)


def record_attempt(store: Store, new: NewAttempt, after: CardState) -> AttemptRecord:
    """Store an attempt and its card's next state; both are on disk when this returns.

    It is always dated after the card's latest one, be it that another program rated the card
    meanwhile or that a clock was ahead: a log is replayed by these times, in the order in which
    the card moved. Its practice day stays the one it has.

    Raises CardMoved, and stores nothing, if the card was rated or a setting changed since
    ``after`` was computed;
    AttemptStored if it is there already; NotKnown if the store's answer is lost, and then the
    same attempt can be tried again; StoreFailure if the store can't take it.
    """
    with store.write(now=new.at) as connection:
        # Under the writers' lock: what was on its way when an answer was lost has arrived or not.
        if connection.execute(query(_THERE), {"uid": new.uid}).first():
            raise AttemptStored
        seen = connection.execute(query(_SEEN), {"id": new.card_id}).one_or_none()
        if seen is None:
            raise _no_card(new.card_id)
        if seen.attempts != new.seen_attempts or _was_set(connection, new.seen_settings):
            raise CardMoved(new.card_id)
        new = replace(new, at=time_of_change(new.at, seen.at))
        day = new.attempted.day
        values = insert_attempt(connection, new, first_of_day=is_cold(state_of(seen), day))
        move_card(connection, new.card_id, after, seen.opened_day or day)
        if new.heard:
            keep_heard(connection, values["id"], new.heard)
    return AttemptRecord(**(values | {"recall": Recall(new.attempted.recall)}))


def _was_set(connection: Connection, seen: Written | None) -> bool:
    """Return whether a setting isn't what was seen of it."""
    return seen is not None and written_in(connection) != seen


def insert_attempt(
    connection: Connection, new: NewAttempt, *, first_of_day: bool
) -> dict[str, Any]:
    """Insert one attempt within a transaction of this room; return its columns."""
    attempted = new.attempted
    values: dict[str, Any] = {
        "uid": new.uid,
        "card_id": new.card_id,
        "session_id": new.session_id,
        "at": new.at,
        "zone": new.zone,
        "day": attempted.day,
        "recall": int(attempted.recall),
        "tempo": attempted.tempo,
        "hint": attempted.hint,
        "seconds": new.seconds,
        "loops": new.loops,
        "in_round": attempted.in_round,
        "first_of_day": first_of_day,
        "due_after": attempted.due,
        "undone_at": None,
        "reached": new.reached,
        "utc_offset": offset_minutes(new.at, new.zone),
        "goal": attempted.goal,
    }
    connection.execute(change(COUNT), {"id": new.session_id, "more": 1})
    values["id"] = connection.execute(change(_INSERT), values).scalar_one()
    return values


def keep_heard(connection: Connection, attempt_id: int, heard: HeardAttempt) -> None:
    """Keep what was heard of an attempt within a transaction of this room."""
    values = {
        "attempt_id": attempt_id,
        "ear": heard.ear,
        "proposed": heard.proposed and int(heard.proposed),
        "other": heard.other and int(heard.other),
        "features": heard.features,
    }
    connection.execute(change(HEARD.insert()), values)


def move_card(
    connection: Connection, card_id: int, state: CardState, opened_day: date | None
) -> None:
    """Put a card into a state within a transaction of this room."""
    memory = state.memory
    connection.execute(
        change(_MOVE),
        {
            "id": card_id,
            "opened_day": opened_day if memory else None,
            "stability": memory and memory.stability,
            "difficulty": memory and memory.difficulty,
            "last_day": memory and memory.last_day,
            "tempo": state.tempo.tempo,
            "stride": state.tempo.stride,
            "attempts": state.attempts,
            "due_day": state.due,
            "days_clean": state.days_clean,
            "days_missed": state.days_missed,
            "clean_run": state.clean_run,
            "goal_run": state.goal_run,
            "owned": state.owned,
        },
    )
