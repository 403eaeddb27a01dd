"""Which schema a store is of, and what a player is told before it is brought up to date."""

from __future__ import annotations

from collections.abc import Callable

from sqlalchemy import Connection

from drillbox.errors import StoreFailure

# The newest revision in migrations/. Kept here so that opening needn't import alembic; a test
# keeps it equal to alembic's head.
HEAD = "0010"

Tell = Callable[[str], object]
"""Is given a line for the player on work that may take seconds, before it is begun."""


def silent(_: str) -> None:
    """Tell nobody."""


def outdated(name: str) -> str:
    """Return what a player is told before a migration."""
    return f"The store {name} is of an older drillbox and is being brought up to date."


def lost_changes(name: str, count: int) -> str:
    """Return what a player is told where the newest changes of a store were lost."""
    changes = "the last change" if count == 1 else f"up to {count} of the last changes"
    return (
        f"The file {name}-wal was damaged: {changes} can't be read, and the rest is there. Look "
        "whether your last ratings are in; older backups: drillbox store list."
    )


def revision(connection: Connection, name: str, tables: str) -> str | None:
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
