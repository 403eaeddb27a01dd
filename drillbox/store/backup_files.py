"""Which backups of a store there are, by the names of their files in the folder beside it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
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
