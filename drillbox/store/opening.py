"""Open the store: made if it isn't there, migrated if it is old, refused if it is newer.

As a rule it is a SQLite file: its pragmas, its transactions and its day's backup stand here.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import date, datetime
from functools import partial
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, QueuePool, create_engine, event

from drillbox.errors import BadInput, StoreFailure
from drillbox.store.access import (
    PATIENCE,
    Damaged,
    NoRoom,
    Risk,
    Store,
    damage,
    faults,
    no_room,
    raw_connection,
    vanished,
)
from drillbox.store.files import beside, newest_backup, real_path
from drillbox.store.soundness import cut_short, strange
from drillbox.store.sql import HEAD, compact_json, stored_revision
from drillbox.tick import Tell, Tick, silent

HEADER = b"SQLite format 3\x00"
WRITING = "drillbox_writing"
TABLES = "SELECT name FROM sqlite_master WHERE type = 'table'"


class FileStore(Store):
    """A store in a SQLite file, ``place``."""

    def __init__(self, engine: Engine, place: Path, now: datetime, *, backups: bool) -> None:
        super().__init__(engine, str(place))
        self._place = place
        self._opened_at = now
        self._backs_up = backups
        self._kept_day: date | None = None
        self._day_of: Callable[[datetime], date] | None = None
        self._file = file_identity(place)
        self._todays: Path | None = None

    @property
    def place(self) -> Path:
        """Return the store's file."""
        return self._place

    def keep_today(self, now: datetime | None = None) -> None:
        """Make the practice day's backup unless there is one; done before a day's first change.

        A damaged store is found here and refused (Damaged). Another failure doesn't keep a
        rating out: it is kept as ``backup_failure`` for the player to be told.
        """
        if not self._backs_up or self._is_kept(now):
            return
        from drillbox.store.backups import daily_backup, practice_days  # only before a change

        try:
            now = now or self._opened_at
            self._day_of = practice_days(self.engine, self.place)
            self._kept_day = self._day_of(now)
            made = daily_backup(self.engine, self.place, now, self._day_of)
            self._todays = made.path if made else None
        except Damaged:
            self._kept_day = None
            raise
        except (StoreFailure, BadInput) as problem:  # BadInput: its folder can't be looked at
            self.backup_failure = problem

    def _is_kept(self, now: datetime | None) -> bool:
        """Return whether the backup of a day was seen to already."""
        if self._day_of is None or self._kept_day is None:
            return False
        return now is None or self._day_of(now) == self._kept_day

    def keep_before(self, what: Risk, now: datetime) -> None:
        """Back the file up before something is changed, goes for good or comes from outside."""
        from drillbox.store.backups import back_up  # only before such a thing

        back_up(self.engine, self.place, now, what)

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
        if file_identity(self.place) != self._file:
            raise vanished(self.place)
        if isinstance(raw_connection(connection), _WithoutRoom):
            raise no_room(self.place)
        return connection.execution_options(**{WRITING: True}).begin()


def open_store(
    location: Path | str,
    *,
    now: datetime,
    backups: bool = True,
    tell: Tell = silent,
    tick: Tick = silent,
) -> Store:
    """Open the store at ``location``, making or migrating it where that is needed.

    That is a file or the address of a PostgreSQL database. ``now`` is aware; backups carry
    it. With ``backups`` the first change of a day and every migration of a file is preceded
    by one; ``tell`` hears of a migration, and ``tick`` how far it is. Raises StoreFailure where
    the store can't be used.
    """
    if "://" in str(location):
        from drillbox.store.server import open_server  # psycopg, only for a server

        return open_server(str(location), tell, tick)
    path = real_path(location)
    with faults(path):
        _make_file(path)
        look_at(path)
        engine = engine_for(path)
    try:
        with faults(path):
            make_current(engine, path, now, backups=backups, tell=tell, tick=tick)
        return FileStore(engine, path, now, backups=backups)
    except BaseException:
        engine.dispose()
        raise


def _make_file(path: Path) -> None:
    """Make the store's file unless it is there, or was there: then a drive may have vanished.

    An empty one is as good as none: a power cut leaves such, and so does a copy that broke off.
    """
    there = path.exists()
    if there and path.stat().st_size:
        return
    from shlex import quote  # only where there is no store

    if newest := newest_backup(path):
        raise StoreFailure(
            f"The store {path} is {'empty' if there else 'gone'}, but there are backups of it",
            "Put it back, or restore the newest with: "
            f"drillbox store restore {quote(str(newest.path))}",
        )
    make_file(path)


def make_current(
    engine: Engine,
    path: Path,
    now: datetime,
    *,
    backups: bool,
    tell: Tell,
    tick: Tick = silent,
) -> None:
    """Migrate a file to the newest schema where it is older; refuse what isn't a store."""
    with engine.connect() as connection:
        refuse_strange(connection, str(path))
        stored = stored_revision(connection, str(path), TABLES)
        # Read first: a WAL may hold pages that the file lacks as yet.
        if cut_short(raw_connection(connection), path):
            raise damage(path, "its end is missing")
        connection.rollback()
        if _has_bytes(beside(path, "-wal")):
            from drillbox.store.wal import tell_losses  # only where there is a log

            tell_losses(raw_connection(connection), path, str(path), tell)
    if stored == HEAD:
        return
    from drillbox.store import upgrading  # alembic, only where needed

    if stored is not None:
        upgrading.refuse_newer(stored, str(path))
        tell(upgrading.outdated_line(str(path)))
        if backups:
            from drillbox.store.backups import back_up  # only where there is something to lose

            back_up(engine, path, now, "migration")
    with (
        engine.connect() as connection,
        upgrading.without_foreign_keys(connection),
        connection.execution_options(**{WRITING: True}).begin(),
    ):
        upgrading.upgrade(connection, str(path), tick)
        upgrading.refuse_loose_rows(connection, str(path))


