"""Which backups of a store there are, by the names of their files; and which of them stay."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup there is: its file, the instant (UTC) it was made, what for, and its bytes."""

    path: Path
    at: datetime
    reason: str
    size: int


def backups_folder(place: Path) -> Path:
    """Return the folder that holds the backups of the store at ``place``."""
    return place.with_name(f"{place.name}-backups")


def list_backups(place: Path) -> list[Backup]:
    """Return the backups of the store at ``place``, newest first."""
    pattern = re.compile(r"(\d{8}T\d{6}Z)-([a-z]+)\.sqlite3")
    found = []
    for path in backups_folder(place).glob("*.sqlite3"):
        if match := pattern.fullmatch(path.name):
            # A link that leads nowhere or a date that never was isn't a backup, and is skipped.
            try:
                at, facts = datetime.fromisoformat(match[1]), path.stat()
            except (OSError, ValueError):
                continue
            if not 1 < at.year < 9999 or not path.is_file():
                continue
            # The file's own time tells apart what was made within one second.
            found.append((at, facts.st_mtime_ns, Backup(path, at, match[2], facts.st_size)))
    return [backup for *_, backup in sorted(found, key=lambda each: each[:2], reverse=True)]


def newest_backup(place: Path) -> Backup | None:
    """Return the newest backup of the store at ``place``, or None."""
    return next(iter(list_backups(place)), None)


DAYS, WEEKS, MONTHS = 7, 4, 12
EDITS = 10
ROOM = 1000
"""Megabytes (10**6 bytes) for all backups of a store: some twenty of a store of many years."""
ROOM_SETTING = "backup_room"


def read_room(text: str) -> int:
    """Read megabytes; raise ValueError with what is wanted."""
    if not (text.isascii() and text.isdigit() and 10 <= int(text) <= 1_000_000):
        raise ValueError("a whole number of megabytes from 10 to 1000000")
    return int(text)


def room_in_force(stored: object) -> int:
    """Return a stored setting where it passes the check of a typed one, else the default."""
    try:
        return ROOM if stored is None else read_room(str(stored))
    except ValueError:
        return ROOM


def past_keeping(backups: Iterable[Backup], room: int = ROOM) -> list[Backup]:
    """Return those that aren't the newest of one of the last 7 days, 4 weeks or 12 months.

    ``backups`` come newest first. Days, ISO weeks and months of UTC without a backup don't
    count. Those before a migration or an edit are counted separately, and of the latter the
    newest 10 stay: what one of them deleted isn't in the next. Of what is left the oldest go
    until all take no more than ``room`` megabytes; the newest of each kind stays, and so does
    every one that the player asked for.
    """
    made = list(backups)
    kept = {each.path for each in made if each.reason == "asked"}
    newest = set()
    for reason in ("day", "migration", "edit"):
        mine = [each for each in made if each.reason == reason]
        newest |= {each.path for each in mine[:1]}
        for span, count in ((_day, DAYS), (_week, WEEKS), (_month, MONTHS)):
            seen: dict[tuple[int, ...], Path] = {}
            for each in mine:
                seen.setdefault(span(each.at.date()), each.path)
            kept.update(list(seen.values())[:count])
        kept.update(each.path for each in mine[:EDITS] if reason == "edit")
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
