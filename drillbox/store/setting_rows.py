"""The player's settings, by name, each with the time at which it was last changed."""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import datetime
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

from drillbox.store.sql import SETTING, change, query
from drillbox.store.values import time_of_change

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from drillbox.store.access import Store
    from drillbox.store.values import Written


T = TypeVar("T")

RENAMED = {
    "retention": "recall_target",
    "newest_at_end": "repeat_newest",
    "overhead_seconds": "between_goes",
    "start_share": "start_tempo",
    "rung": "tempo_step",
    "floor": "slowest_tempo",
}
"""The present name of each setting that had another one in an older drillbox."""

GONE = frozenset({
    "backlog_days", "break_below", "break_days", "break_step", "clean_in_a_row", "fresh",
    "hold_days", "new_a_day", "new_when_sure", "phrase_share", "return_gap", "returns_a_day",
    "returns_a_session", "sure",
})  # fmt: skip
"""Settings of an older drillbox that nothing goes by any more."""


OF_ONE_COMPUTER = frozenset({"listen_delay", "listen_to"})
"""Settings that fit one computer's sound and ports: from another they only fill a gap."""


class Set(NamedTuple):
    """A setting as it was set: None is its default; ``at`` is None where nobody knows when."""

    name: str
    value: Any
    at: datetime | None


def present_name(name: str) -> str:
    """Return the name by which a setting goes today."""
    return RENAMED.get(name, name)


def by_present_name(settings: Mapping[str, T]) -> dict[str, T]:
    """Return settings by today's names, without those that are gone.

    Where both names of a setting are there, the value under today's stays.
    """
    former = {RENAMED[name]: value for name, value in settings.items() if name in RENAMED}
    kept = {n: v for n, v in settings.items() if n not in RENAMED and n not in GONE}
    return former | kept


_AS_WRITTEN = "SELECT name, CAST(value AS TEXT) AS words FROM setting ORDER BY name"


def written_settings(store: Store) -> Written:
    """Return the settings as they are stored."""
    with store.read() as connection:
        return written_in(connection)


def written_in(connection: Connection) -> Written:
    """Return what ``written_settings`` does, as a part of a larger look."""
    return tuple(map(tuple, connection.execute(query(_AS_WRITTEN))))


def get_settings(store: Store) -> dict[str, Any]:
    """Return every setting that isn't at its default; text where a value isn't JSON."""
    return settings_from(written_settings(store))


def settings_in(connection: Connection) -> dict[str, Any]:
    """Return what ``get_settings`` does, as a part of a larger look; of a store of any schema."""
    return settings_from(written_in(connection))


def settings_from(written: Written) -> dict[str, Any]:
    """Return settings by today's names, as they were read; text where a value isn't JSON."""
    found = {name: _value(words) for name, words in by_present_name(dict(written)).items()}
    return {name: value for name, value in found.items() if value is not None}


def changes_in(connection: Connection) -> list[Set]:
    """Return every setting that was ever set, those put back to their default as well."""
    words = "SELECT name, CAST(value AS TEXT) AS words, changed_at FROM setting ORDER BY name"
    rows = {row.name: row for row in connection.execute(query(words))}
    found = sorted(by_present_name(rows).items())
    return [Set(name, _value(row.words), row.changed_at) for name, row in found]


def _value(words: str | None) -> Any:
    if words is None:
        return None
    try:
        return json.loads(words)
    except (ValueError, RecursionError):
        return str(words)


def set_setting(store: Store, name: str, value: Any, now: datetime | None = None) -> None:
    """Set a setting to a value that JSON can hold; None goes back to the default."""
    with store.write() as connection:
        set_in(connection, Set(name, value, now))


def set_in(connection: Connection, new: Set) -> None:
    """Do what ``set_setting`` does, as a part of a larger change; it is the latest change of it."""
    before = [each.at for each in changes_in(connection) if each.name == new.name]
    write_setting(connection, new._replace(at=new.at and time_of_change(new.at, *before)))


def write_setting(connection: Connection, new: Set) -> None:
    """Put a setting into the store as it is; nothing stays under a former name of it."""
    for former in (old for old, name in RENAMED.items() if name == new.name):
        connection.execute(change("DELETE FROM setting WHERE name = :name"), {"name": former})
    words = (
        f"{SETTING.insert()} ON CONFLICT (name)"
        " DO UPDATE SET value = excluded.value, changed_at = excluded.changed_at"
    )
    values = {"name": new.name, "value": new.value, "changed_at": new.at}
    connection.execute(change(words), values)
