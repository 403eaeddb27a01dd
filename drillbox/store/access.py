"""An open store, whatever its engine: look at one moment of it, change it whole or not at all.

A fault of the engine, SQLite's or PostgreSQL's, becomes one clear line with a remedy.
"""

from __future__ import annotations

import sqlite3
from abc import ABC, abstractmethod
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from datetime import datetime
from pathlib import Path
from shlex import quote
from types import TracebackType
from typing import Literal, Self

from sqlalchemy import Connection, Engine
from sqlalchemy.exc import DBAPIError

from drillbox.errors import BadInput, DrillboxError, NotKnown, StoreFailure
from drillbox.store.files import newest_backup
from drillbox.store.soundness import fault_kind, shows_damage

# Two sessions at once wait for one another this long, in milliseconds, before it is a fault.
PATIENCE = 15_000

Risk = Literal["edit", "deletion", "import"]

ILLEGIBLE = (
    ValueError, TypeError, LookupError, ArithmeticError, AttributeError, RecursionError, BadInput,
)  # fmt: skip
"""What reading a row raises where it holds what no drillbox writes there."""


class Store(ABC):
    """An open store. ``name`` says which one to a player; close it, or use it in a ``with``."""

    def __init__(self, engine: Engine, name: str) -> None:
        self.engine = engine
        self.name = name
        self.backup_failure: DrillboxError | None = None

    @property
    def place(self) -> Path:
        """Return the store's file; raise BadInput for a store that has none of its own."""
        raise BadInput(
            f"{self.name} is on a server, which has no file here",
            "To back it up: drillbox store export DIR",
        )

    @contextmanager
    def read(self) -> Iterator[Connection]:
        """Yield a connection that sees one moment of the store; raise StoreFailure on a fault."""
        with faults(self.name), self.engine.connect() as connection:
            yield self._looking(connection)

    @contextmanager
    def write(self, *, backup: bool = True, now: datetime | None = None) -> Iterator[Connection]:
        """Yield a connection whose changes are all on disk when the block ends, or none.

        Waits for another writer first, so what is read inside is still true at the end. The
        day's backup precedes it, unless it is a change that only adds and ``backup`` is off.
        ``now`` is told where another day may have begun since the store was opened.
        Raises StoreFailure on a fault, NotKnown where the answer to the last step is lost.
        """
        try:
            with self._written(backup=backup, now=now) as connection:
                yield connection
        except NoRoom as problem:
            if self._give_up_backup():
                raise NoRoom(
                    problem.what, "The day's backup was given up to make room: try again."
                ) from problem
            raise

    @contextmanager
    def _written(self, *, backup: bool, now: datetime | None) -> Iterator[Connection]:
        committing = False
        with faults(self.name, lambda: committing), self.engine.connect() as connection:
            if backup:
                self.keep_today(now)
            with self._changing(connection):
                yield connection
                committing = True
            committing = False

    def _give_up_backup(self) -> bool:
        """Remove the day's backup where this program made it; return whether it did."""
        return False

    @abstractmethod
    def keep_today(self, now: datetime | None = None) -> None:
        """Make the practice day's backup unless there is one; done before a day's first change.

        The day is that of ``now``; None: of the latest that was told, or of the opening.
        """

    @abstractmethod
    def keep_before(self, what: Risk, now: datetime) -> None:
        """Back the store up before something is changed, goes for good or comes from outside."""

    def _looking(self, connection: Connection) -> Connection:
        return connection

    @abstractmethod
    def _changing(self, connection: Connection) -> AbstractContextManager[object]:
        """Begin a transaction that is alone in changing the store."""

    def close(self) -> None:
        """Close every connection."""
        self.engine.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        problem: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()


def raw_connection(connection: Connection) -> sqlite3.Connection:
    """Return the driver's own connection behind one."""
    found = connection.connection.driver_connection
    assert isinstance(found, sqlite3.Connection)  # it is there while connected
    return found