def _has_bytes(path: Path) -> bool:
    """Return whether there is a file that isn't empty; it isn't opened."""
    try:
        return path.stat().st_size > 0
    except OSError:
        return False


def make_file(path: Path) -> None:
    """Make the store's file (0600) and its missing directories (0700); one there stays as it is."""
    for folder in reversed([each for each in path.parents if not each.exists()]):
        folder.mkdir(mode=0o700, exist_ok=True)
    try:
        os.close(os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600))
    except FileExistsError:
        return


def look_at(path: Path) -> None:
    """Look at the first 100 bytes; raise StoreFailure if they can't be those of a store.

    Raises Damaged where backups beside the file say that it was one.
    """
    with path.open("rb") as file:
        head = file.read(100)
    if not head:
        return
    if len(head) < 100 or not head.startswith(HEADER):
        if newest_backup(path):
            raise damage(path, "its beginning isn't a store's")
        raise StoreFailure(
            f"{path} isn't a drillbox store",
            "Name another file with --store, or restore a backup: drillbox store list",
        )


def refuse_strange(connection: Connection, name: str) -> None:
    """Raise StoreFailure for a file with views or triggers, before anything in it is read."""
    if found := strange(raw_connection(connection)):
        raise StoreFailure(
            f"{name} can't be used as a drillbox store: {found}",
            "Name another with --store, or restore a backup: drillbox store list",
        )


def engine_for(path: Path | str) -> Engine:
    """Return an engine on a file that is there already; it makes none."""
    engine = create_engine(
        "sqlite://",
        creator=partial(_connect, Path(path)),
        poolclass=QueuePool,
        json_serializer=compact_json,
    )
    event.listen(engine, "begin", _begin)
    return engine


_ALONE = "mode=ro&immutable=1"  # what no program writes to, and has no log
_SHARED = 2**15  # bytes that SQLite puts beside a store that is open


class _WithoutRoom(sqlite3.Connection):
    """A connection to a file on a full disk: it only reads.

    There SQLite has no room for what programs share, without which none reads a WAL together with
    others. So no other has the file open, and no locks are needed.
    """

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self.execute("PRAGMA locking_mode = EXCLUSIVE")  # before anything is read


def _connect(path: Path) -> sqlite3.Connection:
    # mode=rw: a store that vanished isn't created again.
    try:
        return _opened(path, "mode=rw" if _may_grow(path) else _ALONE)
    except sqlite3.OperationalError as problem:
        if os.name != "posix" or not _lacks_room(problem, path):
            raise
    unlocked = "mode=ro&vfs=unix-none" if _has_bytes(beside(path, "-wal")) else _ALONE
    return _opened(path, unlocked, _WithoutRoom)


def _lacks_room(problem: sqlite3.OperationalError, path: Path) -> bool:
    """Return whether a store couldn't be opened as nothing can be written beside it.

    Where a change was cut off, which only a journal takes back, none may read it all the same.
    """
    if _has_bytes(beside(path, "-journal")):
        return False
    kind = getattr(problem, "sqlite_errorname", None)
    if kind == "SQLITE_CANTOPEN":
        return shutil.disk_usage(path.parent).free < _SHARED
    return kind in {"SQLITE_IOERR_SHMSIZE", "SQLITE_IOERR_WRITE", "SQLITE_FULL"}


def _opened(
    path: Path, mode: str, factory: type[sqlite3.Connection] = sqlite3.Connection
) -> sqlite3.Connection:
    # Without a level of None the driver begins and ends transactions by itself, and the tables
    # made by a failed migration would stay.
    address = f"{path.absolute().as_uri()}?{mode}"
    raw = sqlite3.connect(address, uri=True, isolation_level=None, factory=factory)
    raw.execute(f"PRAGMA busy_timeout = {PATIENCE:d}")
    raw.execute("PRAGMA trusted_schema = OFF")  # the file may be another's
    raw.execute("PRAGMA foreign_keys = ON")
    raw.execute("PRAGMA synchronous = FULL")
    # Asking to switch while another writes fails at once, so ask only where it is needed.
    if "ro" not in mode and raw.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
        raw.execute("PRAGMA journal_mode = WAL")
    return raw


def _may_grow(path: Path) -> bool:
    """Return whether a WAL may be made beside a store, or is there.

    Where none may, as in a folder of another or on a medium that can't be written, all is in the
    file itself: it can be read, and exported elsewhere.
    """
    if any(beside(path, end).exists() for end in ("-wal", "-journal")):
        return True
    effective = os.access in os.supports_effective_ids
    return os.access(path.parent, os.W_OK, effective_ids=effective)


def _begin(connection: Connection) -> None:
    # A read that turns into a write fails at once if another wrote meanwhile, whatever the
    # patience: one that is going to write says so at its beginning.
    writing = connection.get_execution_options().get(WRITING)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writing else "BEGIN")


def file_identity(path: Path) -> tuple[int, int] | None:
    """Return what tells the file at ``path`` from any other, or None if there is none."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino
