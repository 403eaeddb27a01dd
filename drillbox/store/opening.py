"""Open the store: made if it isn't there, migrated if it is old, refused if it is newer."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Self

from sqlalchemy import Connection, Engine

from drillbox.errors import StoreFailure
from drillbox.store import sqlite
from drillbox.store.faults import damage, faults, vanished

# The newest revision in migrations/. Kept here so that opening needn't import alembic; a test
# keeps it equal to alembic's head.
HEAD = "0001"


class Store:
    """An open store. ``place`` is its file; close it, or use it in a ``with`` block."""

    def __init__(self, engine: Engine, place: Path, now: datetime, *, backups: bool) -> None:
        self.engine = engine
        self.place = place
        self._opened_at = now
        self._backs_up = backups
        self._file = sqlite.identity(place)
        self.backup_failure: StoreFailure | None = None

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """Give a connection that sees one moment of the store; raise StoreFailure on a fault."""
        with faults(self.place), self.engine.connect() as connection:
            yield connection

    @contextmanager
    def write(self) -> Iterator[Connection]:
        """Give a connection whose changes are all on disk when the block ends, or none.

        Waits for another writer first, so what is read inside is still true at the end.
        Raises StoreFailure on a fault.
        """
        self.keep_today()
        with faults(self.place), self.engine.connect() as connection:
            # A file that was moved away goes on taking writes that nobody would see again.
            if sqlite.identity(self.place) != self._file:
                raise vanished(self.place)
            with connection.execution_options(**{sqlite.WRITING: True}).begin():
                yield connection

    def keep_today(self) -> None:
        """Make the practice day's backup unless there is one; done before the first change.

        A damaged store is found here and refused (Damaged). Another failure doesn't keep a
        rating out: it is kept as ``backup_failure`` for the player to be told.
        """
        if not self._backs_up:
            return
        self._backs_up = False
        from drillbox.store.backups import daily_backup  # only before a change
        from drillbox.store.faults import Damaged

        try:
            daily_backup(self.engine, self.place, self._opened_at)
        except Damaged:
            self._backs_up = True
            raise
        except StoreFailure as problem:
            self.backup_failure = problem

    def close(self) -> None:
        """Close every connection."""
        self.engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        problem: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()


def default_location() -> Path:
    """Return where a player's store lies by default on this platform."""
    from platformdirs import user_data_path  # not where --store names one

    return user_data_path("drillbox") / "drillbox.sqlite3"


def open_store(location: Path | str, *, now: datetime, backups: bool = True) -> Store:
    """Open the store at ``location``, making or migrating it where that is needed.

    ``now`` is aware; backups carry it. With ``backups`` the first change of a day and every
    migration is preceded by one. Raises StoreFailure where the store can't be used.
    """
    path = Path(location).expanduser().absolute()
    with faults(path):
        _make_file(path)
        sqlite.look_at(path)
        engine = sqlite.engine_for(path)
    try:
        with faults(path):
            _make_current(engine, path, now, backups=backups)
        return Store(engine, path, now, backups=backups)
    except BaseException:
        engine.dispose()
        raise


def _make_file(path: Path) -> None:
    """Make the store's file unless it is there, or was there: then a drive may have vanished."""
    if path.exists():
        return
    from drillbox.store.backups import newest_backup  # only where there is no store

    if newest := newest_backup(path):
        raise StoreFailure(
            f"The store {path} is gone, but there are backups of it",
            f"Put it back, or restore the newest: drillbox store restore '{newest.path}'.",
        )
    sqlite.make_file(path)


def _make_current(engine: Engine, path: Path, now: datetime, *, backups: bool) -> None:
    with engine.connect() as connection:
        # In WAL the newest pages may not be in the file yet; read through the engine first.
        stored = revision(connection)
        if sqlite.cut_short(path):
            raise damage(path, "its end is missing")
    if stored == HEAD:
        return
    from drillbox.store.upgrading import upgrade  # alembic, only where needed

    upgrade(engine, path, stored, now, backups=backups)


def revision(connection: Connection) -> str | None:
    """Return the schema's revision, None for an empty store; raise StoreFailure for no store."""
    tables = set(
        connection.exec_driver_sql("SELECT name FROM sqlite_master WHERE type = 'table'").scalars()
    )
    if not tables:
        return None
    if not {"alembic_version", "card", "attempt"} <= tables:
        raise StoreFailure(
            f"{connection.engine.url.database} holds something else than a drillbox store",
            "Name another file with --store.",
        )
    found = connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar()
    return None if found is None else str(found)
