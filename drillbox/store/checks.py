"""Look the whole store over: pages, references, values by their limits, cards against their log."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection
from sqlalchemy.exc import DatabaseError

from drillbox.errors import BadInput, StoreFailure
from drillbox.memory.cards import CardState
from drillbox.music.charts import MOST_BARS, can_be_fitted, chart_fault, chart_from
from drillbox.music.keys import parse_key
from drillbox.music.phrases import (
    LONGEST_TAG,
    MOST_TAGS,
    check_chart,
    line_from,
)
from drillbox.music.tunes import MOST_BARS as MOST_BARS_OF_A_TUNE
from drillbox.output import counted, one_line
from drillbox.store.access import ILLEGIBLE
from drillbox.store.card_rows import state_of
from drillbox.store.documents import Snapshot
from drillbox.store.reckoning import reckoned
from drillbox.store.setting_rows import changes_in
from drillbox.store.sql import PHRASE, SETTING, TABLES, TUNE, change, query
from drillbox.store.tune_rows import record_from
from drillbox.tick import Tick, silent, stage

if TYPE_CHECKING:
    from drillbox.store.access import Store
    from drillbox.store.fields import Part

MOST = 20  # so many faults of one kind are told; more say nothing new


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that isn't as it should be. ``grave``: pages or references are damaged.

    ``unreadable``: it keeps what is stored from being read, though the pages are whole.
    ``fits``: a chart whose chords can be fitted into its bars. ``behind``: a card whose state
    isn't what its log leads to. ``setting``: a setting that can't be used. ``tags``: tags that
    can't be typed.
    """

    text: str
    grave: bool
    unreadable: bool = False
    fits: bool = False
    behind: bool = False
    setting: bool = False
    tags: bool = False

    @property
    def fixable(self) -> bool:
        """Return whether it can be put right without a backup."""
        return self.fits or self.behind or self.setting or self.tags


def check_store(store: Store, tick: Tick = silent, *, replaying: bool = True) -> list[Finding]:
    """Return everything wrong with the store, empty when nothing is.

    A card whose state isn't what its attempts lead to by the settings in force isn't damage by
    itself. ``tick`` hears how far it is; without ``replaying`` the cards' logs are left out.
    """

    def look(connection: Connection) -> Iterator[Finding]:
        found = list(_unreadable(connection))
        yield from found
        if not any(each.unreadable for each in found):
            yield from _beyond_limits(connection, stage(tick, 0, 2) if replaying else tick)
        if replaying:
            yield from _unlike_log(connection, stage(tick, 1, 2))

    return _looked_over(store, look)


def faults_in_reading(store: Store) -> list[Finding]:
    """Return what is damaged or, where nothing is, which phrases and tunes can't be read."""
    return _looked_over(store, _unreadable)


def damage_in(store: Store) -> list[Finding]:
    """Return what is damaged: pages, references, values that aren't what their column holds."""
    return _looked_over(store, lambda _: iter(()))


def _looked_over(store: Store, look: Callable[[Connection], Iterator[Finding]]) -> list[Finding]:
    """Return what is damaged or, where nothing is, what ``look`` finds; all at one moment."""
    with store.read() as connection:
        try:
            grave = [Finding(each, True) for each in _grave(connection)]
            if grave:
                return grave
            _read_all(connection)
            return list(look(connection))
        except (DatabaseError, *ILLEGIBLE) as problem:
            return [Finding(f"it can't be read through: {_first_line(problem)}", True)]


def _first_line(problem: Exception) -> str:
    return str(getattr(problem, "orig", problem)).splitlines()[0]


def _grave(connection: Connection) -> Iterator[str]:
    if connection.dialect.name != "sqlite":
        return  # a server looks after its own pages, and enforces references always
    for (found,) in connection.exec_driver_sql(f"PRAGMA integrity_check({MOST})"):
        if found != "ok":
            yield f"pages: {found}"
    # Read for its names: an index goes on under one that is no text any more.
    connection.exec_driver_sql("SELECT name, sql FROM sqlite_master").all()
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
            f"{name} isn't a drillbox store: {found[0]}", "Choose another: drillbox store list"
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
            except ILLEGIBLE as problem:
                yield Finding(f"{name}: {problem}", False, unreadable=True)
            yield from _chart_findings(name, row.chart)
    for row in connection.execute(query(f"{TUNE.select()} ORDER BY id")):
        name = f"the tune {row.title!r}"
        try:
            record_from(row)
        except ILLEGIBLE as problem:
            yield Finding(f"{name}: {problem}", False, unreadable=True)
        else:
            yield from _chart_findings(name, row.chart, MOST_BARS_OF_A_TUNE)


