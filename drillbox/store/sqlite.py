"""SQLite as the engine: the store's file, its pragmas and its transactions."""

from __future__ import annotations

import json
import os
import sqlite3
import struct
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path

from sqlalchemy import Connection, Engine, QueuePool, create_engine, event

from drillbox.errors import StoreFailure
from drillbox.store.places import beside

# The newest revision in migrations/. Kept here so that opening needn't import alembic; a test
# keeps it equal to alembic's head.
HEAD = "0011"

Tell = Callable[[str], object]
"""Is given a line for the player on work that may take seconds, before it is begun."""


def silent(_: str) -> None:
    """Tell nobody."""


def outdated_line(name: str) -> str:
    """Return what a player is told before a migration."""
    return f"The store {name} is of an older drillbox and is being brought up to date."


def tell_losses(raw: sqlite3.Connection, path: Path, name: str, tell: Tell) -> None:
    """Tell the player where the newest changes of a store, which they know as ``name``, can't be
    read in its WAL; asked as ``commits_lost`` is."""
    if count := commits_lost(raw, path):
        tell(_lost_changes_line(name, count))


def _lost_changes_line(name: str, count: int) -> str:
    changes = "the last change" if count == 1 else f"up to {count} of the last changes"
    return (
        f"The file {name}-wal was damaged: {changes} can't be read, and the rest is there. Look "
        "whether your last ratings are in; older backups: drillbox store list."
    )


def stored_revision(connection: Connection, name: str, tables: str) -> str | None:
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


_HEADER = struct.Struct(">8I")  # magic, version, page size, checkpoints, two salts, checksum
_FRAME = struct.Struct(">6I")  # page, pages after a commit or 0, two salts, checksum


def commits_lost(raw: sqlite3.Connection, path: Path) -> int:
    """Return how many commits at the end of a store's WAL can't be read, at most.

    To be asked of a connection in no transaction that has read from the store. One may be of a
    change that a power cut interrupted.
    """
    page = int(raw.execute("PRAGMA page_size").fetchone()[0])
    head, ends = _frames(path, page)
    if not any(ends) or not _beyond(raw, ends):
        return 0
    # Another program may be in mid-commit: once it is possible to write, it no longer is.
    raw.execute("BEGIN IMMEDIATE")
    raw.execute("ROLLBACK")
    lost = _beyond(raw, ends)
    return lost if _frames(path, page)[0] == head else 0


def _beyond(raw: sqlite3.Connection, ends: list[bool]) -> int:
    """Return how many of the frames beyond those that SQLite reads end a commit."""
    try:
        _, frames, _ = raw.execute("PRAGMA wal_checkpoint(PASSIVE)").fetchone()
    except sqlite3.Error:
        return 0  # no room to copy to, say; who writes will be told
    return sum(ends[frames:]) if frames >= 0 else 0


def _frames(path: Path, page: int) -> tuple[bytes, list[bool]]:
    """Return the log's header, and for each frame of its present round whether it ends a commit.

    No program locks the log, so that closing it releases nothing here.
    """
    try:
        with beside(path, "-wal").open("rb") as file:
            head = file.read(_HEADER.size)
            if len(head) < _HEADER.size:
                return head, []
            frames = []
            while len(frame := file.read(_FRAME.size)) == _FRAME.size:
                frames.append(_FRAME.unpack(frame))
                file.seek(page, 1)
    except OSError:
        return b"", []
    # A header that isn't whole doesn't say which round this is: the first frame is of it.
    salts = _HEADER.unpack(head)[4:6] if _is_whole(head) or not frames else frames[0][2:4]
    return head, [frame[2:4] == salts and frame[1] > 0 for frame in frames]


def _is_whole(head: bytes) -> bool:
    """Return whether the header's checksum is right (section 4.2)."""
    order = ">" if head[3] & 1 else "<"
    words = struct.unpack(f"{order}6I", head[:24])
    one = two = 0
    for first, second in zip(words[::2], words[1::2], strict=True):
        one = (one + first + two) & 0xFFFFFFFF
        two = (two + second + one) & 0xFFFFFFFF
    return (one, two) == _HEADER.unpack(head)[6:]


HEADER = b"SQLite format 3\x00"
# Two sessions at once wait for one another this long, in milliseconds, before it is a fault.
PATIENCE = 15_000
WRITING = "drillbox_writing"
TABLES = "SELECT name FROM sqlite_master WHERE type = 'table'"
# What a store never holds: a view may never end, a trigger changes what nobody asked for.
_STRANGE = """
SELECT type, name FROM sqlite_master
WHERE type NOT IN ('table', 'index') OR sql LIKE 'CREATE VIRTUAL%' LIMIT 1
"""


