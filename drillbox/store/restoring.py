"""Put a backup in the place of the store; what was there is kept aside."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path

from drillbox.errors import BadInput, StoreFailure
from drillbox.store import opening
from drillbox.store.access import faults
from drillbox.store.backups import fault_in, only_reading
from drillbox.store.checks import refuse_other_columns
from drillbox.store.files import (
    beside,
    part_of,
    real_path,
    replacing,
    scratch_folder,
    sweep_parts,
    sync_file,
    sync_folder,
)
from drillbox.store.soundness import shows_damage
from drillbox.store.wal import tell_losses
from drillbox.tick import Tell, silent

_BESIDE = ("-wal", "-shm", "-journal")
# A session holds the store for minutes, so waiting for its end is useless; a write takes no time.
_PATIENCE = 2_000


def restore_backup(place: Path, backup: Path, now: datetime, tell: Tell = silent) -> Path | None:
    """Make ``backup`` the store at ``place``; return where the former one was kept, if any.

    The backup is copied and brought to the newest schema first. The former store is then
    locked and copied aside, with what only its WAL holds, and the backup copied into it in one
    transaction: cut off at any point, there is the one store or the other.
    ``tell`` hears of changes that can't be read in a damaged log of either. Raises
    StoreFailure if the backup isn't whole or isn't a store, if another program holds the store,
    or if there is no room; BadInput if the backup is the store.
    """
    place, backup = real_path(place), real_path(backup)
    if place.exists() and place.samefile(backup):
        raise BadInput(f"{backup} is the store itself", "Choose another: drillbox store list")
    if found := fault_in(backup, indexes=True):
        raise StoreFailure(
            f"The backup {backup} is not whole ({found}); nothing was changed",
            "Choose another: drillbox store list",
        )
    with faults(place, kept="nothing was changed"):
        sweep_parts(place.parent, place.name)
        ready = part_of(place)
        try:
            copy_store(backup, ready, now, tell)
            return _put(ready, place, now, tell)
        finally:
            for end in ("", *_BESIDE):
                beside(ready, end).unlink(missing_ok=True)


def copy_store(source: Path, to: Path, now: datetime, tell: Tell) -> None:
    """Copy a store page by page, its WAL included, and bring the copy to the newest schema.

    ``tell`` hears of changes that can't be read in a damaged WAL.

    Raises StoreFailure if it is none, if a newer drillbox wrote it, or if it changed meanwhile.
    """
    to.unlink(missing_ok=True)
    opening.make_file(to)
    before = _stamp(source)
    with (
        closing(sqlite3.connect(only_reading(source), uri=True)) as old,
        closing(sqlite3.connect(to)) as new,
    ):
        old.backup(new, pages=-1)
    if _stamp(source) != before:
        raise StoreFailure(
            f"{source} was written to while it was copied; nothing was changed",
            "Close the program that uses it, then try again.",
        )
    if beside(source, "-wal").exists():
        _tell_of_losses(source, tell)
    engine = opening.engine_for(to)
    try:
        opening.make_current(engine, to, now, backups=False, tell=silent)
        with engine.connect() as connection:
            refuse_other_columns(connection, str(source))
    except StoreFailure as problem:
        raise StoreFailure(problem.what.replace(str(to), str(source)), problem.remedy) from problem
    finally:
        engine.dispose()
    sync_file(to)


def _tell_of_losses(source: Path, tell: Tell) -> None:
    """Tell what can't be read in a store's WAL; a copy is asked, as asking may write."""
    with scratch_folder() as folder:
        copy = folder / "store.sqlite3"
        for end in ("", "-wal"):
            shutil.copyfile(beside(source, end), beside(copy, end))
        with closing(sqlite3.connect(copy, isolation_level=None)) as raw:
            raw.execute("SELECT count(*) FROM sqlite_master").fetchone()
            tell_losses(raw, copy, str(source), tell)


def _stamp(source: Path) -> tuple[int, int] | None:
    """Return what tells that a file which is read without a lock stayed as it was."""
    if beside(source, "-wal").exists():
        return None  # such a one is read under SQLite's own locks
    found = source.stat()
    return found.st_mtime_ns, found.st_size


def _put(ready: Path, place: Path, now: datetime, tell: Tell) -> Path | None:
    # Over a file of no bytes SQLite would drop a WAL that may be all that is left.
    if not place.exists() or not place.stat().st_size:
        return _replace(ready, place, now)
    try:
        with _alone(place) as raw:
            tell_losses(raw, place, str(place), tell)
            aside = _copied_aside(raw, place, now)
            with closing(sqlite3.connect(ready)) as new:
                new.backup(raw, pages=-1)
            return aside
    except (sqlite3.DatabaseError, UnicodeDecodeError) as problem:
        if not shows_damage(problem):
            raise
    # SQLite can't read it, so no lock keeps it from others, but none of them can use it either.
    return _replace(ready, place, now)


@contextmanager
def _alone(place: Path) -> Iterator[sqlite3.Connection]:
    """Open a store that no other program has open, and keep all others out meanwhile."""
    address = f"{place.as_uri()}?mode=rw"
    with closing(sqlite3.connect(address, uri=True, isolation_level=None)) as raw:
        raw.execute(f"PRAGMA busy_timeout = {_PATIENCE:d}")
        raw.execute("PRAGMA trusted_schema = OFF")
        raw.execute("PRAGMA synchronous = FULL")
        raw.execute("PRAGMA locking_mode = EXCLUSIVE")
        raw.execute("BEGIN IMMEDIATE")
        raw.execute("COMMIT")  # the lock stays
        yield raw


def _copied_aside(raw: sqlite3.Connection, place: Path, now: datetime) -> Path:
    aside = _aside(place, now)
    with replacing(aside) as part:
        opening.make_file(part)
        with closing(sqlite3.connect(part)) as copy:
            raw.backup(copy, pages=-1)
        sync_file(part)
    return aside


def _replace(ready: Path, place: Path, now: datetime) -> Path | None:
    """Put a file where there is none, or one that SQLite can't read; that one is kept aside."""
    aside = _aside(place, now)
    there = [end for end in ("", *_BESIDE) if beside(place, end).exists()]
    for end in there:
        kept = beside(aside, end)
        opening.make_file(kept)
        shutil.copyfile(beside(place, end), kept)
        sync_file(kept)
    sync_folder(place.parent)
    # A WAL belongs to one file and would be played into any that takes its place.
    for end in _BESIDE:
        beside(place, end).unlink(missing_ok=True)
    sync_folder(place.parent)
    ready.replace(place)
    sync_folder(place.parent)
    return aside if there else None


def _aside(place: Path, now: datetime) -> Path:
    stamp = f"{now.astimezone(UTC):%Y%m%dT%H%M%SZ}"
    aside = place.with_name(f"{place.name}.aside-{stamp}")
    number = 1
    while aside.exists():
        number += 1
        aside = place.with_name(f"{place.name}.aside-{stamp}-{number}")
    return aside
