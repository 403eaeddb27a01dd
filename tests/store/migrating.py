"""Migrate stores and be killed at each's statements: ``migrating.py MIGRATIONS HEAD STEP OLD ...``.

For each STEPth statement a forked child works on a copy of OLD (an empty file stands for a new
store) and is killed just before it. Prints how many statements there were with each, or the fault.
"""

from __future__ import annotations

import os
import shutil
import signal
import sqlite3
import sys
from contextlib import closing
from pathlib import Path
from typing import Any

from sqlalchemy import Engine, event

from drillbox.errors import StoreFailure
from drillbox.store import opening, upgrading
from drillbox.store.opening import open_store
from tests.store.making import NOW


def use(migrations: Path, head: str) -> None:
    """Take another folder of migrations for the shipped one."""
    upgrading.shipped = lambda _: migrations  # type: ignore[attr-defined] # meant
    opening.HEAD = head


def content(place: Path) -> list[str]:
    """Return the whole store as SQL."""
    with closing(sqlite3.connect(place)) as raw:
        return list(raw.iterdump())


def statements(on: Any) -> Any:
    """Count the statements that change something, on every engine, and call ``on`` with each."""
    seen = {"count": 0}

    def before(_connection: Any, _cursor: Any, words: str, *_: Any) -> None:
        if not words.lstrip().upper().startswith(("SELECT", "PRAGMA", "BEGIN")):
            seen["count"] += 1
            on(seen["count"])

    event.listen(Engine, "before_cursor_execute", before)
    return seen


def die_at(number: int) -> Any:
    """Return what kills this process at the statement of that number."""

    def on(count: int) -> None:
        if count == number:
            os.kill(os.getpid(), signal.SIGKILL)

    return on


def survives(old: Path, number: int, head: str) -> bool | str:
    """Kill at one statement; return whether there was one, or the fault that was found."""
    place = Path(shutil.copyfile(old, old.with_name("copy.sqlite3")))
    for beside in old.parent.glob("copy.sqlite3-*"):
        shutil.rmtree(beside) if beside.is_dir() else beside.unlink()
    before = content(place)
    child = os.fork()
    if child == 0:
        statements(die_at(number))
        open_store(place, now=NOW, backups=False).close()
        os._exit(0)
    _, status = os.waitpid(child, 0)
    if not os.WIFSIGNALED(status):
        return False
    if content(place) != before:
        return f"killed at statement {number}, the store was left changed"
    try:
        open_store(place, now=NOW, backups=False).close()
    except StoreFailure as problem:
        return f"killed at statement {number}, the retry failed: {problem.line()}"
    if f"'{head}'" not in "\n".join(content(place)):
        return f"killed at statement {number}, the retry didn't migrate"
    return True


def main() -> int:
    """Go through the statements of each store, each STEPth; return the exit code."""
    migrations, head, step, *stores = sys.argv[1:]
    use(Path(migrations), head)
    for old in stores:
        number = 1
        while (found := survives(Path(old), number, head)) is True:
            number += int(step)
        print(found or number - 1)
        if found:
            return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
