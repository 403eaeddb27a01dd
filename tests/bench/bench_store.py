"""Figures of the store: ``python -m tests.bench.bench_store [FOLDER]``.

One rating with its commit against bare sqlite3 doing the same statements under the same
pragmas; opening, picking and summing up on a big store; bytes an attempt takes; a backup.
"""

from __future__ import annotations

import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from datetime import timedelta
from pathlib import Path
from statistics import median

from drillbox.memory.cards import Attempted, rate
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules
from drillbox.store.backups import back_up
from drillbox.store.card_rows import candidates, card, due_counts, record_attempt
from drillbox.store.checks import check_store
from drillbox.store.first_tries import evidence
from drillbox.store.log import recent_attempts
from drillbox.store.opening import open_store
from drillbox.store.values import NewAttempt
from tests.bench.big_store import NOW, TODAY, Size, build

RATINGS = 300
BARE = """
BEGIN IMMEDIATE;
SELECT attempts, opened_day FROM card WHERE id = ?;
INSERT INTO attempt (uid, card_id, session_id, at, zone, day, recall, tempo, hint, seconds, loops,
    in_round, first_of_day, due_after) VALUES (?, ?, 1, '2026-03-01 17:00:00.000000',
    'Europe/Lisbon', '2026-03-01', 3, 100, 0, 30.0, 2, 0, 1, '2026-03-04');
UPDATE card SET stability = 3.0, difficulty = 5.0, last_day = '2026-03-01', tempo = 100,
    clean_run = 0, attempts = attempts + 1, due_day = '2026-03-04' WHERE id = ?;
COMMIT
"""


def milliseconds(work: Callable[[], object], times: int) -> float:
    """Return the median time of some work."""
    spent = []
    for _ in range(times):
        begun = time.perf_counter()
        work()
        spent.append(time.perf_counter() - begun)
    return 1000 * median(spent)


def rating(place: Path) -> float:
    """Return the time of storing one rating, commit included."""
    with open_store(place, now=NOW, backups=False) as store:
        spent = []
        for number in range(RATINGS):
            state = card(store, 1 + number % 12).state
            due = TODAY + timedelta(days=3)
            attempted = Attempted(TODAY, Recall.CLEAN, state.tempo.tempo, 0, due)
            after = rate(state, attempted, 160, Rules())
            at = NOW + timedelta(seconds=number)
            new = NewAttempt(1 + number % 12, 1, at, "Europe/Lisbon", attempted, state.attempts)
            begun = time.perf_counter()
            record_attempt(store, new, after)
            spent.append(time.perf_counter() - begun)
    return 1000 * median(spent)


def bare_rating(place: Path) -> float:
    """Return the time of the same in sqlite3 alone."""
    begin, read, insert, update, commit = BARE.split(";")
    with closing(sqlite3.connect(place, isolation_level=None)) as raw:
        for pragma in ("busy_timeout = 15000", "foreign_keys = ON", "synchronous = FULL"):
            raw.execute(f"PRAGMA {pragma}")
        numbers = iter(range(RATINGS))

        def one() -> None:
            number = next(numbers)
            raw.execute(begin)
            raw.execute(read, (1 + number % 12,)).fetchone()
            raw.execute(insert, (f"bare{number:028}", 1 + number % 12))
            raw.execute(update, (1 + number % 12,))
            raw.execute(commit)

        return milliseconds(one, RATINGS)


def main(folder: Path) -> None:
    """Print one figure a line."""
    place = build(folder / "big.sqlite3", Size(phrases=100, attempts=100_000))
    empty = build(folder / "none.sqlite3", Size(phrases=100, attempts=0))
    per = (place.stat().st_size - empty.stat().st_size) / 2**20
    print(
        f"100,000 attempts take {per:.1f} MB beside {empty.stat().st_size / 2**20:.1f} MB of cards"
    )
    bare, ours = bare_rating(place), rating(place)
    print(
        f"one rating with commit {ours:.2f} ms, bare sqlite3 {bare:.2f} ms, ratio {ours / bare:.2f}"
    )

    def opening() -> None:
        open_store(place, now=NOW, backups=False).close()

    print(f"open and close {milliseconds(opening, 50):.2f} ms")
    with open_store(place, now=NOW, backups=False) as store:
        jobs: dict[str, Callable[[], object]] = {
            "candidates of 1,200 cards": lambda: candidates(store),
            "one card with its chart": lambda: card(store, 5),
            "due days": lambda: due_counts(store, TODAY),
            "latest 200 attempts": lambda: recent_attempts(store, 200),
            "evidence of 90 days": lambda: evidence(store, TODAY, TODAY - timedelta(days=90), 30.0),
            "evidence of ten years": lambda: evidence(store, TODAY, TODAY.replace(2016), 30.0),
        }
        for name, job in jobs.items():
            print(f"{name} {milliseconds(job, 20):.2f} ms")
        begun = time.perf_counter()
        back_up(store.engine, place, NOW, "asked")
        print(f"a verified backup {1000 * (time.perf_counter() - begun):.0f} ms")
        begun = time.perf_counter()
        check_store(store)
        print(f"a check with replay of all attempts {time.perf_counter() - begun:.1f} s")


if __name__ == "__main__":
    if len(sys.argv) > 1:
        main(Path(sys.argv[1]))
    else:
        with tempfile.TemporaryDirectory() as temporary:
            main(Path(temporary))
