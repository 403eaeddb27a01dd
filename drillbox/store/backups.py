"""Backups by SQLite's online backup, each verified by opening it, in a folder by the store."""

from __future__ import annotations

import os
import re
import sqlite3
from collections.abc import Iterable
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Literal

from sqlalchemy import Engine

from drillbox.errors import StoreFailure

Reason = Literal["day", "migration", "asked"]
DAYS, WEEKS, MONTHS = 7, 4, 12


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup there is: its file, the instant (UTC) it was made, and what for."""

    path: Path
    at: datetime
    reason: str

    @property
    def size(self) -> int:
        """Return its size in bytes."""
        return self.path.stat().st_size


def backups_folder(place: Path) -> Path:
    """Return the folder that holds the backups of the store at ``place``."""
    return place.with_name(f"{place.name}-backups")


def list_backups(place: Path) -> list[Backup]:
    """Return the backups of the store at ``place``, newest first."""
    pattern = re.compile(r"(\d{8}T\d{6}Z)-(\w+)\.sqlite3")
    found = []
    for path in backups_folder(place).glob("*.sqlite3"):
        if match := pattern.fullmatch(path.name):
            at = datetime.strptime(match[1], "%Y%m%dT%H%M%SZ").replace(tzinfo=UTC)
            found.append(Backup(path, at, match[2]))
    return sorted(found, key=lambda each: (each.at, each.path.name), reverse=True)


def newest_backup(place: Path) -> Backup | None:
    """Return the newest backup of the store at ``place``, or None."""
    return next(iter(list_backups(place)), None)


def daily_backup(engine: Engine, place: Path, now: datetime) -> Backup | None:
    """Back the store up unless that was done today (by the date of ``now``) or it is empty."""
    if any(each.at.date() >= now.astimezone(UTC).date() for each in list_backups(place)):
        return None
    with engine.connect() as connection:
        if connection.exec_driver_sql("SELECT 1 FROM phrase LIMIT 1").first() is None:
            return None
    return back_up(engine, place, now, "day")


def back_up(engine: Engine, place: Path, now: datetime, reason: Reason) -> Backup:
    """Make a backup, verify it by opening it, then let go of those past keeping.

    Raises StoreFailure if it can't be made or can't be read back; the store stays as it is.
    """
    folder = backups_folder(place)
    folder.mkdir(mode=0o700, exist_ok=True)
    at = now.astimezone(UTC).replace(microsecond=0)
    path = folder / f"{at:%Y%m%dT%H%M%SZ}-{reason}.sqlite3"
    partial = path.with_suffix(".part")
    try:
        _copy(engine, partial)
        verify(partial)
        partial.replace(path)
    finally:
        partial.unlink(missing_ok=True)
    for past in _past_keeping(list_backups(place)):
        past.path.unlink()
    return Backup(path, at, reason)


def _copy(engine: Engine, to: Path) -> None:
    to.unlink(missing_ok=True)
    os.close(os.open(to, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600))
    with engine.connect() as connection, closing(sqlite3.connect(to)) as copy:
        raw = connection.connection.driver_connection
        assert raw is not None  # it is there while connected
        raw.backup(copy, pages=-1)
        # The copy stands for itself: no WAL beside it that could be forgotten.
        copy.execute("PRAGMA journal_mode = DELETE")
    handle = os.open(to, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def verify(path: Path) -> None:
    """Open a backup and look at every page; raise StoreFailure if one isn't whole."""
    try:
        with closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True)) as copy:
            found = copy.execute("PRAGMA quick_check(1)").fetchone()[0]
            copy.execute("SELECT version_num FROM alembic_version").fetchone()
    except sqlite3.Error as problem:
        found = str(problem)
    if found != "ok":
        raise StoreFailure(
            f"The backup {path} is not whole: {found}", "See the others: drillbox store list."
        )


def _past_keeping(backups: Iterable[Backup]) -> list[Backup]:
    """Return those that aren't the newest of one of the last 7 days, 4 weeks or 12 months."""
    newest_first = list(backups)
    kept: set[Path] = set()
    for span, count in ((_day, DAYS), (_week, WEEKS), (_month, MONTHS)):
        seen: dict[tuple[int, ...], Path] = {}
        for each in newest_first:
            seen.setdefault(span(each.at.date()), each.path)
        kept.update(list(seen.values())[:count])
    return [each for each in newest_first if each.path not in kept]


def _day(day: date) -> tuple[int, ...]:
    return (day.toordinal(),)


def _week(day: date) -> tuple[int, ...]:
    return tuple(day.isocalendar()[:2])


def _month(day: date) -> tuple[int, ...]:
    return (day.year, day.month)
