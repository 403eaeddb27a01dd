"""Kill ``drillbox drill`` through a pipe, over and over: ``killing_drill.py STORE KILLS SEED``.

What is forked has played a little on another store, so that every module is loaded and a start
costs a seventh. Prints one line of figures, or the fault that it found, and exits with 1 in that
case.
"""

from __future__ import annotations

import contextlib
import io
import os
import random
import re
import select
import signal
import sqlite3
import sys
import time
from datetime import timedelta
from pathlib import Path

from drillbox.cli import run
from drillbox.store.checks import check_store
from drillbox.store.opening import open_store
from tests.store.making import NOW, add

RATED = re.compile(r"^.+ in \S+: (lost|rough|clean|fluent)\.", re.M)


def drill(place: Path, seed: int, keys: int, screen: int) -> int:
    """Run the command with these pipes for its keys and its screen."""
    os.dup2(keys, 0)
    os.dup2(screen, 1)
    sys.stdin, sys.stdout = open(0), open(1, "w")  # noqa: SIM115 - pipes of this process
    os.environ["DRILLBOX_NOW"] = (NOW + timedelta(days=seed)).isoformat()
    return run(["--store", str(place), "drill", "--minutes", "240"])


def warm_up(place: Path) -> None:
    """Load what a session loads, by playing one on a store of its own from start to end."""
    with open_store(place, now=NOW, backups=False) as store:
        add(store, "One", "Two")
    before, sys.stdin = sys.stdin, io.StringIO("clean\nlost\nundo\n" * 30)
    os.environ["DRILLBOX_NOW"] = NOW.isoformat()
    with contextlib.redirect_stdout(io.StringIO()):
        run(["--store", str(place), "drill", "--minutes", "240"])
    sys.stdin = before


def kill_one(place: Path, seed: int) -> str:
    """Let a child drill by random keys and kill it at a random moment; return its screen."""
    dice = random.Random(seed)
    keys, typing = os.pipe()
    seeing, screen = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os._exit(drill(place, seed, keys, screen))
        finally:
            os._exit(1)
    os.close(keys)
    os.close(screen)
    os.write(typing, "".join(f"{dice.choice('lrccffu')}\n" for _ in range(400)).encode())
    seen, least = b"", dice.randrange(6)  # so that a busy machine plays as many as a quiet one
    until = time.monotonic() + 20
    while len(RATED.findall(seen.decode(errors="ignore"))) < least and time.monotonic() < until:
        if select.select([seeing], [], [], 0.1)[0]:
            seen += os.read(seeing, 1 << 16)
    time.sleep(dice.uniform(0, 0.03))
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    os.close(typing)
    with os.fdopen(seeing, "rb") as rest:
        return (seen + rest.read()).decode()


def counts(place: Path) -> tuple[int, int, str]:
    """Return how many attempts there are, how many undone, and whether the file is whole."""
    with contextlib.closing(sqlite3.connect(place)) as raw:
        whole = raw.execute("PRAGMA integrity_check").fetchone()[0]
        loose = len(raw.execute("PRAGMA foreign_key_check").fetchall())
        total, undone = raw.execute("SELECT count(*), count(undone_at) FROM attempt").fetchone()
    return total, undone, whole if not loose else f"{loose} references without their row"


def main(place: Path, kills: int, seed: int) -> int:
    """Kill so many sessions; print figures or the first fault; return the exit code."""
    with open_store(place, now=NOW, backups=False) as store:
        add(store, *(f"Line {number}" for number in range(6)))
    os.environ["TZ"] = "UTC"
    silence = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silence, 2)  # each session is told that the one before never ended
    warm_up(place.with_name("warm.sqlite3"))
    kill_one(place, seed)
    before, undone_before, _ = counts(place)
    for number in range(kills):
        screen = kill_one(place, seed + number + 1)
        rated, undone = len(RATED.findall(screen)), screen.count("Rating undone")
        now, undone_now, whole = counts(place)
        told = f"{rated} ratings and {undone} undos told, {now - before} and "
        told += f"{undone_now - undone_before} stored"
        if (
            whole != "ok"
            or now - before - rated not in {0, 1}
            or (undone_now - undone_before - undone not in {0, 1})
        ):
            print(f"after {number + 1} kills: {whole}, {told}")
            return 1
        before, undone_before = now, undone_now
        if number % 20 == 19 or number == kills - 1:
            with open_store(place, now=NOW, backups=False) as store:
                if found := check_store(store):
                    print(f"after {number + 1} kills: {found[0].text}")
                    return 1
    print(f"{kills} kills, {before} ratings, {undone_before} undone")
    return 0


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])))
