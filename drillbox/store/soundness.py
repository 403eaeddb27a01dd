"""What a SQLite file tells of itself: what no store holds, a missing end, and damage."""

from __future__ import annotations

import sqlite3
from pathlib import Path

# What a store never holds: a view may never end, a trigger changes what nobody asked for.
_STRANGE = """
SELECT type, name FROM sqlite_master
WHERE type NOT IN ('table', 'index') OR sql LIKE 'CREATE VIRTUAL%' LIMIT 1
"""


def strange(raw: sqlite3.Connection) -> str | None:
    """Return what a file holds that no store does, such as a trigger; None if there is none."""
    found = raw.execute(_STRANGE).fetchone()
    if found is None:
        return None
    kind, name = found
    return f"it holds the {'virtual table' if kind == 'table' else kind} {str(name)[:80]!r}"


def cut_short(raw: sqlite3.Connection, path: Path) -> bool:
    """Return whether the last page of the file that is connected isn't whole.

    SQLite itself finds missing pages by the count in the header, but takes a part for a page.
    The file isn't opened for it: to close it would release the connection's own locks (POSIX),
    and the next program that closes the store would take away the WAL that is written here.
    """
    page = int(raw.execute("PRAGMA page_size").fetchone()[0])
    return path.stat().st_size % page != 0


_DAMAGED = frozenset({"SQLITE_CORRUPT", "SQLITE_NOTADB"})


def shows_damage(problem: BaseException | None) -> bool:
    """Return whether a fault of SQLite's says that a file holds what no program wrote there.

    Bytes that are no text have no error code: in a name of the schema they spoil the words of
    the fault itself, in a column they are told by the driver.
    """
    if isinstance(problem, UnicodeDecodeError):
        return True
    return fault_kind(problem) in _DAMAGED or str(problem).startswith("Could not decode to UTF-8")


def fault_kind(problem: BaseException | None) -> str:
    """Return the first two words of SQLite's name for a fault, "" for none of its."""
    name = getattr(problem, "sqlite_errorname", "") or ""
    return "_".join(name.split("_")[:2])
