"""Kill a restore at its system calls, and look at what it left behind.

Run by itself: ``killing_restore.py STORE STEP FIRST`` kills at every STEP-th call from the FIRST
and prints a line of figures, or the fault that it found, and exits with 1 in that case. With STEP
0 it looks at each call, while the restore stands still, at a copy of what a kill would leave there:
the files as they are, without a lock. Where no file has changed, the last look holds.
"""

from __future__ import annotations

import importlib
import shutil
import sys
from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path

from drillbox.errors import StoreFailure
from drillbox.store.backups import back_up
from drillbox.store.checks import check_store
from drillbox.store.files import beside
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import all_titles
from drillbox.store.restoring import restore_backup
from tests.store.making import NOW, add, go, session
from tests.store.stepping import entering, kill_at

OLD, NEW = ["Late kettle", "Blue door", "Stone step"], ["Late kettle"]
CASES = ("wal", "page", "unreadable", "gone")
Looks = Iterator[tuple[int, str | None]]
"""The number of a system call, and which store is there after a kill at it, None for neither."""


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
        found = all_titles(store)
        faults = check_store(store)
        if faults and found == NEW:
            raise AssertionError(faults[0].text)
    return found


def kills(place: Path, case: str, work: Callable[[], object], step: int, first: int) -> Looks:
    """Kill at every so many calls, and yield which store is there after each."""
    for number in count(first, step):
        lay(place, case)
        killed = kill_at(number, work)
        if not killed:
            return
        yield number, what_is(place, case)


def looks(place: Path, case: str, work: Callable[[], object]) -> Looks:
    """Yield which store a kill would leave, at each call before which a file changed."""
    lay(place, case)
    left = place.parent / "left"
    last: dict[str, bytes] = {}
    for number, _ in enumerate(entering(work)):
        files = {each.name: each.read_bytes() for each in place.parent.glob(f"*{place.name}*")}
        if files != last:
            shutil.rmtree(left, ignore_errors=True)
            left.mkdir()
            for name, content in files.items():
                (left / name).write_bytes(content)
            yield number, what_is(left / place.name, case)
        last = files


def run(place: Path, step: int, first: int) -> int:
    """Look at every so many calls in every case; print figures or the first fault."""
    importlib.import_module("drillbox.store.tables")  # no child is killed while it loads them
    backup = prepare(place)
    seen = {"old": 0, "new": 0}

    def work() -> None:
        restore_backup(place, backup, NOW)

    for case in CASES:
        found = kills(place, case, work, step, first) if step else looks(place, case, work)
        for number, which in found:
            if which is None:
                print(f"{case}, killed at call {number}: neither store is there")
                return 1
            seen[which] += 1
        if what_is(place, case) != "new" or list(place.parent.glob("*.part*")):
            print(f"{case}, not killed: not the restored store alone")
            return 1
    print(f"{sum(seen.values())} kills, {seen['old']} old, {seen['new']} new")
    return 0


if __name__ == "__main__":
    sys.exit(run(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])))
