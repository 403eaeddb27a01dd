"""The player's settings, by name."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from drillbox.store.sql import change, query

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from drillbox.store.opening import Store


def get_settings(store: Store) -> dict[str, Any]:
    """Return every setting that was set, by name; text where a value can't be read as JSON."""
    with store.read() as connection:
        return settings_in(connection)


def settings_in(connection: Connection) -> dict[str, Any]:
    """Return every setting as ``get_settings`` does, as a part of a larger look."""
    words = "SELECT name, CAST(value AS TEXT) AS words FROM setting ORDER BY name"
    return {row.name: _value(row.words) for row in connection.execute(query(words)).all()}


def _value(words: str) -> Any:
    try:
        return json.loads(words)
    except (ValueError, TypeError, RecursionError):
        return str(words)


def set_setting(store: Store, name: str, value: Any) -> None:
    """Set a setting to a value that JSON can hold; None goes back to the default."""
    with store.write() as connection:
        write_setting(connection, name, value)


def write_setting(connection: Connection, name: str, value: Any) -> None:
    """Set a setting as ``set_setting`` does, as a part of a larger change."""
    if value is None:
        connection.execute(change("DELETE FROM setting WHERE name = :name"), {"name": name})
        return
    connection.execute(
        change(
            "INSERT INTO setting (name, value) VALUES (:name, :value)"
            " ON CONFLICT (name) DO UPDATE SET value = excluded.value"
        ),
        {"name": name, "value": value},
    )
