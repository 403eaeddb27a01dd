"""What the log of attempts tells: the latest, by day, by card, when keys were owned, as heard."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from datetime import date
from itertools import groupby
from operator import attrgetter
from typing import TYPE_CHECKING, Any, NamedTuple

from sqlalchemy import Connection, Row

from drillbox.memory.candidates import Timed
from drillbox.memory.cards import Attempted
from drillbox.memory.learning import Seen
from drillbox.memory.leniency import MORE_MISSED, SLOW, Missed, Misses
from drillbox.memory.recall import Recall
from drillbox.store.sql import KEPT, change, query

if TYPE_CHECKING:
    from drillbox.store.access import Store


def recent_attempts(store: Store, count: int) -> list[Timed]:
    """Return how long the latest ``count`` attempts took, newest first, for the player's pace.

    Those of rounds are left out: in a round the beat sets the pace.
    """
    words = """
        SELECT seconds, quarters, attempt.tempo, loops
        FROM attempt JOIN card ON card.id = card_id
        WHERE undone_at IS NULL AND NOT in_round ORDER BY day DESC, at DESC LIMIT :count
    """
    with store.read() as connection:
        return [Timed(*row) for row in connection.execute(query(words), {"count": count}).all()]


def latest_firsts(store: Store, count: int) -> list[Seen]:
    """Return the latest ``count`` of the cards' first attempts of a day, oldest first."""
    words = """
        SELECT card_id, day, recall, tempo, coalesce(reached, tempo) AS reached
        FROM attempt WHERE undone_at IS NULL AND first_of_day
        ORDER BY day DESC, at DESC LIMIT :count
    """
    return _seen(store, words, count=count)


# Each card's opening day is looked up: told that it is before a day, SQLite reads all those days.
OPENING_GOES = """
SELECT card_id, day, recall, attempt.tempo, coalesce(reached, attempt.tempo) AS reached
FROM card JOIN attempt ON card_id = card.id AND day = coalesce(opened_day, :before)
WHERE undone_at IS NULL AND first_of_day AND opened_day < :before
ORDER BY opened_day DESC, at DESC LIMIT :count
"""


def ever_first(store: Store, before: date, count: int) -> list[Seen]:
    """Return the latest ``count`` of the cards' very first attempts that were made before a day,
    oldest first."""
    return _seen(store, OPENING_GOES, before=before, count=count)


def _seen(store: Store, words: str, **values: object) -> list[Seen]:
    with store.read() as connection:
        rows = connection.execute(query(words), values).all()
    return [
        Seen(row.card_id, row.day.toordinal(), Recall(row.recall), row.tempo, row.reached)
        for row in rows[::-1]
    ]


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
    """Return how many cards in practice were opened on each day."""
    words = """
        SELECT opened_day, count(*) FROM card JOIN phrase ON phrase.id = phrase_id
        WHERE opened_day IS NOT NULL AND retired_at IS NULL AND NOT put_aside
        GROUP BY opened_day ORDER BY opened_day
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


_MISSES = """
SELECT CASE WHEN NOT first_of_day THEN 'later'
            WHEN coalesce(reached, tempo) >= :slow * tempo THEN 'slow'
            ELSE 'near' END AS kind,
       sum(CASE WHEN recall = 1 THEN 1 ELSE 0 END), sum(CASE WHEN recall = 2 THEN 1 ELSE 0 END)
FROM attempt WHERE day >= :since AND recall < 3 AND undone_at IS NULL
 AND card_id NOT IN (SELECT id FROM card WHERE days_missed >= days_clean + :more)
GROUP BY kind
"""


def misses(store: Store, since: date) -> Misses:
    """Return how many goes were lost, and how many rough, from ``since`` on.

    Those at keys that hardly ever come out are left out: see ``Misses``.
    """
    with store.read() as connection:
        rows = connection.execute(
            query(_MISSES), {"since": since, "slow": SLOW, "more": MORE_MISSED}
        )
        return Misses(**{kind: Missed(lost, rough) for kind, lost, rough in rows})


def logs_of(store: Store, card_ids: Collection[int]) -> Iterator[CardLog]:
    """Yield the logs of these cards that have one, in the order of their numbers."""
    with store.read() as connection:
        for some in in_batches(card_ids):
            for card_id, log in logs_in(connection, some).items():
                yield CardLog(card_id, log[0].present_goal, tuple(map(attempted_of, log)))


REPLAYED = "at, day, attempt.uid"
"""The order in which a card's attempts are replayed, the same in each store that has them."""
_LOGS = f"""
SELECT card_id, attempt.id, phrase.tempo AS present_goal, first_of_day,
       day, recall, attempt.tempo, hint, due_after, in_round, attempt.goal
FROM attempt JOIN card ON card.id = card_id JOIN phrase ON phrase.id = phrase_id
WHERE undone_at IS NULL AND card_id IN :ids ORDER BY card_id, {REPLAYED}
"""
_AT_ONCE = 500  # cards that one query is asked for


