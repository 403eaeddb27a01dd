"""Each table's columns with their types, and SQL whose values take their types from them.

The one place to look up a column, and the schema's revision. ``tables`` states the same columns as
SQLModel models, with their constraints and indexes, for the migrations and for checking a store; a
test keeps the two equal. All else goes through here, over SQLAlchemy's core: the models load in
0.2 s, which no player should wait for. A name means the same type in every table (a test holds
them to it), so a column or a bound value is known by its name alone.
"""

from __future__ import annotations

import json
import re
from datetime import UTC, datetime
from functools import cache
from typing import Any

from sqlalchemy import (
    JSON,
    Boolean,
    Connection,
    Date,
    DateTime,
    Dialect,
    Float,
    Integer,
    String,
    bindparam,
    text,
)
from sqlalchemy.sql.elements import TextClause
from sqlalchemy.sql.selectable import TextualSelect
from sqlalchemy.types import TypeDecorator, TypeEngine

from drillbox.errors import StoreFailure

# The newest revision in migrations/. Kept here so that opening needn't import alembic; a test
# keeps it equal to alembic's head.
HEAD = "0016"


class Instant(TypeDecorator[datetime]):
    """An instant: an aware datetime on the way in, UTC in the store and on the way out."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(
        self,
        value: datetime | None,
        dialect: Dialect,  # noqa: ARG002 - the signature is SQLAlchemy's
    ) -> datetime | None:
        """Refuse a naive datetime (ValueError); turn an aware one into UTC."""
        if value is None:
            return None
        if value.utcoffset() is None:
            raise ValueError(f"{value} has no zone")
        return value.astimezone(UTC)

    def process_result_value(
        self,
        value: datetime | None,
        dialect: Dialect,  # noqa: ARG002 - as above
    ) -> datetime | None:
        """Mark what SQLite keeps without an offset as the UTC that it is."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


DOCUMENT = JSON(none_as_null=True)  # a JSON column; None is kept as NULL
NUMBER, REAL, TEXT, FLAG, DAY, INSTANT = Integer(), Float(), String(), Boolean(), Date(), Instant()


def compact_json(value: object) -> str:
    """Return what a JSON column holds of a value: one text for equal values."""
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), sort_keys=True)


class Table:
    """A table by its name and its columns in order, each with its type."""

    def __init__(self, name: str, /, **columns: TypeEngine[Any]) -> None:
        self.name = name
        self.columns = columns

    def listed(self) -> str:
        """Return all columns, as a query or an index lists them."""
        return ", ".join(self.columns)

    def select(self) -> str:
        """Return the beginning of a query for whole rows."""
        return f"SELECT {self.listed()} FROM {self.name}"

    def insert(self) -> str:
        """Return the statement that adds a row; every column but the number is bound by name."""
        names = [name for name in self.columns if name != "id"]
        bound = ", ".join(f":{name}" for name in names)
        return f"INSERT INTO {self.name} ({', '.join(names)}) VALUES ({bound})"

    def update(self, *names: str) -> str:
        """Return the statement that changes these columns of the row numbered ``:id``."""
        unknown = set(names) - self.columns.keys()
        assert not unknown, unknown
        changed = ", ".join(f"{name} = :{name}" for name in names)
        return f"UPDATE {self.name} SET {changed} WHERE id = :id"


