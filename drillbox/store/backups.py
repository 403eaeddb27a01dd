"""Backups by SQLite's online backup, each verified by opening it, in a folder by the store."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Callable, Iterable
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Literal

from sqlalchemy import Connection, Engine

from drillbox.errors import NotFound
from drillbox.memory.days import knows_zone, practice_day, practice_day_ahead
from drillbox.memory.rules import setting_in_force
from drillbox.store.access import NoRoom, Risk, damage, faults, raw_connection
from drillbox.store.files import (
    ROOM,
    ROOM_SETTING,
    Backup,
    backups_folder,
    beside,
    from_home,
    list_backups,
    looking_at,
    real_path,
    refuse_special,
    replacing,
    room_in_force,
    sweep_parts,
    sync_file,
)
from drillbox.store.setting_rows import settings_in
from drillbox.store.soundness import cut_short, strange
from drillbox.store.sql import query

Reason = Literal["day", "migration", "asked"] | Risk
_ZONE = "SELECT zone FROM drill_session ORDER BY id DESC LIMIT 1"
_AHEAD = """
SELECT utc_offset FROM attempt WHERE zone = :zone AND utc_offset IS NOT NULL
ORDER BY id DESC LIMIT 1
"""
DAYS, WEEKS, MONTHS = 7, 4, 12
EDITS = 10  # and as many deletions
SPARE = 4 * 2**20  # bytes that a day's backup leaves to the ratings of many days


PracticeDays = Callable[[datetime], date]
"""Gives the practice day of an instant."""


def daily_backup(engine: Engine, place: Path, now: datetime, day_of: PracticeDays) -> Backup | None:
    """Back the store up unless that was done on this practice day, or there is no phrase in it.

    ``day_of`` are the ``practice_days`` of the store.
    """
    with faults(place, kept="no backup was made"):
        with engine.connect() as connection:
            if connection.execute(query("SELECT 1 FROM phrase LIMIT 1")).first() is None:
                return None
        # By equality: a backup made while the clock stood a year ahead stops no other.
        today = day_of(now)
        if any(day_of(each.at) == today for each in list_backups(place)):
            return None
        _refuse_last_room(place)
    return back_up(engine, place, now, "day")


def practice_days(engine: Engine, place: Path) -> PracticeDays:
    """Return what gives practice days where the player was last: in the zone of the latest drill
    session."""
    with faults(place, kept="no backup was made"), engine.connect() as connection:
        return _days(connection)


def _days(connection: Connection) -> PracticeDays:
    """Return what gives the practice day of an instant where the player is.

    Where the zone isn't known here, as that of a computer whose zone data are newer, the clock
    is as far from UTC as at the latest attempt there.
    """
    zone = connection.execute(query(_ZONE)).scalar() or "UTC"
    hour = int(setting_in_force("day_start_hour", settings_in(connection).get("day_start_hour")))
    if knows_zone(zone):
        return lambda at: practice_day(at, zone, hour)
    minutes = connection.execute(query(_AHEAD), {"zone": zone}).scalar() or 0
    return lambda at: practice_day_ahead(at, minutes, hour)


def _refuse_last_room(place: Path) -> None:
    """Raise NoRoom where a backup would leave too little room for what is stored next."""
    files = [each for each in (place, beside(place, "-wal")) if each.exists()]
    if shutil.disk_usage(place.parent).free < sum(each.stat().st_size for each in files) + SPARE:
        raise NoRoom(f"There is too little room beside {place}", "Free some room.")


def back_up(engine: Engine, place: Path, now: datetime, reason: Reason) -> Backup:
    """Make a backup, verify it by opening it, then delete those past keeping.

    Raises Damaged if the store itself isn't whole, StoreFailure if the backup can't be made
    or read back; the store and older backups stay as they are.
    """
    folder = backups_folder(place)
    at = now.astimezone(UTC).replace(microsecond=0)
    with faults(place, kept="no backup was made"):
        while (path := folder / f"{at:%Y%m%dT%H%M%SZ}-{reason}.sqlite3").exists():
            at += timedelta(seconds=1)
        folder.mkdir(mode=0o700, exist_ok=True)
        sweep_parts(folder)
        sweep_parts(place.parent, place.name)  # a restore that was killed
        with replacing(path) as partial:
            _copy(engine, partial)
            if found := fault_in(partial):
                raise damage(place, found)
        with engine.connect() as connection:
            room = room_in_force(settings_in(connection).get(ROOM_SETTING))
        for past in past_keeping(list_backups(place), room):
            if past.path != path:  # by a clock set back it may look like the oldest
                past.path.unlink(missing_ok=True)
    return Backup(path, at, reason, path.stat().st_size)


def past_keeping(backups: Iterable[Backup], room: int = ROOM) -> list[Backup]:
    """Return those that aren't the newest of one of the last 7 days, 4 weeks or 12 months.

    ``backups`` come newest first. Days, ISO weeks and months of UTC without a backup don't
    count. Those before a migration, an import, an edit or a deletion are counted separately, and
    of edits and of deletions the newest 10 stay: what one took away isn't in the next. Of what is
    left the oldest go until all take no more than ``room`` megabytes; the newest of each kind
    stays, and so does every one that the player asked for.
    """
    made = list(backups)
    kept = {each.path for each in made if each.reason == "asked"}
    newest = set()
    for reason in ("day", "migration", "import", "edit", "deletion"):
        mine = [each for each in made if each.reason == reason]
        newest |= {each.path for each in mine[:1]}
        for span, count in ((_day, DAYS), (_week, WEEKS), (_month, MONTHS)):
            seen: dict[tuple[int, ...], Path] = {}
            for each in mine:
                seen.setdefault(span(each.at.date()), each.path)
            kept.update(list(seen.values())[:count])
        kept.update(each.path for each in mine[:EDITS] if reason in {"edit", "deletion"})
    size = sum(each.size for each in made if each.path in kept)
    for each in reversed(made):
        if size <= room * 10**6:
            break
        if each.path in kept and each.reason != "asked" and each.path not in newest:
            kept.remove(each.path)
            size -= each.size
    return [each for each in made if each.path not in kept]


def _day(day: date) -> tuple[int, ...]:
    return (day.toordinal(),)


def _week(day: date) -> tuple[int, ...]:
    return tuple(day.isocalendar()[:2])


def _month(day: date) -> tuple[int, ...]:
    return (day.year, day.month)


def _copy(engine: Engine, to: Path) -> None:
    os.close(os.open(to, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600))
    with engine.connect() as connection, closing(sqlite3.connect(to)) as copy:
        raw_connection(connection).backup(copy, pages=-1)
        # The copy stands for itself: no WAL beside it that could be forgotten.
        copy.execute("PRAGMA journal_mode = DELETE")
    sync_file(to)


def only_reading(path: Path) -> str:
    """Return the address under which SQLite reads a file and leaves nothing beside it.

    That asks that nobody writes to it; where a WAL or a journal is there, somebody may. The
    path must be the file's own: what stands beside a link tells nothing.
    """
    alone = not any(beside(path, end).exists() for end in ("-wal", "-journal"))
    return f"{path.absolute().as_uri()}?mode=ro{'&immutable=1' if alone else ''}"


def fault_in(path: Path, *, indexes: bool = False) -> str | None:
    """Open a backup and look at every page; return what isn't as it should be, or None.

    ``indexes``: also whether each row is in its indexes, which takes longer.
    """
    check = "integrity_check" if indexes else "quick_check"
    try:
        with closing(sqlite3.connect(only_reading(path), uri=True)) as copy:
            copy.execute("PRAGMA trusted_schema = OFF")
            if stranger := strange(copy):
                return stranger
            # Read for its names: under one that is no text any more it could not be opened.
            copy.execute("SELECT name, sql FROM sqlite_master").fetchall()
            found = copy.execute(f"PRAGMA {check}(1)").fetchone()[0]
            copy.execute("SELECT version_num FROM alembic_version").fetchone()
            if cut_short(copy, path):
                return "its end is missing"
    except sqlite3.Error as problem:
        return str(problem)
    except UnicodeDecodeError:
        return "a name in it can't be read"
    return None if found == "ok" else str(found)


def stored_room(place: Path) -> int:
    """Return the megabytes that all backups may take, the default where it can't be read."""
    words = f"SELECT CAST(value AS TEXT) FROM setting WHERE name = '{ROOM_SETTING}'"
    try:
        with closing(sqlite3.connect(only_reading(place), uri=True)) as raw:
            found = None if strange(raw) else raw.execute(words).fetchone()
    except (sqlite3.Error, UnicodeDecodeError):
        return room_in_force(None)
    return room_in_force(found and found[0])


def backup_of(place: Path, named: str) -> Path:
    """Return the backup that a player names by path or file name; raise NotFound if none."""
    for path in (from_home(named), backups_folder(place) / named):
        with looking_at(path):
            found = path.is_file()
        if found:
            return real_path(path)
        refuse_special(path)
    raise NotFound(f"There is no backup {named!r}", "See them with: drillbox store list")
