"""The player's settings, by name, each with the time at which it was last changed."""

from __future__ import annotations

import json
from datetime import datetime
from typing import TYPE_CHECKING, Any, NamedTuple

from drillbox.store.columns import SETTING
from drillbox.store.sql import change, query

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from drillbox.store.access import Store


class Set(NamedTuple):
    """A setting as it was set: None is its default; ``at`` is None where nobody knows when."""

    name: str
    value: Any
    at: datetime | None


def get_settings(store: Store) -> dict[str, Any]:
    """Return every setting that isn't at its default; text where a value isn't JSON."""
    with store.read() as connection:
        return settings_in(connection)


def settings_in(connection: Connection) -> dict[str, Any]:
    """Return what ``get_settings`` does, as a part of a larger look; of a store of any schema."""
    words = "SELECT name, CAST(value AS TEXT) AS words FROM setting ORDER BY name"
    found = {row.name: _value(row.words) for row in connection.execute(query(words))}
    return {name: value for name, value in found.items() if value is not None}


def changes_in(connection: Connection) -> list[Set]:
    """Return every setting that was ever set, those put back to their default as well."""
    words = "SELECT name, CAST(value AS TEXT) AS words, changed_at FROM setting ORDER BY name"
    rows = connection.execute(query(words)).all()
    return [Set(row.name, _value(row.words), row.changed_at) for row in rows]


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
        write_setting(connection, Set(name, value, now))


def write_setting(connection: Connection, new: Set) -> None:
    """Set a setting as a part of a larger change."""
    words = (
        f"{SETTING.insert()} ON CONFLICT (name)"
        " DO UPDATE SET value = excluded.value, changed_at = excluded.changed_at"
    )
    values = {"name": new.name, "value": new.value, "changed_at": new.at}
    connection.execute(change(words), values)
