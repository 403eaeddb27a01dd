"""Several programs on a store: ``at_once.py STORE CARDS SECONDS rate|sum ...``.

A rater goes through the cards as fast as it can, computing anew where another was faster,
and prints how many ratings it stored and how often it had to compute anew.
"""

from __future__ import annotations

import random
import subprocess
import sys
import time
from datetime import timedelta
from multiprocessing import get_context
from pathlib import Path

from drillbox.memory.cards import CardState, replay
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules
from drillbox.store.access import Store
from drillbox.store.card_rows import candidates, card, due_counts
from drillbox.store.log import attempted_of
from drillbox.store.opening import open_store
from drillbox.store.sessions import begin_session, end_session, open_sessions
from drillbox.store.sql import query
from drillbox.store.values import AttemptRecord, CardMoved
from tests.store.making import DAY, NOW, ZONE, go

ROOT = Path(__file__).parents[2]


def rate(store: Store, until: float, seed: int, cards: int) -> str:
    """Rate the first cards over and over; the fewer they are, the more the raters meet.

    On a busy machine the time may be over before the first rating: that is waited for, as a
    player would.
    """
    dice = random.Random(seed)
    others = len(open_sessions(store, NOW))
    at = begin_session(store, minutes=20, zone=ZONE, kind="drill", now=NOW).id
    stored = moved = 0
    while time.monotonic() < until or not stored:
        moment = NOW + timedelta(seconds=stored)
        due_counts(store, DAY)
        try:
            go(store, dice.randrange(1, cards + 1), at, (dice.choice(list(Recall)),), at=moment)
            stored += 1
        except CardMoved:
            moved += 1
        card(store, 1)
    end_session(store, at, NOW)
    return f"{stored} {moved} {others}"


def ratings_of(log: list[AttemptRecord], rules: Rules) -> CardState:
    """Return the state that a log leads to, in the order in which it was stored."""
    ordered = sorted(log, key=lambda each: each.id)
    return replay(132, [attempted_of(each) for each in ordered], rules)


def sum_up(store: Store, until: float) -> str:
    """Sum up over and over; what is read must agree with itself each time."""
    times = 0
    while time.monotonic() < until:
        with store.read() as connection:  # both queries see the same moment
            cards = connection.execute(query("SELECT sum(attempts) FROM card")).scalar_one()
            log = connection.execute(query("SELECT count(*) FROM attempt")).scalar_one()
        assert cards == log
        candidates(store)
        times += 1
    return str(times)


def one(job: str, place: str, seconds: float, seed: int, cards: int) -> list[int]:
    """Run one job in a process of its own and return the numbers that it tells."""
    with open_store(place, now=NOW) as opened:
        end = time.monotonic() + seconds
        said = rate(opened, end, seed, cards) if job == "rate" else sum_up(opened, end)
    return [int(number) for number in said.split()]


def at_once(place: str | Path, cards: int, seconds: float, *jobs: str) -> list[list[int]]:
    """Run one process a job at the same time and return the numbers that each told.

    A program of its own loads what each needs once, and forks them.
    """
    ran = subprocess.run(
        [sys.executable, "-m", __name__, str(place), str(cards), str(seconds), *jobs],
        capture_output=True, text=True, cwd=ROOT, check=False,
    )  # fmt: skip
    assert ran.stderr == ""
    return [[int(number) for number in line.split()] for line in ran.stdout.splitlines()]


if __name__ == "__main__":
    place, cards, seconds, *jobs = sys.argv[1:]
    tasks = [(job, place, float(seconds), seed, int(cards)) for seed, job in enumerate(jobs)]
    open_store(place, now=NOW).close()  # what it loads at last, twenty needn't each
    with get_context("fork").Pool(len(jobs)) as pool:
        for told in pool.starmap(one, tasks, chunksize=1):
            print(*told)
