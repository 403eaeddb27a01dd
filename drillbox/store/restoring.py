"""Put a backup in the place of the store; what was there is kept aside."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from drillbox.errors import StoreFailure
from drillbox.store import sqlite
from drillbox.store.backups import fault_in, only_reading, sync
from drillbox.store.faults import faults

_BESIDE = ("", "-wal", "-shm")


def restore_backup(place: Path, backup: Path, now: datetime) -> Path | None:
    """Make ``backup`` the store at ``place``; return where the former one was kept, if any.

    The former store is copied aside with its WAL before anything is put in its place, so a
    failure at any point loses nothing. Raises StoreFailure if the backup isn't whole or is no
    store, or if there is no room.
    """
    if found := fault_in(backup):
        raise StoreFailure(
            f"The backup {backup} is not whole ({found}); nothing was changed",
            "Choose another: drillbox store list.",
        )
    with faults(place):
        partial = place.with_name(f"{place.name}.restoring")
        try:
            _copy_store(backup, partial)
            aside = _keep_aside(place, now) if place.exists() else None
            for end in _BESIDE[1:]:
                place.with_name(place.name + end).unlink(missing_ok=True)
            partial.replace(place)
        finally:
            partial.unlink(missing_ok=True)
    return aside


def _copy_store(backup: Path, to: Path) -> None:
    """Copy a backup page by page, which takes its WAL along if there is one."""
    to.unlink(missing_ok=True)
    sqlite.make_file(to)
    address = only_reading(backup)
    with closing(sqlite3.connect(address, uri=True)) as old, closing(sqlite3.connect(to)) as new:
        old.backup(new, pages=-1)
    sync(to)


def _keep_aside(place: Path, now: datetime) -> Path:
    stamp = f"{now.astimezone(UTC):%Y%m%dT%H%M%SZ}"
    aside = place.with_name(f"{place.name}.aside-{stamp}")
    number = 1
    while aside.exists():
        number += 1
        aside = place.with_name(f"{place.name}.aside-{stamp}-{number}")
    for end in _BESIDE:
        source = place.with_name(place.name + end)
        if source.exists():
            kept = aside.with_name(aside.name + end)
            sqlite.make_file(kept)
            shutil.copyfile(source, kept)
            sync(kept)
    return aside
