"""Bring an older store to the newest schema: whole, or not at all."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine
from sqlalchemy.exc import DBAPIError

from drillbox.errors import StoreFailure
from drillbox.shipped import shipped
from drillbox.store import sqlite
from drillbox.store.faults import failure


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
    Raises StoreFailure if the store is newer than the program or its data don't fit; it is
    then as it was.
    """
    if stored is not None:
        if not known(stored):
            raise StoreFailure(
                f"The store {path} was written by a newer drillbox (schema {stored})",
                "Bring drillbox up to date: pip install --upgrade drillbox.",
            )
        if backups:
            from drillbox.store.backups import back_up  # only where there is something to lose

            back_up(engine, path, now, "migration")
    with engine.connect() as connection:
        # Rebuilding a parent table with foreign keys on would delete its children, and the
        # pragma does nothing inside a transaction.
        _pragma(connection, "foreign_keys = OFF")
        try:
            with connection.execution_options(**{sqlite.WRITING: True}).begin():
                _run(connection, path)
        finally:
            _pragma(connection, "foreign_keys = ON")


def _pragma(connection: Connection, words: str) -> None:
    raw = connection.connection.driver_connection
    assert raw is not None  # it is there while connected
    raw.execute(f"PRAGMA {words}")


def _run(connection: Connection, path: Path) -> None:
    setup = config()
    setup.attributes["connection"] = connection
    try:
        command.upgrade(setup, "head")
    except DBAPIError as problem:
        if failure(problem, path):
            raise
        raise StoreFailure(
            f"The store {path} can't be brought to the newest schema ({problem.orig});"
            " nothing was changed",
            "Go on with the drillbox that wrote it, and tell its makers.",
        ) from problem
    if broken := connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall():
        raise StoreFailure(
            f"{len(broken)} rows of the store {path} point at rows that aren't there;"
            " nothing was changed",
            "Restore a backup: drillbox store list.",
        )