def _read_all(connection: Connection) -> None:
    """Read every row of every table: in any text, bytes may have become none."""
    changes_in(connection)
    for table in TABLES:
        if table is not SETTING:  # whose values needn't be JSON
            for _ in connection.execute(query(table.select())):
                pass


# How a member of a document is named, by what it holds.
_NAMES = {
    "phrases": "{title!r}",
    "deleted": "the deleted phrase {uid}",
    "sessions": "the session of {started_at:.16} UTC",
    "attempts": "the rating of {at:.16} UTC",
    "tunes": "the tune {title!r}",
    "gigs": "the gig {title!r}",
    "deleted_tunes": "the deleted tune {uid}",
    "deleted_gigs": "the deleted gig {uid}",
}


def _beyond_limits(connection: Connection, tick: Tick) -> Iterator[Finding]:
    """Yield what an import would refuse in an export of this store."""
    from drillbox.store.checked import PARTS, Head  # pydantic loads slowly, and only here

    snapshot, told = Snapshot(connection), Counter[str]()
    _, attempts = snapshot.counts()
    head, done = {}, 0
    for part, value in snapshot.members():
        if part not in PARTS:
            head[part] = value
            continue
        if part == "attempts":
            done += 1
            tick(done, attempts)
        for finding in _refused(PARTS[part], _NAMES[part], value):
            told[part] += 1
            if told[part] <= MOST:
                yield finding
    yield from _refused(Head, "the settings", head)


def _refused(model: type[Part], name: str, value: Mapping[str, Any]) -> Iterator[Finding]:
    if "tags" in value and (tags := sound_tags(value["tags"])) != value["tags"]:
        said = f"{name.format_map(value)}: its tags can't be used: {value['tags']!r:.80}"
        yield Finding(said, False, tags=True)
        value = {**value, "tags": tags}
    if why := _why_refused(model, value):
        yield Finding(f"{name.format_map(value)}: {why}", False)


def _why_refused(model: type[Part], value: Mapping[str, Any]) -> str | None:
    from pydantic import ValidationError  # as above

    from drillbox.store.checked import first_fault

    try:
        model.model_validate(value)
    except BadInput as problem:
        return problem.what
    except ValidationError as problem:
        steps, why, _ = first_fault(problem)
        return ": ".join([*steps, why])
    return None


def sound_tags(stored: Any) -> list[str]:
    """Return stored tags as they could be typed, without those of which nothing is left."""
    kept: dict[str, str] = {}
    for each in stored if isinstance(stored, list) else []:
        plain = re.sub(r"[^\w &'./+-]", "", one_line(each)) if isinstance(each, str) else ""
        tag = " ".join(re.sub(r"^[\W_]+", "", plain).split())[:LONGEST_TAG].strip()
        if tag:
            kept.setdefault(tag.casefold(), tag)
    return list(kept.values())[:MOST_TAGS]


def mend_tags(store: Store) -> None:
    """Rewrite the tags that can't be typed as ``sound_tags`` has them."""
    with store.write() as connection:
        for table in (PHRASE, TUNE):
            words = query(f"SELECT id, tags FROM {table.name}")
            for row in connection.execute(words).all():
                if (tags := sound_tags(row.tags)) != row.tags:
                    values = {"tags": tags, "id": row.id}
                    connection.execute(change(table.update("tags")), values)


def _chart_findings(name: str, chart: Any, most_bars: int = MOST_BARS) -> Iterator[Finding]:
    if fault := chart_fault(chart):
        fits = can_be_fitted(chart)
        yield Finding(f"{name}: {fault}", False, unreadable=not fits, fits=fits)
        return
    try:
        check_chart(chart_from(chart), most_bars)
    except ILLEGIBLE as problem:
        yield Finding(f"{name}: {problem}", False, unreadable=True)


def _unlike_log(connection: Connection, tick: Tick) -> Iterator[Finding]:
    for card in reckoned(connection, tick=tick):
        row, log = card.row, card.log
        begun = log or row.last_day is not None  # else there is nothing to lose
        if begun and not (same_state(card.state, state_of(row)) and not card.marks_wrong):
            said = f"its state doesn't match its {_ratings(len(log))}"
            yield Finding(f"{row.title!r} in {row.key}: {said}", False, behind=True)


def same_state(one: CardState, other: CardState) -> bool:
    """Return whether two states are equal, floats to one part in a thousand million."""
    if one.memory is None or other.memory is None:
        return one == other
    near = all(
        abs(a - b) <= 1e-9 * abs(b) for a, b in zip(one.memory[:2], other.memory[:2], strict=True)
    )
    return near and one.memory.last_day == other.memory.last_day and one[1:] == other[1:]
