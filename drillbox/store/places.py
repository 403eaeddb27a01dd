"""Where a store's file and its backups lie, and which process has it open.

The backups there are, and which of them stay, are told by the names of their files.
"""

from __future__ import annotations

import os
import re
import stat
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from zlib import crc32

from drillbox.errors import BadInput


def real_path(path: Path | str) -> Path:
    """Return the file that a path leads to, absolute and through every link.

    SQLite keeps its WAL beside that file and not beside a link to it. Raises BadInput for a
    pipe, a device or a socket, which would be waited on for ever.
    """
    found = Path(os.path.realpath(Path(path).expanduser()))
    refuse_special(found)
    return found


def refuse_special(path: Path) -> None:
    """Raise BadInput where a pipe, a device or a socket stands at ``path``."""
    try:
        mode = path.stat().st_mode
    except (OSError, ValueError):
        return  # what isn't there, or can't be looked at, is told by who opens it
    if not (stat.S_ISREG(mode) or stat.S_ISDIR(mode)):
        raise BadInput(f"{path} isn't a plain file", "Name a plain file, or one that isn't there.")


def sync_folder(folder: Path) -> None:
    """Wait until a folder's entries are on disk, where the system can say so."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:  # Windows opens no folder
        return
    try:
        os.fsync(handle)
    except OSError:
        pass  # some network drives can't
    finally:
        os.close(handle)


def beside(path: Path, end: str) -> Path:
    """Return the file that SQLite keeps next to a store under the ending ``-wal`` and such."""
    return path.with_name(path.name + end)


def default_location() -> Path:
    """Return where a player's store lies by default on this platform."""
    from platformdirs import user_data_path  # not where --store names one

    return user_data_path("drillbox") / "drillbox.sqlite3"


def host_name() -> str:
    """Return this computer's name."""
    return os.uname().nodename if hasattr(os, "uname") else os.environ.get("COMPUTERNAME", "")


def realm() -> str:
    """Return eight digits for the computer or container whose processes ``is_running`` asks."""
    try:
        namespace = Path("/proc/self/ns/pid").stat().st_ino
    except OSError:
        namespace = 0
    return f"{crc32(f'{host_name()} {namespace}'.encode()):08x}"


def this_process() -> str:
    """Return what tells this process from any other on this computer: see ``process_name``."""
    return process_name(os.getpid())


def process_name(pid: int) -> str:
    """Return a process's number, and where the system tells it (Linux) when it began.

    Numbers are reused, after a restart above all; with the beginning it is one process.
    """
    began = _began(pid)
    return f"{pid}:{began}" if began else str(pid)


def tells_beginning(process: str) -> bool:
    """Return whether a process's name says when it began, so that no other is taken for it."""
    return ":" in process


def is_running(process: str) -> bool | None:
    """Return whether the process of that name runs on this computer; None for not known."""
    number, _, began = process.partition(":")
    if began:
        return _began(int(number)) == began
    if os.name == "nt":
        return None  # there a signal of 0 would end the process
    try:
        os.kill(int(number), 0)
    except (ProcessLookupError, OverflowError, ValueError):
        return False
    except OSError:
        return True  # it runs, as somebody else
    return True


def _began(pid: int) -> str | None:
    """Return when a process began, in ticks since the system's start (proc(5), field 22)."""
    try:
        stat = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8", errors="replace")
    except OSError:
        return None
    fields = stat.rpartition(")")[2].split()
    # A zombie has ended, though its parent hasn't asked for its end yet.
    return fields[19] if len(fields) > 19 and fields[0] not in "ZX" else None


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
