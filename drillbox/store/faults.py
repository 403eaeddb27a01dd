"""A fault of the engine as one clear line with a remedy."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from shlex import quote

from sqlalchemy.exc import DBAPIError

from drillbox.errors import StoreFailure
from drillbox.store.backup_files import newest_backup

DAMAGED = frozenset({"SQLITE_CORRUPT", "SQLITE_NOTADB"})
NOTHING_STORED = "nothing was stored"
# By the first two words of sqlite_errorname: what is wrong, and what to do.
_SAID = {
    "SQLITE_FULL": (
        "No room is left where the store lies ({place}); {kept}",
        "Free some room and try again.",
    ),
    "SQLITE_IOERR": (
        "The store {place} can't be reached or has no room to grow; {kept}",
        "Check that its drive is there and has room, then try again.",
    ),
    "SQLITE_READONLY": (
        "The store {place} may only be read; {kept}",
        "Allow writing to the file, to -wal and -shm beside it and to its folder,"
        " or name another with --store.",
    ),
    "SQLITE_CANTOPEN": (
        "The store {place} can't be opened",
        "Check that its drive is there and that you may read and write the file and its folder.",
    ),
    "SQLITE_PERM": (
        "You may not open the store {place}",
        "Allow reading and writing the file and its folder.",
    ),
    "SQLITE_BUSY": (
        "Another program holds the store {place}; {kept}",
        "Close it or wait a moment, then try again.",
    ),
    "SQLITE_LOCKED": (
        "Another program holds the store {place}; {kept}",
        "Close it or wait a moment, then try again.",
    ),
    "SQLITE_NOMEM": ("There is no memory left for the store {place}", "Close other programs."),
}


class NoRoom(StoreFailure):
    """The disk is full, or as good as full."""


class Damaged(StoreFailure):
    """Pages of the store don't hold what they should."""


def damage(place: Path | str, found: str = "") -> Damaged:
    """Return the failure for a damaged store, naming the newest backup there is."""
    newest = newest_backup(Path(place))
    what = f"The store {place} is damaged" + (f" ({found})" if found else "")
    if newest is None:
        return Damaged(what, "There is no backup of it; keep the file and don't write to it.")
    return Damaged(
        what,
        f"The newest backup is of {newest.at:%Y-%m-%d %H:%M} UTC; restore it with: "
        f"drillbox store restore {quote(str(newest.path))} (the damaged file is kept aside).",
    )


def vanished(place: Path | str) -> StoreFailure:
    """Return the failure for a store whose file isn't there any more, or is another one."""
    return StoreFailure(
        f"The store {place} is gone or was replaced while it was open; nothing was stored",
        "Check that its drive is there and start again.",
    )


def failure(
    problem: BaseException,
    place: Path | str,
    *,
    committing: bool = False,
    kept: str = NOTHING_STORED,
) -> StoreFailure | None:
    """Return the failure that a fault of the engine is to a player, or None if it is none.

    ``committing``: it came while the last step was done, so that a server may have done it.
    """
    raw = problem.orig if isinstance(problem, DBAPIError) else problem
    if not isinstance(raw, sqlite3.Error):
        from drillbox.store.server_faults import failure_of_server  # only for a server

        return failure_of_server(raw, place, committing=committing)
    name = getattr(raw, "sqlite_errorname", "") or ""
    kind = "_".join(name.split("_")[:2])
    if kind in DAMAGED:
        return damage(place)
    if kind not in _SAID:
        return None
    what, remedy = _SAID[kind]
    made = NoRoom if kind in {"SQLITE_FULL", "SQLITE_IOERR"} else StoreFailure
    return made(what.format(place=place, kept=kept), remedy)


@contextmanager
def faults(
    place: Path | str, committing: Callable[[], bool] = bool, *, kept: str = NOTHING_STORED
) -> Iterator[None]:
    """Turn faults of the engine inside the block into StoreFailure; let all else through.

    ``committing`` is asked whether a fault came while the last step was done; ``kept`` says
    what a fault leaves of what was asked for.
    """
    try:
        yield
    except (DBAPIError, sqlite3.Error, OSError) as problem:
        said = of_system(problem, place) if isinstance(problem, OSError) else None
        said = said or failure(problem, place, committing=committing(), kept=kept)
        if said is None:
            raise
        raise said from problem


def of_system(problem: OSError, place: Path | str) -> StoreFailure:
    """Return the failure that the operating system's refusal is to a player."""
    return StoreFailure(
        f"The store {place} can't be used: {problem.strerror or problem}",
        "Check that its drive is there and that you may write the file and its folder, "
        "or name another with --store.",
    )
