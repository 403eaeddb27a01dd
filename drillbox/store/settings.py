"""The player's settings, by name."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from drillbox.store.sql import change, query

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from drillbox.store.opening import Store


def get_settings(store: Store) -> dict[str, Any]:
    """Return every setting that was set, by name."""
    with store.read() as connection:
        rows = connection.execute(query("SELECT name, value FROM setting ORDER BY name")).all()
    return {row.name: row.value for row in rows}


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
