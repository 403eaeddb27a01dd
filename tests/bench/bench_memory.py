"""How fast the next card is chosen, and how fast a log is replayed.

python -m tests.bench.bench_memory
python -m tests.bench.bench_memory --store  # beside the SQL that reads the same cards
"""

from __future__ import annotations

import gc
import resource
import sqlite3
import sys
import tempfile
from collections.abc import Callable
from contextlib import closing
from datetime import date, timedelta
from pathlib import Path
from random import Random
from statistics import median
from time import perf_counter, process_time

from drillbox.memory.candidates import Candidate, Pace, Sitting
from drillbox.memory.cards import Attempted, replay
from drillbox.memory.chances import Chances
from drillbox.memory.choose import next_go
from drillbox.memory.learning import LATEST, Seen, learn
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules
from drillbox.store.card_rows import candidates, candidates_sql
from drillbox.store.log import latest_firsts
from drillbox.store.opening import open_store
from tests.bench.big_store import NOW, TODAY, Size, build

DAY = date(2026, 6, 1)
CARDS, ATTEMPTS, A_CARD = 12_000, 1_000_000, 100


def pool(dice: Random) -> list[Candidate]:
    """Return 1,000 phrases in twelve open keys, half of them due."""
    today = DAY.toordinal()
    return [
        Candidate(each, each // 12, each % 12, dice.choice([8.0, 16.0, 32.0]), 160,
                  dice.randrange(96, 160), dice.uniform(0.3, 90), 5.0,
                  today - dice.randrange(1, 7), today + dice.randrange(-30, 31),
                  dice.randrange(1, 12), dice.randrange(4), dice.randrange(3), 2, False,
                  str(each % 12))
        for each in range(CARDS)
    ]  # fmt: skip


def milliseconds(work: Callable[[], object], times: int = 15) -> float:
    """Return the median time of a call that a core was busy with it."""
    taken = []
    for _ in range(times):
        start = process_time()
        work()
        taken.append(process_time() - start)
    return median(taken) * 1000


def stores() -> None:
    """Print what choosing costs on stores, beside the bare SQL that reads the same cards."""
    for attempts in (10_000, 1_000_000):
        with tempfile.TemporaryDirectory() as folder:
            choosing(build(Path(folder) / "big.db", Size(CARDS // 12, attempts)), attempts)


def choosing(place: Path, attempts: int) -> None:
    """Print the figures of one store."""
    with closing(sqlite3.connect(place)) as database:
        bare = milliseconds(lambda: database.execute(candidates_sql(sqlite=True)).fetchall())
    day = TODAY.toordinal()
    with open_store(place, now=NOW, backups=False) as store:
        cards = [
            each._replace(last_day=day - 1 - each.card_id % 6) if each.begun else each
            for each in candidates(store)
        ]  # as one that waited for a week would come before any is ranked
        learned = learn(latest_firsts(store, LATEST), cards)
        rules, pace, sitting = Rules(), Pace(), Sitting(20)
        read = milliseconds(lambda: candidates(store))
        first = milliseconds(
            lambda: next_go(cards, sitting, rules, pace, Chances(learned, cards, day, rules))
        )
        chances = Chances(learned, cards, day, rules)
        choose = milliseconds(lambda: next_go(cards, sitting, rules, pace, chances))
        history = milliseconds(lambda: learn(latest_firsts(store, LATEST), cards))
    print(
        f"{attempts} attempts, {len(cards)} candidates: bare SQL {bare:.1f} ms, read {read:.1f} ms,"
        f" choose {choose:.1f} ms; once a session, learn {history:.1f} ms and choose first"
        f" {first:.1f} ms"
    )


def main() -> None:
    """Print the figures."""
    gc.set_threshold(200_000, 20, 20)  # as the command does
    if "--store" in sys.argv:
        stores()
        return
    dice, rules, pace, sitting = Random(1), Rules(), Pace(), Sitting(20)
    cards = pool(dice)
    seen = [Seen(dice.randrange(CARDS), DAY.toordinal() - 60 + each // 25, dice.random() < 0.8,
                 dice.randrange(96, 160), 120) for each in range(LATEST)]  # fmt: skip
    print(f"learn from {LATEST} attempts: {milliseconds(lambda: learn(seen, cards)):.1f} ms")
    start, learned = perf_counter(), learn(seen, cards)
    chances = Chances(learned, cards, DAY.toordinal(), rules)
    next_go(cards, sitting, rules, pace, chances)
    print(f"first card of a session among {CARDS}: {(perf_counter() - start) * 1000:.1f} ms")
    later = milliseconds(lambda: next_go(cards, sitting, rules, pace, chances))
    print(f"each later card: {later:.1f} ms")
    log = [
        Attempted(DAY + timedelta(days=3 * each), Recall(dice.randrange(1, 5)), 120, 0, DAY)
        for each in range(A_CARD)
    ]
    start = perf_counter()
    for _ in range(ATTEMPTS // A_CARD):
        replay(160, log, rules)
    taken = perf_counter() - start
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"replay of {ATTEMPTS} attempts: {ATTEMPTS / taken:,.0f} a second, peak {peak:.0f} MB")


if __name__ == "__main__":
    main()
