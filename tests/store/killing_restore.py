"""Kill a restore at its system calls, and look at what it left behind.

Run by itself: ``killing_restore.py STORE STEP FIRST`` kills at every STEP-th call from the FIRST
and prints a line of figures, or the fault that it found, and exits with 1 in that case.
"""

from __future__ import annotations

import importlib
import shutil
import sys
from itertools import count
from pathlib import Path

from drillbox.errors import StoreFailure
from drillbox.memory.rules import Rules
from drillbox.store.backups import back_up
from drillbox.store.checks import check_store
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import titles
from drillbox.store.places import beside
from drillbox.store.restoring import restore_backup
from tests.store.making import NOW, add, go, session
from tests.store.stepping import kill_at

OLD, NEW = ["Late kettle", "Blue door", "Stone step"], ["Late kettle"]
CASES = ("wal", "page", "unreadable", "gone")


def prepare(place: Path) -> Path:
    """Make a store as a kill leaves it, part of it only in the WAL; return its backup."""
    source = place.with_name("source.sqlite3")
    with open_store(source, now=NOW) as store:
        add(store, "Late kettle")
        backup = back_up(store.engine, source, NOW, "asked").path
        add(store, *OLD[1:])
        go(store, 1, session(store))
        for end in ("", "-wal"):
            shutil.copyfile(beside(source, end), place.with_name(f"kept{end}"))
    return backup


def lay(place: Path, case: str) -> None:
    """Put the store there once more, and nothing else."""
    for each in place.parent.glob(f"{place.name}*"):
        each.unlink()
    if case == "gone":
        return
    for end in ("", "-wal"):
        shutil.copyfile(place.with_name(f"kept{end}"), beside(place, end))
    if case == "page":
        with place.open("r+b") as file:
            file.seek(-500, 2)
            file.write(b"x" * 500)
    elif case == "unreadable":
        beside(place, "-wal").unlink()
        place.write_bytes(b"x" * 16384)


def what_is(place: Path, case: str) -> str | None:
    """Return whether the old store is there or the new one, or None for neither.

    The new one must have the old one beside it, all of it.
    """
    if case == "gone" and not place.exists():
        return "old"
    try:
        found = look(place)
    except StoreFailure:
        return "old" if case == "unreadable" and place.read_bytes()[:1] == b"x" else None
    if found == OLD:
        return "old" if case in {"wal", "page"} else None
    asides = list(place.parent.glob("*.aside-*Z"))
    if found != NEW or (case != "gone") != bool(asides):
        return None
    if case == "unreadable":
        return "new" if asides[0].read_bytes() == b"x" * 16384 else None
    return "new" if case == "gone" or look(asides[0]) == OLD else None


def look(place: Path) -> list[str]:
    """Return the titles in a store that is whole, and its attempt with the old one."""
    with open_store(place, now=NOW, backups=False) as store:
        found = titles(store)
        faults = check_store(store, Rules())
        if faults and found == NEW:
            raise AssertionError(faults[0].text)
    return found


def run(place: Path, step: int, first: int) -> int:
    """Kill at every so many calls in every case; print figures or the first fault."""
    importlib.import_module("drillbox.store.tables")  # no child is killed while it loads them
    backup = prepare(place)
    seen = {"old": 0, "new": 0}
    for case in CASES:
        for number in count(first, step):
            lay(place, case)
            killed = kill_at(number, lambda: restore_backup(place, backup, NOW))
            found = what_is(place, case)
            if found is None or (not killed and found != "new"):
                print(f"{case}, killed at call {number}: neither store is there")
                return 1
            if not killed:
                break
            seen[found] += 1
    print(f"{sum(seen.values())} kills, {seen['old']} old, {seen['new']} new")
    return 0


if __name__ == "__main__":
    sys.exit(run(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])))
