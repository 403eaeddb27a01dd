"""A big store for benches and tests: a seeded player's phrases and attempts, by bulk SQL.

The numbers look like a player's, but no card's state is what replaying its attempts gives.
"""

from __future__ import annotations

import json
import random
import sqlite3
import sys
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from drillbox.store.opening import open_store

KEYS = ("C", "F", "Bb", "Eb", "Ab", "Db", "Gb", "B", "E", "A", "D", "G")
TODAY = date(2026, 3, 1)
NOW = datetime(2026, 3, 1, 17, tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Size:
    """How big the store is; each phrase has twelve cards."""

    phrases: int = 100
    attempts: int = 100_000
    seed: int = 1


def build(path: Path, size: Size = Size()) -> Path:
    """Make a store at ``path`` with so many phrases and attempts and return the path."""
    open_store(path, now=NOW, backups=False).close()
    dice = random.Random(size.seed)
    cards = size.phrases * len(KEYS)
    with closing(sqlite3.connect(path)) as database:
        database.execute("PRAGMA synchronous = OFF")
        database.executemany(_SESSION, _sessions(size))
        database.executemany(_PHRASE, _phrases(size))
        database.executemany(_CARD, _cards(size, dice))
        database.executemany(_ATTEMPT, _attempts(size, cards, dice))
        database.execute(_COUNT)
        database.commit()
        database.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return path


A_DAY = 80  # attempts
_SESSION = (
    "INSERT INTO drill_session (id, uid, started_at, ended_at, minutes, zone, kind)"
    " VALUES (?, ?, ?, ?, 40, 'Europe/Lisbon', 'drill')"
)
_PHRASE = (
    "INSERT INTO phrase (id, uid, title, folded, key, tempo, double_time, key_order, chart, line,"
    " added_at) VALUES (?, ?, ?, ?, 'C', 160, 0, 'fourths', ?, ?, '2020-01-01 17:00:00.000000')"
)
_CARD = (
    "INSERT INTO card (id, phrase_id, key, position, chart, line, quarters, opened_day, stability,"
    " difficulty, last_day, tempo, clean_run, attempts, due_day)"
    " VALUES (?, ?, ?, ?, ?, ?, 16.0, ?, ?, ?, ?, ?, 0, ?, ?)"
)
_ATTEMPT = (
    "INSERT INTO attempt (uid, card_id, session_id, at, zone, day, recall, tempo, hint, seconds,"
    " loops, in_round, first_of_day, due_after)"
    " VALUES (?, ?, ?, ?, 'Europe/Lisbon', ?, ?, ?, 0, ?, 2, 0, ?, ?)"
)
_COUNT = (
    "UPDATE card SET attempts = max(attempts, (SELECT count(*) FROM attempt"
    " WHERE card_id = card.id AND undone_at IS NULL)) WHERE opened_day IS NOT NULL"
)


def _day(size: Size, number: int) -> date:
    """Return the practice day of a session; the last one is yesterday."""
    return TODAY - timedelta(days=-(-size.attempts // A_DAY) - number)


def _sessions(size: Size) -> Iterator[tuple[object, ...]]:
    for number in range(max(1, -(-size.attempts // A_DAY))):
        day = _day(size, number) if size.attempts else TODAY
        yield number + 1, f"s{number}", f"{day} 17:00:00.000000", f"{day} 17:40:00.000000"


def _chart() -> str:
    bar = [["0", "2", ["D", "minor-seventh"]], ["2", "2", ["G", "dominant"]]]
    return json.dumps({"meter": "4/4", "bars": [bar] * 4})


def _line(dice: random.Random) -> str:
    pitches = ("D5", "F5", "A4", "C5", "B4", "G4", "E5", "Bb4")
    return json.dumps([[f"{n}/2", "1/2", dice.choice(pitches)] for n in range(32)])


def _phrases(size: Size) -> Iterator[tuple[object, ...]]:
    dice = random.Random(size.seed + 1)
    for number in range(1, size.phrases + 1):
        title = f"Invented line {number}"
        yield number, f"p{number}", title, title.lower(), _chart(), _line(dice)


def _cards(size: Size, dice: random.Random) -> Iterator[tuple[object, ...]]:
    """Yield the cards; in the last tenth of the phrases only the first keys are open."""
    line, chart = _line(dice), _chart()
    for number in range(size.phrases):
        opened = len(KEYS) if number < size.phrases * 0.9 else 1 + number % 4
        for position, key in enumerate(KEYS):
            card_id = number * len(KEYS) + position + 1
            if position >= opened:
                yield card_id, number + 1, key, position, chart, line, *([None] * 4), 96, 0, None
                continue
            last = TODAY - timedelta(days=dice.randrange(1, 120))
            due = TODAY + timedelta(days=dice.randrange(-3, 120))
            state = dice.uniform(1, 200), dice.uniform(1, 10), str(last), dice.randrange(96, 161)
            yield card_id, number + 1, key, position, chart, line, str(last), *state, 1, str(due)


def _attempts(size: Size, cards: int, dice: random.Random) -> Iterator[tuple[object, ...]]:
    """Yield attempts in the order in which they were made, up to the day before today."""
    last_tenth = int(size.phrases * 0.9) * len(KEYS) or cards
    seen: set[tuple[int, date]] = set()
    for number in range(size.attempts):
        day = _day(size, number // A_DAY)
        at = datetime.combine(day, NOW.timetz()) + timedelta(seconds=30 * (number % A_DAY))
        card_id = dice.randrange(last_tenth) + 1
        recall = dice.choices((1, 2, 3, 4), (15, 20, 40, 25))[0]
        yield (
            f"{dice.getrandbits(128):032x}",
            card_id,
            1 + number // A_DAY,
            f"{at:%Y-%m-%d %H:%M:%S.%f}",
            str(day),
            recall,
            dice.randrange(96, 161),
            dice.uniform(15, 60),
            (card_id, day) not in seen,
            str(day + timedelta(days=dice.randrange(1, 60))),
        )
        seen.add((card_id, day))


if __name__ == "__main__":
    build(Path(sys.argv[1]), Size(*map(int, sys.argv[2:4])))