def make_file(path: Path) -> None:
    """Make the store's file (0600) and its missing directories (0700); one there stays as it is."""
    for folder in reversed([each for each in path.parents if not each.exists()]):
        folder.mkdir(mode=0o700, exist_ok=True)
    try:
        os.close(os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600))
    except FileExistsError:
        return


def look_at(path: Path) -> None:
    """Look at the first 100 bytes; raise StoreFailure if they can't be those of a store."""
    with path.open("rb") as file:
        head = file.read(100)
    if not head:
        return
    if len(head) < 100 or not head.startswith(HEADER):
        raise StoreFailure(
            f"{path} isn't a drillbox store",
            "Name another file with --store, or restore a backup: drillbox store list.",
        )


def strange(raw: sqlite3.Connection) -> str | None:
    """Return what a file holds that no store does, such as a trigger; None if there is none."""
    found = raw.execute(_STRANGE).fetchone()
    if found is None:
        return None
    kind, name = found
    return f"it holds the {'virtual table' if kind == 'table' else kind} {str(name)[:80]!r}"


def raw_connection(connection: Connection) -> sqlite3.Connection:
    """Return the driver's own connection behind one."""
    found = connection.connection.driver_connection
    assert isinstance(found, sqlite3.Connection)  # it is there while connected
    return found


def refuse_strange(connection: Connection, name: str) -> None:
    """Raise StoreFailure for a file with views or triggers, before anything in it is read."""
    if found := strange(raw_connection(connection)):
        raise StoreFailure(
            f"{name} can't be used as a drillbox store: {found}",
            "Name another with --store, or restore a backup: drillbox store list.",
        )


def cut_short(connection: Connection, path: Path) -> bool:
    """Return whether the last page of the file that is connected isn't whole.

    SQLite itself finds missing pages by the count in the header, but takes a part for a page.
    The file isn't opened for it: to close it would release the connection's own locks (POSIX),
    and the next program that closes the store would take away the WAL that is written here.
    """
    page = int(connection.exec_driver_sql("PRAGMA page_size").scalar_one())
    return path.stat().st_size % page != 0


def engine_for(path: Path | str) -> Engine:
    """Return an engine on a file that is there already; it makes none."""
    engine = create_engine(
        "sqlite://",
        creator=partial(_connect, Path(path)),
        poolclass=QueuePool,
        json_serializer=_compact,
    )
    event.listen(engine, "begin", _begin)
    return engine


def _compact(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), sort_keys=True)


def _connect(path: Path) -> sqlite3.Connection:
    # Without a level of None the driver begins and ends transactions by itself, and the tables
    # made by a failed migration would stay. mode=rw: a store that vanished isn't created again.
    raw = sqlite3.connect(f"{path.absolute().as_uri()}?mode=rw", uri=True, isolation_level=None)
    raw.execute(f"PRAGMA busy_timeout = {PATIENCE:d}")
    raw.execute("PRAGMA trusted_schema = OFF")  # the file may be another's
    raw.execute("PRAGMA foreign_keys = ON")
    raw.execute("PRAGMA synchronous = FULL")
    # Asking to switch while another writes fails at once, so ask only where it is needed.
    if raw.execute("PRAGMA journal_mode").fetchone()[0] != "wal":
        raw.execute("PRAGMA journal_mode = WAL")
    return raw


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


@contextmanager
def without_foreign_keys(connection: Connection) -> Iterator[None]:
    """Leave foreign keys unenforced inside the block, which must begin its own transaction.

    Rebuilding a parent table with foreign keys on would delete its children, and the pragma
    does nothing inside a transaction.
    """
    driver = raw_connection(connection)
    driver.execute("PRAGMA foreign_keys = OFF")
    try:
        yield
    finally:
        driver.execute("PRAGMA foreign_keys = ON")


def refuse_loose_rows(connection: Connection, name: str) -> None:
    """Raise StoreFailure, and so undo a migration, if a row points at one that isn't there."""
    if broken := connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall():
        raise StoreFailure(
            f"{len(broken)} rows of the store {name} point at rows that aren't there;"
            " nothing was changed",
            "Restore a backup: drillbox store list.",
        )


def lacking_columns(connection: Connection) -> list[str]:
    """Return which tables of the newest schema lack which column, as those of another program."""
    from drillbox.store.tables import metadata  # the models load slowly, and only here

    found = []
    for table in metadata.sorted_tables:
        rows = connection.exec_driver_sql(f'PRAGMA table_info("{table.name}")')
        if lacking := {column.name for column in table.columns} - {row[1] for row in rows}:
            found.append(f"its table {table.name} lacks {min(lacking)}")
    return found


def refuse_other_columns(connection: Connection, name: str) -> None:
    """Raise StoreFailure where a table of the newest schema lacks a column."""
    if found := lacking_columns(connection):
        raise StoreFailure(
            f"{name} isn't a drillbox store: {found[0]}", "Choose another: drillbox store list."
        )
