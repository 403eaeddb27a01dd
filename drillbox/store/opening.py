"""Open the store: made if it isn't there, migrated if it is old, refused if it is newer."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Self

from sqlalchemy import Connection, Engine

from drillbox.errors import BadInput, StoreFailure
from drillbox.store import sqlite
from drillbox.store.faults import NoRoom, damage, faults, vanished
from drillbox.store.places import real

# The newest revision in migrations/. Kept here so that opening needn't import alembic; a test
# keeps it equal to alembic's head.
HEAD = "0007"

Tell = Callable[[str], object]
"""Is given a line for the player on work that may take seconds, before it is begun."""


def silent(_: str) -> None:
    """Tell nobody."""


class Store(ABC):
    """An open store. ``name`` says which one to a player; close it, or use it in a ``with``."""

    def __init__(self, engine: Engine, name: str) -> None:
        self.engine = engine
        self.name = name
        self.backup_failure: StoreFailure | None = None

    @property
    def place(self) -> Path:
        """Return the store's file; raise BadInput for a store that has none of its own."""
        raise BadInput(
            f"{self.name} is on a server, which has no file here",
            "To back it up: drillbox store export DIR.",
        )

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """Give a connection that sees one moment of the store; raise StoreFailure on a fault."""
        with faults(self.name), self.engine.connect() as connection:
            yield self._looking(connection)

    @contextmanager
    def write(self, *, backup: bool = True) -> Iterator[Connection]:
        """Give a connection whose changes are all on disk when the block ends, or none.

        Waits for another writer first, so what is read inside is still true at the end. The
        day's backup precedes it, unless it is a change that only adds and ``backup`` is off.
        Raises StoreFailure on a fault, NotKnown where the answer to the last step is lost.
        """
        try:
            with self._written(backup=backup) as connection:
                yield connection
        except NoRoom as problem:
            if self._give_up_backup():
                raise NoRoom(
                    problem.what, "The day's backup was given up to make room: try again."
                ) from problem
            raise

    @contextmanager
    def _written(self, *, backup: bool) -> Iterator[Connection]:
        committing = False
        with faults(self.name, lambda: committing), self.engine.connect() as connection:
            if backup:
                self.keep_today()
            with self._changing(connection):
                yield connection
                committing = True
            committing = False

    def _give_up_backup(self) -> bool:
        """Remove the day's backup where this program made it; return whether it did."""
        return False

    @abstractmethod
    def keep_today(self) -> None:
        """Make the practice day's backup unless there is one; done before the first change."""

    def _looking(self, connection: Connection) -> Connection:
        return connection

    @abstractmethod
    def _changing(self, connection: Connection) -> AbstractContextManager[object]:
        """Begin a transaction that is alone in changing the store."""

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


class FileStore(Store):
    """A store in a SQLite file, ``place``."""

    def __init__(self, engine: Engine, place: Path, now: datetime, *, backups: bool) -> None:
        super().__init__(engine, str(place))
        self._place = place
        self._opened_at = now
        self._backs_up = backups
        self._file = sqlite.identity(place)
        self._todays: Path | None = None

    @property
    def place(self) -> Path:
        """Return the store's file."""
        return self._place

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
            made = daily_backup(self.engine, self.place, self._opened_at)
            self._todays = made.path if made else None
        except Damaged:
            self._backs_up = True
            raise
        except StoreFailure as problem:
            self.backup_failure = problem

    def _give_up_backup(self) -> bool:
        """Remove the day's backup where this program made it; return whether it did."""
        given, self._todays = self._todays, None
        if given is None:
            return False
        given.unlink(missing_ok=True)
        self.backup_failure = NoRoom(f"There is too little room beside {self.place}")
        return True

    def _changing(self, connection: Connection) -> AbstractContextManager[object]:
        # A file that was moved away goes on taking writes that nobody would see again.
        if sqlite.identity(self.place) != self._file:
            raise vanished(self.place)
        return connection.execution_options(**{sqlite.WRITING: True}).begin()


def default_location() -> Path:
    """Return where a player's store lies by default on this platform."""
    from platformdirs import user_data_path  # not where --store names one

    return user_data_path("drillbox") / "drillbox.sqlite3"


def open_store(
    location: Path | str, *, now: datetime, backups: bool = True, tell: Tell = silent
) -> Store:
    """Open the store at ``location``, making or migrating it where that is needed.

    That is a file or the address of a PostgreSQL database. ``now`` is aware; backups carry
    it. With ``backups`` the first change of a day and every migration of a file is preceded
    by one; ``tell`` hears of a migration. Raises StoreFailure where the store can't be used.
    """
    if "://" in str(location):
        from drillbox.store.server import open_server  # psycopg, only for a server

        return open_server(str(location), tell)
    path = real(location)
    with faults(path):
        _make_file(path)
        sqlite.look_at(path)
        engine = sqlite.engine_for(path)
    try:
        with faults(path):
            make_current(engine, path, now, backups=backups, tell=tell)
        return FileStore(engine, path, now, backups=backups)
    except BaseException:
        engine.dispose()
        raise


def _make_file(path: Path) -> None:
    """Make the store's file unless it is there, or was there: then a drive may have vanished."""
    if path.exists():
        return
    from shlex import quote  # only where there is no store

    from drillbox.store.backups import newest_backup

    if newest := newest_backup(path):
        raise StoreFailure(
            f"The store {path} is gone, but there are backups of it",
            "Put it back, or restore the newest with: "
            f"drillbox store restore {quote(str(newest.path))}",
        )
    sqlite.make_file(path)


def make_current(engine: Engine, path: Path, now: datetime, *, backups: bool, tell: Tell) -> None:
    """Migrate a file to the newest schema where it is older; refuse what is no store."""
    with engine.connect() as connection:
        sqlite.refuse_strange(connection, str(path))
        stored = revision(connection, str(path), sqlite.TABLES)
        # Read first: a WAL may hold pages that the file lacks as yet.
        if sqlite.cut_short(connection, path):
            raise damage(path, "its end is missing")
    if stored == HEAD:
        return
    from drillbox.store.upgrading import refuse_newer, upgrade  # alembic, only where needed

    if stored is not None:
        refuse_newer(stored, str(path))
        tell(outdated(str(path)))
        if backups:
            from drillbox.store.backups import back_up  # only where there is something to lose

            back_up(engine, path, now, "migration")
    with (
        engine.connect() as connection,
        sqlite.without_foreign_keys(connection),
        connection.execution_options(**{sqlite.WRITING: True}).begin(),
    ):
        upgrade(connection, str(path))
        sqlite.refuse_loose_rows(connection, str(path))


def outdated(name: str) -> str:
    """Return what a player is told before a migration."""
    return f"The store {name} is of an older drillbox and is being brought up to date."


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