def in_batches(card_ids: Collection[int]) -> Iterator[list[int]]:
    """Yield the numbers of cards in order, as many at a time as one query is asked for."""
    ordered = sorted(card_ids)
    for start in range(0, len(ordered), _AT_ONCE):
        yield ordered[start : start + _AT_ONCE]


def logs_in(connection: Connection, card_ids: Sequence[int]) -> dict[int, list[Row[Any]]]:
    """Return the attempts that count of each of these cards that has any, as they were made."""
    rows = connection.execute(query(_LOGS), {"ids": card_ids})
    return {card_id: list(log) for card_id, log in groupby(rows, attrgetter("card_id"))}


def attempted_of(row: Row[Any]) -> Attempted:
    """Return what the memory needs of a row of a log to replay it."""
    return Attempted(
        row.day, Recall(row.recall), row.tempo, row.hint, row.due_after, row.in_round, row.goal
    )


Turns = list[tuple[date, bool]]
"""The practice days on which a card became owned (True) or ceased to be, in order."""


class Played(NamedTuple):
    """A card's log by its size: ``attempts`` in all, ``undone`` ones among them.

    Attempts are only ever added and undone, so of one card's log two states of equal size are
    the same state. ``highest`` is the highest tempo that was played and stands.
    """

    card_id: int
    goal: int
    attempts: int
    undone: int
    highest: int


class Kept(NamedTuple):
    """A card's turns, by which ``rules`` (their print) and of a log of what size."""

    card_id: int
    rules: str
    attempts: int
    undone: int
    turns: Turns


_PLAYED = """
SELECT card.id, phrase.tempo, log.attempts, log.undone, log.highest
FROM (SELECT card_id, count(*) AS attempts, count(undone_at) AS undone,
             max(CASE WHEN undone_at IS NULL THEN tempo ELSE 0 END) AS highest
      FROM attempt GROUP BY card_id) AS log
JOIN card ON card.id = log.card_id JOIN phrase ON phrase.id = phrase_id
WHERE retired_at IS NULL AND NOT put_aside ORDER BY card.id
"""


def played_cards(store: Store) -> list[Played]:
    """Return every card in practice that was ever played."""
    with store.read() as connection:
        return [Played._make(row) for row in connection.execute(query(_PLAYED)).all()]


def kept_turns(store: Store) -> dict[int, Kept]:
    """Return what is kept, by card."""
    with store.read() as connection:
        rows = connection.execute(query(KEPT.select())).all()
    return {
        row.card_id: Kept(
            row.card_id,
            row.rules,
            row.attempts,
            row.undone,
            [(date.fromisoformat(day), owned) for day, owned in row.turns],
        )
        for row in rows
    }


def keep_turns(store: Store, found: Iterable[Kept]) -> None:
    """Keep the turns of cards in the place of what was kept of them.

    A card that was deleted meanwhile is passed over.
    """
    names = [name for name in KEPT.columns if name != "card_id"]
    words = (
        f"{KEPT.insert()} ON CONFLICT (card_id) DO UPDATE SET"
        f" {', '.join(f'{name} = excluded.{name}' for name in names)}"
    )
    rows = [
        {**each._asdict(), "turns": [[day.isoformat(), owned] for day, owned in each.turns]}
        for each in found
    ]
    # Nothing of the player's own changes, so no backup need precede it.
    with store.write(backup=False) as connection:
        there = set(connection.execute(query("SELECT id FROM card")).scalars())
        if kept := [row for row in rows if row["card_id"] in there]:
            connection.execute(change(words), kept)


class Compared(NamedTuple):
    """Attempts in one key whose rating was a step count ``apart`` from the proposed one.

    ``apart`` is 0 where the player followed it (or took the other rating that would have done
    as well), positive where they rated kinder, negative where harder. ``latest`` of them were
    made since the day asked for. Where the third hint held the rating down below what was
    proposed, the player's own word isn't known, and it is left out.
    """

    key: str
    apart: int
    attempts: int
    latest: int


_COMPARED = """
SELECT key, apart, count(*) AS attempts, count(CASE WHEN day >= :since THEN 1 END) AS latest
FROM (
    SELECT card.key, attempt.day,
           CASE WHEN recall = other THEN 0 ELSE recall - proposed END AS apart
    FROM heard JOIN attempt ON attempt.id = attempt_id JOIN card ON card.id = card_id
    WHERE undone_at IS NULL AND proposed IS NOT NULL AND NOT (hint >= 3 AND proposed > 2)
) AS told
GROUP BY key, apart ORDER BY key, apart
"""


def ratings_beside_proposals(store: Store, since: date) -> list[Compared]:
    """Return how ratings lie beside what was proposed, by key at concert pitch."""
    with store.read() as connection:
        rows = connection.execute(query(_COMPARED), {"since": since}).all()
    return [Compared(*row) for row in rows]
