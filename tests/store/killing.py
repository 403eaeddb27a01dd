"""Kill a program that is rating, at random moments, and look at what it left behind.

Run by itself, so that what it forks is small and has no threads: ``killing.py STORE KILLS SEED``
prints one line of figures, or the fault that it found, and exits with 1 in that case.
"""

from __future__ import annotations

import os
import random
import select
import signal
import sqlite3
import sys
import time
from contextlib import closing
from datetime import timedelta
from itertools import count
from pathlib import Path

from drillbox.memory.cards import replay
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules
from drillbox.store.card_rows import cards_of
from drillbox.store.checks import check_store
from drillbox.store.log import attempted_of
from drillbox.store.opening import open_store
from drillbox.store.reckoning import undo_attempt
from tests.store.making import NOW, add, go, session
from tests.store.reading import attempts_of


def rate_for_ever(place: Path, seed: int, acknowledge: int) -> None:
    """Rate, undo every other one, and say on a pipe what was done as soon as it is stored."""
    dice = random.Random(seed)
    with open_store(place, now=NOW, backups=False) as store:
        at = session(store)
        for number in count():
            card_id = dice.randrange(1, 25)
            moment = NOW + timedelta(days=seed, seconds=number)
            (made,) = go(store, card_id, at, (dice.choice(list(Recall)),), at=moment,
                         day=moment.date())  # fmt: skip
            os.write(acknowledge, f"rated {made.uid}\n".encode())
            if dice.random() < 0.5:
                undo_attempt(store, made.uid, moment)
                os.write(acknowledge, f"undone {made.uid}\n".encode())


def kill_one(place: Path, seed: int) -> list[str]:
    """Let a child rate, kill it after a random time from its first rating; return its words."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        try:
            rate_for_ever(place, seed, writing)
        finally:
            os._exit(1)
    os.close(writing)
    # Some die while they are still opening the store, most between two ratings or within one.
    select.select([reading], [], [], random.Random(seed).choice((0.002, 1.0, 1.0, 1.0)))
    time.sleep(random.Random(-seed).uniform(0, 0.015))
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    with os.fdopen(reading, "rb") as pipe:
        return pipe.read().decode().splitlines()


def fault_after(place: Path, words: list[str], known: dict[str, bool]) -> str | None:
    """Return what isn't as it should be: a page, a reference, a rating; None if all is.

    ``known`` holds every acknowledged attempt, and whether it was undone; it is brought up to
    date.
    """
    for word, uid in (line.split() for line in words):
        known[uid] = word == "undone"
    with closing(sqlite3.connect(place)) as raw:
        whole = raw.execute("PRAGMA integrity_check").fetchone()[0]
        loose = raw.execute("PRAGMA foreign_key_check").fetchall()
        rows = raw.execute("SELECT uid, undone_at IS NOT NULL FROM attempt").fetchall()
    if whole != "ok" or loose:
        return f"integrity: {whole}, {len(loose)} references without their row"
    fault = unlike_words(known, rows)
    known.update({uid: bool(undone) for uid, undone in rows})
    return fault


def unlike_words(known: dict[str, bool], rows: list[tuple[str, int]]) -> str | None:
    """Return which acknowledged rating or undo isn't there once, or what nobody did, or None.

    What was under way when the child died may be there or not: at most one rating more, or
    one undo more.
    """
    stored = dict(rows)
    missing = known.keys() - stored.keys()
    revived = [uid for uid, undone in known.items() if undone and not stored.get(uid, 1)]
    more = [uid for uid, undone in rows if uid not in known or bool(undone) != known[uid]]
    if missing or revived or len(more) > 1 or len(stored) != len(rows):
        return (
            f"{len(missing)} ratings and {len(revived)} undos are lost, {len(more)} came from"
            f" nowhere, {len(rows) - len(stored)} are there twice"
        )
    return None


def unlike_replay(place: Path) -> str | None:
    """Return which card isn't what its log gives, or None."""
    with open_store(place, now=NOW, backups=False) as store:
        for phrase_id in (1, 2):
            for each in cards_of(store, phrase_id):
                log = [attempted_of(attempt) for attempt in attempts_of(store, each.id)]
                if replay(each.goal, log, Rules()) != each.state:
                    return f"card {each.id} isn't what its log gives"
        found = check_store(store)
    return found[0].text if found else None


def run(place: Path, kills: int, seed: int) -> int:
    """Kill so many children; print figures or the first fault; return the exit code."""
    with open_store(place, now=NOW, backups=False) as store:
        add(store, "Late kettle", "Blue door")
    known: dict[str, bool] = {}
    silent = 0
    for number in range(kills):
        words = kill_one(place, seed + number)
        silent += not words
        fault = fault_after(place, words, known) or (
            unlike_replay(place) if number % 10 == 9 or number == kills - 1 else None
        )
        if fault:
            print(f"after {number + 1} kills: {fault}")
            return 1
    print(f"{kills} kills, {len(known)} ratings, {sum(known.values())} undone, {silent} silent")
    return 0


if __name__ == "__main__":
    sys.exit(run(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])))
