"""What progress reads: sums by practice day, the days on which keys opened, logs to replay."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from itertools import groupby
from operator import attrgetter
from typing import TYPE_CHECKING, NamedTuple

from drillbox.memory.cards import Attempted
from drillbox.store.attempts import LOGGED, attempted_of
from drillbox.store.sql import query

if TYPE_CHECKING:
    from drillbox.store.access import Store


class DaySum(NamedTuple):
    """What was played on one practice day: every attempt, and the first tries among them.

    ``seconds`` from screen to rating; ``recalled`` counts clean and fluent first tries;
    ``tempo`` is the sum over all attempts of tempo as a share of the goal.
    """

    day: date
    attempts: int
    seconds: float
    tries: int
    recalled: int
    tempo: float


class CardLog(NamedTuple):
    """All attempts at one card, in the order in which they were made."""

    card_id: int
    goal: int
    attempts: tuple[Attempted, ...]


_DAYS = """
SELECT day, count(*), sum(seconds), sum(CASE WHEN first_of_day THEN 1 ELSE 0 END),
       sum(CASE WHEN first_of_day AND recall >= 3 THEN 1 ELSE 0 END),
       sum(attempt.tempo * 1.0 / phrase.tempo)
FROM attempt JOIN card ON card.id = card_id JOIN phrase ON phrase.id = phrase_id
WHERE day >= :since AND undone_at IS NULL GROUP BY day ORDER BY day
"""


def sums_by_day(store: Store, since: date) -> list[DaySum]:
    """Return what was played on each practice day from ``since`` on, oldest first.

    Attempts at retired phrases count: they were practice too. Undone ones don't.
    """
    with store.read() as connection:
        return [
            DaySum(day, attempts, float(seconds), tries, recalled, float(tempo))
            for day, attempts, seconds, tries, recalled, tempo in connection.execute(
                query(_DAYS), {"since": since}
            )
        ]


def first_day(store: Store) -> date | None:
    """Return the practice day of the first attempt, None where there is none."""
    words = "SELECT min(day) AS day FROM attempt WHERE undone_at IS NULL"
    with store.read() as connection:
        found: date | None = connection.execute(query(words)).scalar_one()
    return found


def opened_by_day(store: Store) -> dict[date, int]:
    """Return how many cards of phrases in practice were opened on each day."""
    words = """
        SELECT opened_day, count(*) FROM card JOIN phrase ON phrase.id = phrase_id
        WHERE opened_day IS NOT NULL AND retired_at IS NULL GROUP BY opened_day ORDER BY opened_day
    """
    with store.read() as connection:
        return dict(map(tuple, connection.execute(query(words)).all()))


def recall_counts(store: Store, since: date) -> dict[int, int]:
    """Return how many first tries of a day got each recall, 1 to 4, from ``since`` on."""
    words = """
        SELECT recall, count(*) FROM attempt
        WHERE day >= :since AND first_of_day AND undone_at IS NULL GROUP BY recall
    """
    with store.read() as connection:
        return dict(map(tuple, connection.execute(query(words), {"since": since}).all()))


_LOGS = f"""
SELECT card_id, phrase.tempo AS present_goal, {LOGGED}
FROM attempt JOIN card ON card.id = card_id JOIN phrase ON phrase.id = phrase_id
WHERE undone_at IS NULL AND card_id IN ({{ids}}) ORDER BY card_id, at, attempt.id
"""
_AT_ONCE = 500  # cards whose logs are read by one query; SQLite takes no endless lists


def logs_of(store: Store, card_ids: Sequence[int]) -> Iterator[CardLog]:
    """Yield the logs of these cards that have one, in the order of their numbers."""
    with store.read() as connection:
        for start in range(0, len(card_ids), _AT_ONCE):
            ids = ", ".join(str(int(each)) for each in sorted(card_ids)[start : start + _AT_ONCE])
            rows = connection.execute(query(_LOGS.format(ids=ids)))
            for card_id, found in groupby(rows, attrgetter("card_id")):
                log = list(found)
                yield CardLog(card_id, log[0].present_goal, tuple(map(attempted_of, log)))