NOTHING_STORED = "nothing was stored"
# By the first two words of sqlite_errorname: what is wrong, and what to do.
_SAID_OF_FILES = {
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


def no_room(place: Path | str, kept: str = NOTHING_STORED) -> NoRoom:
    """Return the failure for a store on a full disk; ``kept`` says what that leaves."""
    what, remedy = _SAID_OF_FILES["SQLITE_FULL"]
    return NoRoom(what.format(place=place, kept=kept), remedy)


class Damaged(StoreFailure):
    """Pages of the store don't hold what they should."""


def damage(place: Path | str, found: str = "") -> Damaged:
    """Return the failure for a damaged store, naming the newest backup there is."""
    what = f"The store {place} is damaged" + (f" ({found})" if found else "")
    try:
        newest = newest_backup(Path(place))
    except BadInput as problem:
        return Damaged(what, problem.line())
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
    """Return what a player is told of a fault of the engine, None if it is no such fault.

    ``committing``: it came while the last step was done, so that a server may have done it.
    """
    raw = problem.orig if isinstance(problem, DBAPIError) else problem
    if "://" in str(place):
        return failure_of_server(raw, place, committing=committing)
    if shows_damage(raw):
        return damage(place)
    kind = fault_kind(raw)
    if kind not in _SAID_OF_FILES:
        return None
    what, remedy = _SAID_OF_FILES[kind]
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
    except (DBAPIError, sqlite3.Error, OSError, UnicodeDecodeError) as problem:
        said = of_system(problem, place) if isinstance(problem, OSError) else None
        said = said or failure(problem, place, committing=committing(), kept=kept)
        if said is None:
            raise
        raise said from problem


def of_system(problem: OSError, place: Path | str) -> StoreFailure:
    """Return what a player is told where the operating system refuses."""
    return StoreFailure(
        f"The store {place} can't be used: {problem.strerror or problem}{_of_what(problem, place)}",
        "Check that its drive is there and that you may write the file and its folder, "
        "or name another with --store.",
    )


def _of_what(problem: OSError, place: Path | str) -> str:
    named = problem.filename
    return "" if named is None or str(named) == str(place) else f" ({named})"


_RETRY = "Wait a moment, then try again."
_KEEPER = "Ask whoever runs the server."
# By SQLSTATE or its class (the first two characters), PostgreSQL 15 appendix A.
_SAID_OF_SERVERS = {
    "08": ("The connection to the store {place} broke; " + NOTHING_STORED, _RETRY),
    "28": (
        "The server of the store {place} doesn't let you in",
        "Check the user's name, and that the password is in PGPASSWORD or a password file.",
    ),
    "3D": ("There is no such database: {place}", "Check its name, or have it made: createdb."),
    "22P05": (
        "The database of the store {place} lacks a character of what was to be stored; "
        + NOTHING_STORED,
        "Leave it out, or move to a database in UTF-8 by 'drillbox store export' and import.",
    ),
    "22021": ("The store {place} holds text that can't be decoded; " + NOTHING_STORED, _KEEPER),
    "25006": ("The store {place} may only be read; " + NOTHING_STORED, _KEEPER),
    "40": ("Another program changed the store {place} meanwhile; " + NOTHING_STORED, "Try again."),
    "42501": ("You may not do that in the store {place}; " + NOTHING_STORED, _KEEPER),
    "53100": ("No room is left on the server of the store {place}; " + NOTHING_STORED, _KEEPER),
    "53": ("The server of the store {place} has too much to do; " + NOTHING_STORED, _RETRY),
    "55P03": ("Another program holds the store {place}; " + NOTHING_STORED, _RETRY),
    "57": ("The server of the store {place} is shutting down; " + NOTHING_STORED, _RETRY),
    "58": ("The server of the store {place} has a fault of its own; " + NOTHING_STORED, _KEEPER),
    "XX": ("The store {place} is damaged; " + NOTHING_STORED, _KEEPER),
}


def failure_of_server(
    problem: BaseException | None, place: Path | str, *, committing: bool = False
) -> StoreFailure | None:
    """Return what a player is told of a fault of PostgreSQL, None if it is no such fault.

    ``committing``: the server was asked to commit, and may have done so without an answer.
    """
    if type(problem).__module__.partition(".")[0] != "psycopg":
        return None
    state = getattr(problem, "sqlstate", None)
    if committing and (state is None or state[:2] in {"08", "57"}):
        return NotKnown(
            f"The connection to the store {place} broke before the server answered;"
            " it isn't known whether that was stored",
            "Wait a moment, then look or try again.",
        )
    if state is None:
        return _unreached(problem, place) if _connecting(problem) else None
    said = _SAID_OF_SERVERS.get(state) or _SAID_OF_SERVERS.get(state[:2])
    return StoreFailure(said[0].format(place=place), said[1]) if said else None


def _connecting(problem: BaseException | None) -> bool:
    return type(problem).__name__ in {"OperationalError", "ConnectionTimeout"}


def _unreached(problem: BaseException | None, place: Path | str) -> StoreFailure:
    text = " ".join(str(problem).split())
    if "password" in text or "authentication" in text:
        what, remedy = _SAID_OF_SERVERS["28"]
        return StoreFailure(what.format(place=place), remedy)
    return StoreFailure(
        f"The server of the store {place} can't be reached ({text[:160]}); nothing was stored",
        "Check that it runs and that the network is up, then try again.",
    )
