"""The summary on a million attempts and 12,000 cards, against the bare SQL that it needs.

Run: ``python -m tests.bench.bench_summary [PHRASES ATTEMPTS]`` (1000 and 1,000,000). Prints the
ratio of the whole summary to the SQL alone, each the median of several rounds in one process,
the parts that it is made of, and the peak memory of a process that makes one summary (Linux only).
"""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from datetime import timedelta
from pathlib import Path
from statistics import median

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the command does, before numpy comes in

from sqlalchemy import event

from drillbox.practice.preferences import preferences_from
from drillbox.practice.readiness import chances_of
from drillbox.practice.standing import Cell, cells, weakness_of
from drillbox.practice.summing import HALF_LIVES, summary
from drillbox.screen.look import Look
from drillbox.screen.summary import summary_screen
from drillbox.store.access import Store
from drillbox.store.card_rows import candidates
from drillbox.store.first_tries import evidence, open_cards, phrase_titles
from drillbox.store.opening import open_store
from tests.bench.big_store import NOW, TODAY, Size, build

ROUNDS = 7
PREFERENCES = preferences_from({"zone": "UTC"})

Statement = tuple[str, tuple[object, ...]]


def timed(work: Callable[[], object]) -> float:
    """Return the median seconds of several rounds, of processor time: others use this machine."""
    seconds = []
    for _ in range(ROUNDS):
        begun = time.process_time()
        work()
        seconds.append(time.process_time() - begun)
    return median(seconds)


def statements(store: Store) -> list[Statement]:
    """Return every query that a summary sends to SQLite, with its values."""
    found: list[Statement] = []

    def note(_c: object, _k: object, words: str, values: object, *_: object) -> None:
        found.append((words, tuple(values) if isinstance(values, list | tuple) else ()))

    event.listen(store.engine, "before_cursor_execute", note)
    summary(store, PREFERENCES, NOW)
    event.remove(store.engine, "before_cursor_execute", note)
    return [(words, values) for words, values in found if words.lstrip()[:4] in {"SELE", "WITH"}]


def bare(place: Path, wanted: list[Statement]) -> Callable[[], None]:
    """Return what sends the same queries by sqlite3 alone and fetches every row."""
    database = sqlite3.connect(place)

    def run() -> None:
        for words, values in wanted:
            database.execute(words, values).fetchall()

    return run


def whole_history(place: Path) -> Callable[[], None]:
    """Return a count of recalls by card over all attempts: what plain rates would need."""
    words = """
        SELECT card_id, count(*), sum(recall >= 3) FROM attempt WHERE undone_at IS NULL
        GROUP BY card_id
    """

    def run() -> None:
        with closing(sqlite3.connect(place)) as database:
            database.execute(words).fetchall()

    return run


def parts(store: Store) -> list[tuple[str, float]]:
    """Return how long the parts of a summary take."""
    half_life = PREFERENCES.half_life
    since = TODAY - timedelta(days=round(HALF_LIVES * half_life))
    rows, _ = evidence(store, TODAY, since, half_life)
    cards, titles = open_cards(store), phrase_titles(store)

    def now() -> list[Cell]:
        pool = candidates(store)
        chances = chances_of(store, PREFERENCES.rules, TODAY, pool)
        at_goal = {each.card_id: chances.at_goal(each) for each in pool if each.begun}
        return cells(cards, titles, at_goal, PREFERENCES.rules, PREFERENCES.shown_key)

    by_id = {cell.card_id: cell for cell in now()}
    found = summary(store, PREFERENCES, NOW)
    return [
        (f"evidence, {len(rows)} rows", timed(lambda: evidence(store, TODAY, since, half_life))),
        (f"open cards, {len(cards)}", timed(lambda: open_cards(store))),
        ("chances now, with the fit", timed(now)),
        ("the estimate", timed(lambda: weakness_of(rows, by_id, half_life))),
        (
            "the screen",
            timed(lambda: summary_screen(found, Look(), PREFERENCES.spelling)),
        ),
    ]


def peak_memory(place: Path) -> float:
    """Return the peak megabytes of a process that runs ``drillbox summary`` once.

    By Linux's own count of the process: what getrusage tells includes the parent's.
    """
    words = (
        "import re, sys; from drillbox.cli import run; code = run(sys.argv[1:]);"
        "status = open('/proc/self/status').read();"
        "print(int(re.search(r'VmHWM:\\s+(\\d+)', status)[1]) / 1024, file=sys.stderr)"
    )
    ran = subprocess.run(
        [sys.executable, "-c", words, "--store", str(place), "summary"],
        env=os.environ | {"DRILLBOX_NOW": NOW.isoformat()},
        check=True, capture_output=True, text=True,
    )  # fmt: skip
    return float(ran.stderr.split()[-1])


def main(size: Size) -> None:
    """Print the figures."""
    with tempfile.TemporaryDirectory() as folder:
        place = build(Path(folder) / "big.sqlite3", size)
        with open_store(place, now=NOW, backups=False) as store:
            alone = timed(bare(place, statements(store)))
            total = timed(lambda: summary(store, PREFERENCES, NOW))
            print(f"{size.attempts} attempts, {size.phrases * 12} cards, median of {ROUNDS}")
            print(f"summary {total * 1000:.0f} ms, its SQL alone {alone * 1000:.0f} ms,"
                  f" ratio {total / alone:.2f}")  # fmt: skip
            history = timed(whole_history(place))
            print(f"counting recalls over all attempts {history * 1000:.0f} ms,"
                  f" ratio {total / history:.2f}")  # fmt: skip
            for name, seconds in parts(store):
                print(f"  {name}: {seconds * 1000:.0f} ms")
        print(f"peak memory of 'drillbox summary': {peak_memory(place):.0f} MB")


if __name__ == "__main__":
    main(Size(*map(int, sys.argv[1:3])) if len(sys.argv) > 2 else Size(1000, 1_000_000))
