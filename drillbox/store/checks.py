"""Look the whole store over: its pages, its references, and each card against its log."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from operator import attrgetter
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection
from sqlalchemy.exc import DatabaseError

from drillbox.errors import StoreFailure
from drillbox.memory.cards import CardState, replay
from drillbox.memory.rules import Rules
from drillbox.music.charts import can_be_fitted, chart_fault
from drillbox.music.keys import parse_key
from drillbox.music.phrases import line_from
from drillbox.output import counted
from drillbox.store.access import faults
from drillbox.store.card_rows import LOGGED, REPLAYED, attempted_of, state_of
from drillbox.store.sql import STATE_OF_CARD, TUNE, query
from drillbox.store.tune_rows import record_from
from drillbox.tick import Tick, silent

if TYPE_CHECKING:
    from drillbox.store.access import Store

MOST = 20  # so many faults of one kind are told; more say nothing new


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that isn't as it should be. ``grave``: pages or references are damaged.

    ``unreadable``: it keeps what is stored from being read, though the pages are whole.
    ``fits``: a chart whose chords can be fitted into its bars. ``behind``: a card whose state
    isn't what its log leads to. ``setting``: a setting that can't be used.
    """

    text: str
    grave: bool
    unreadable: bool = False
    fits: bool = False
    behind: bool = False
    setting: bool = False


def check_store(
    store: Store, rules: Rules, tick: Tick = silent, *, replaying: bool = True
) -> list[Finding]:
    """Return everything wrong with the store, empty when nothing is.

    ``rules`` are those in force. A card whose state isn't what replaying its attempts leads to
    isn't damage by itself: rules that were changed since give another state too. ``tick`` hears
    of cards replayed; without ``replaying`` that is left out, which takes most of the time.
    """
    with faults(store.name), store.engine.connect() as connection:
        try:
            grave = [Finding(each, True) for each in _grave(connection)]
            if grave:
                return grave
            found = list(_unreadable(connection))
            unlike = _unlike_log(connection, rules, tick) if replaying else ()
            return found + [Finding(each, False, behind=True) for each in unlike]
        except (DatabaseError, ValueError, TypeError, LookupError, ArithmeticError) as problem:
            return [Finding(f"it can't be read through: {_first_line(problem)}", True)]


def _first_line(problem: Exception) -> str:
    return str(getattr(problem, "orig", problem)).splitlines()[0]


def _grave(connection: Connection) -> Iterator[str]:
    if connection.dialect.name != "sqlite":
        return  # a server looks after its own pages, and enforces references always
    for (found,) in connection.exec_driver_sql(f"PRAGMA integrity_check({MOST})"):
        if found != "ok":
            yield f"pages: {found}"
    yield from lacking_columns(connection)
    for table, row, parent, _ in connection.exec_driver_sql("PRAGMA foreign_key_check").fetchmany(
        MOST
    ):
        yield f"row {row} of {table} points at a {parent} that isn't there"
    for row in connection.execute(query(_LOST)).fetchmany(MOST):
        when = f"{row.started_at:%Y-%m-%d %H:%M} UTC"
        yield f"{_ratings(row.ratings)} of the session of {when} can't be found"


def lacking_columns(connection: Connection) -> list[str]:
    """Return which tables of the newest schema lack which column, as those of another program."""
    from drillbox.store.tables import metadata  # the models load slowly, and only here

    found = []
    for table in metadata.sorted_tables:
        rows = connection.exec_driver_sql(f'PRAGMA table_info("{table.name}")')
        if lacking := {column.name for column in table.columns} - {row[1] for row in rows}:
            found.append(f"its table {table.name} lacks {min(lacking)}")
    return found


def refuse_other_columns(connection: Connection, name: str) -> None:
    """Raise StoreFailure where a table of the newest schema lacks a column."""
    if found := lacking_columns(connection):
        raise StoreFailure(
            f"{name} isn't a drillbox store: {found[0]}", "Choose another: drillbox store list."
        )


def _ratings(count: int) -> str:
    return counted(count, "rating")


# A session counts its ratings for itself.
_LOST = """
SELECT started_at, ratings - coalesce(found, 0) AS ratings
FROM drill_session LEFT JOIN (
    SELECT session_id, count(*) AS found FROM attempt GROUP BY session_id
) AS counted ON session_id = drill_session.id
WHERE ratings > coalesce(found, 0) ORDER BY started_at
"""
_ILLEGIBLE = (ValueError, TypeError, LookupError, AttributeError)


# Phrases, and their cards by key, with what can be wrong in either.
_WRITTEN = (
    ("SELECT title, key, chart, line FROM phrase ORDER BY id", ""),
    (
        "SELECT title, card.key, card.chart, card.line FROM card"
        " JOIN phrase ON phrase.id = phrase_id ORDER BY card.id",
        " in {key}",
    ),
)


def _unreadable(connection: Connection) -> Iterator[Finding]:
    for words, place in _WRITTEN:
        for row in connection.execute(query(words)):
            name = f"{row.title!r}{place.format(key=row.key)}"
            try:
                line_from(row.line), parse_key(row.key)
            except _ILLEGIBLE as problem:
                yield Finding(f"{name}: {problem}", False, unreadable=True)
            yield from _chart_findings(name, row.chart)
    for row in connection.execute(query(f"{TUNE.select()} ORDER BY id")):
        name = f"the tune {row.title!r}"
        try:
            record_from(row)
        except _ILLEGIBLE as problem:
            yield Finding(f"{name}: {problem}", False, unreadable=True)
        else:
            yield from _chart_findings(name, row.chart)


def _chart_findings(name: str, chart: Any) -> Iterator[Finding]:
    if fault := chart_fault(chart):
        fits = can_be_fitted(chart)
        yield Finding(f"{name}: {fault}", False, unreadable=not fits, fits=fits)


_LOG = f"""
SELECT card_id, {LOGGED} FROM attempt
WHERE undone_at IS NULL ORDER BY card_id, {REPLAYED}
"""
_CARDS = f"""
SELECT card.id, phrase.tempo AS goal, title, card.key, {STATE_OF_CARD}
FROM card JOIN phrase ON phrase.id = phrase_id WHERE last_day IS NOT NULL ORDER BY card.id
"""


def _unlike_log(connection: Connection, rules: Rules, tick: Tick) -> Iterator[str]:
    logs = {
        card_id: [attempted_of(row) for row in rows]
        for card_id, rows in groupby(connection.execute(query(_LOG)), attrgetter("card_id"))
    }
    cards = connection.execute(query(_CARDS)).all()
    for number, row in enumerate(cards, start=1):
        log = logs.pop(row.id, [])
        if not same_state(replay(row.goal, log, rules), state_of(row)):
            yield f"{row.title!r} in {row.key}: its state doesn't match its {_ratings(len(log))}"
        tick(number, len(cards))
    for card_id in logs:
        yield f"card {card_id} has attempts but was never started"


def same_state(one: CardState, other: CardState) -> bool:
    """Return whether two states are equal, floats to one part in a thousand million."""
    if one.memory is None or other.memory is None:
        return one == other
    near = all(
        abs(a - b) <= 1e-9 * abs(b) for a, b in zip(one.memory[:2], other.memory[:2], strict=True)
    )
    return near and one.memory.last_day == other.memory.last_day and one[1:] == other[1:]
