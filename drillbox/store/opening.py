"""Open the store: made if it isn't there, migrated if it is old, refused if it is newer."""

from __future__ import annotations

from contextlib import AbstractContextManager
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection, Engine

from drillbox.errors import StoreFailure
from drillbox.store import sqlite
from drillbox.store.access import Damaged, NoRoom, Store, damage, faults, vanished
from drillbox.store.places import newest_backup, real_path
from drillbox.store.sqlite import (
    HEAD,
    Tell,
    outdated_line,
    silent,
    stored_revision,
)


class FileStore(Store):
    """A store in a SQLite file, ``place``."""

    def __init__(self, engine: Engine, place: Path, now: datetime, *, backups: bool) -> None:
        super().__init__(engine, str(place))
        self._place = place
        self._opened_at = now
        self._backs_up = backups
        self._file = sqlite.file_identity(place)
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
        if sqlite.file_identity(self.place) != self._file:
            raise vanished(self.place)
        return connection.execution_options(**{sqlite.WRITING: True}).begin()


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
    path = real_path(location)
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

    if newest := newest_backup(path):
        raise StoreFailure(
            f"The store {path} is gone, but there are backups of it",
            "Put it back, or restore the newest with: "
            f"drillbox store restore {quote(str(newest.path))}",
        )
    sqlite.make_file(path)


def make_current(engine: Engine, path: Path, now: datetime, *, backups: bool, tell: Tell) -> None:
    """Migrate a file to the newest schema where it is older; refuse what isn't a store."""
    with engine.connect() as connection:
        sqlite.refuse_strange(connection, str(path))
        stored = stored_revision(connection, str(path), sqlite.TABLES)
        # Read first: a WAL may hold pages that the file lacks as yet.
        if sqlite.cut_short(connection, path):
            raise damage(path, "its end is missing")
        connection.rollback()
        sqlite.tell_losses(sqlite.raw_connection(connection), path, str(path), tell)
    if stored == HEAD:
        return
    from drillbox.store.upgrading import refuse_newer, upgrade  # alembic, only where needed

    if stored is not None:
        refuse_newer(stored, str(path))
        tell(outdated_line(str(path)))
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
