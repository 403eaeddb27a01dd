"""Bring an older store to the newest schema: whole, or not at all."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine

from drillbox.errors import StoreFailure
from drillbox.shipped import shipped
from drillbox.store import sqlite


def config() -> Config:
    """Return alembic's configuration for the shipped migrations."""
    made = Config()
    made.set_main_option("script_location", str(shipped("migrations")).replace("%", "%%"))
    return made


def known(revision: str) -> bool:
    """Return whether a stored revision is one of the shipped migrations."""
    walked = ScriptDirectory.from_config(config()).walk_revisions()
    return any(revision == each.revision for each in walked)


def upgrade(
    engine: Engine, path: Path, stored: str | None, now: datetime, *, backups: bool
) -> None:
    """Migrate the store to the newest schema in one transaction.

    ``stored`` is its revision, None for an empty one. A store with data is backed up first.
    Raises StoreFailure if the store is newer than the program or its data don't fit.
    """
    if stored is not None:
        if not known(stored):
            raise StoreFailure(
                f"The store {path} was written by a newer drillbox (schema {stored})",
                "Bring drillbox up to date: pip install --upgrade drillbox.",
            )
        if backups:
            from drillbox.store.backups import back_up  # it needs this room

            back_up(engine, path, now, "migration")
    with engine.connect() as connection:
        # Rebuilding a parent table with foreign keys on would delete its children, and the
        # pragma does nothing inside a transaction.
        connection.connection.driver_connection.execute("PRAGMA foreign_keys = OFF")  # type: ignore[union-attr] # it is there while connected
        try:
            with connection.execution_options(**{sqlite.WRITING: True}).begin():
                _run(connection, path)
        finally:
            connection.connection.driver_connection.execute("PRAGMA foreign_keys = ON")  # type: ignore[union-attr] # as above


def _run(connection: Connection, path: Path) -> None:
    setup = config()
    setup.attributes["connection"] = connection
    command.upgrade(setup, "head")
    if broken := connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall():
        raise StoreFailure(
            f"{len(broken)} rows of the store {path} point at rows that aren't there",
            "Nothing was changed; see drillbox store check.",
        )