PHRASE = Table(
    "phrase",
    id=NUMBER,
    uid=TEXT,
    title=TEXT,
    folded=TEXT,
    key=TEXT,
    tempo=NUMBER,
    double_time=FLAG,
    key_order=TEXT,
    chart=DOCUMENT,
    line=DOCUMENT,
    analysis=DOCUMENT,
    added_at=INSTANT,
    retired_at=INSTANT,
    changed_at=INSTANT,
    restored_at=INSTANT,
    tags=DOCUMENT,
    aside=DOCUMENT,
    former=DOCUMENT,
    also=DOCUMENT,
    octave_breaks=FLAG,
)
CARD = Table(
    "card",
    id=NUMBER,
    phrase_id=NUMBER,
    key=TEXT,
    position=NUMBER,
    chart=DOCUMENT,
    line=DOCUMENT,
    quarters=REAL,
    opened_day=DAY,
    stability=REAL,
    difficulty=REAL,
    last_day=DAY,
    tempo=NUMBER,
    clean_run=NUMBER,
    attempts=NUMBER,
    due_day=DAY,
    note=TEXT,
    days_clean=NUMBER,
    days_missed=NUMBER,
    note_at=INSTANT,
    put_aside=FLAG,
    goal_run=NUMBER,
    stride=NUMBER,
    owned=FLAG,
)
# What replaying a card's attempts sets, and nothing else sets.
STATE = (
    "opened_day", "stability", "difficulty", "last_day", "tempo", "clean_run", "attempts",
    "due_day", "days_clean", "days_missed", "goal_run", "stride", "owned",
)  # fmt: skip
STATE_OF_CARD = ", ".join(f"card.{name}" for name in STATE)
"""The same, for a query that joins other tables."""
SESSION = Table(
    "drill_session",
    id=NUMBER,
    uid=TEXT,
    started_at=INSTANT,
    ended_at=INSTANT,
    minutes=NUMBER,
    zone=TEXT,
    kind=TEXT,
    host=TEXT,
    process=TEXT,
    ratings=NUMBER,
)
ATTEMPT = Table(
    "attempt",
    id=NUMBER,
    uid=TEXT,
    card_id=NUMBER,
    session_id=NUMBER,
    at=INSTANT,
    zone=TEXT,
    day=DAY,
    recall=NUMBER,
    tempo=NUMBER,
    hint=NUMBER,
    seconds=REAL,
    loops=NUMBER,
    in_round=FLAG,
    first_of_day=FLAG,
    due_after=DAY,
    undone_at=INSTANT,
    reached=NUMBER,
    utc_offset=NUMBER,
    goal=NUMBER,
)
HEARD = Table(
    "heard", attempt_id=NUMBER, ear=TEXT, proposed=NUMBER, other=NUMBER, features=DOCUMENT
)
SETTING = Table("setting", id=NUMBER, name=TEXT, value=DOCUMENT, changed_at=INSTANT)
DELETED = Table("deleted_phrase", uid=TEXT, at=INSTANT)
TUNE = Table(
    "tune",
    id=NUMBER,
    uid=TEXT,
    title=TEXT,
    folded=TEXT,
    key=TEXT,
    tempo=NUMBER,
    chart=DOCUMENT,
    form=TEXT,
    tags=DOCUMENT,
    added_at=INSTANT,
    also=DOCUMENT,
    changed_at=INSTANT,
)
GIG = Table(
    "gig",
    id=NUMBER,
    uid=TEXT,
    title=TEXT,
    folded=TEXT,
    day=DAY,
    added_at=INSTANT,
    changed_at=INSTANT,
)
GIG_TUNE = Table("gig_tune", gig_id=NUMBER, tune_id=NUMBER, position=NUMBER)
DELETED_TUNE = Table("deleted_tune", uid=TEXT, at=INSTANT)
DELETED_GIG = Table("deleted_gig", uid=TEXT, at=INSTANT)
KEPT = Table(
    "kept_turns", card_id=NUMBER, rules=TEXT, attempts=NUMBER, undone=NUMBER, turns=DOCUMENT
)

TABLES = (
    PHRASE, CARD, SESSION, ATTEMPT, HEARD, SETTING, DELETED,
    TUNE, GIG, GIG_TUNE, DELETED_TUNE, DELETED_GIG, KEPT,
)  # fmt: skip


# Those that the driver doesn't hand over as they are, and the names that queries use besides.
_TYPES: dict[str, TypeEngine[Any]] = {
    name: kind
    for table in TABLES
    for name, kind in table.columns.items()
    if kind not in (NUMBER, REAL, TEXT)
} | {"since": DAY, "next_due": DAY, "now": INSTANT}


_LISTS = {"ids", "uids"}


def _bound(words: str) -> TextClause:
    names = set(re.findall(r":(\w+)", words))
    bound = [bindparam(name, type_=_TYPES[name]) for name in sorted(names & _TYPES.keys())]
    bound += [bindparam(name, expanding=True) for name in sorted(names & _LISTS)]
    return text(words).bindparams(*bound)


@cache
def change(words: str) -> TextClause:
    """Return a statement that changes rows; dates, instants, flags and JSON may be bound."""
    return _bound(words)


@cache
def query(words: str) -> TextualSelect:
    """Return a query whose bound values and result columns have their Python types.

    ``IN :ids`` and ``IN :uids`` take a list, of some hundreds at most: SQLite takes no endless one.
    A result column is known by its name (``day``, ``at``, ``chart`` ...), so one that is
    renamed by AS takes the type of its new name.
    """
    named = set(re.findall(r"\w+", words)) & _TYPES.keys()
    return _bound(words).columns(**{name: _TYPES[name] for name in sorted(named)})


def stored_revision(connection: Connection, name: str, tables: str) -> str | None:
    """Return the schema's revision, None for an empty store; raise StoreFailure for no store.

    ``tables`` is the engine's query for the names of tables.
    """
    found = set(connection.exec_driver_sql(tables).scalars())
    if not found:
        return None
    if not {"alembic_version", "card", "attempt"} <= found:
        raise StoreFailure(
            f"{name} holds something else than a drillbox store", "Name another with --store."
        )
    stored = connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar()
    return None if stored is None else str(stored)
