"""What a summary reads: first tries of a day, counted by like conditions, and the cards begun."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from drillbox.store.sql import query

if TYPE_CHECKING:
    from drillbox.store.access import Store

FINE = 20_000  # so many first tries are told apart by every condition; more are lumped by card


class Evidence(NamedTuple):
    """First tries of a day at one card under like conditions, counted.

    ``tempo``, ``days`` and ``age`` are means: quarter notes a minute, days since the card's
    attempt before (None where there was none), days until today. ``hint`` is 1 where one was
    seen, 0 where not.
    """

    card_id: int
    hint: int
    total: int
    recalled: int
    tempo: float
    days: float | None
    age: float


class OpenCard(NamedTuple):
    """A card that was attempted, of a phrase in practice, flat as a summary reads it.

    ``stability`` is in days, ``attempts`` are all that stand; ``goal_run`` counts the days in a
    row, up to the latest, whose first go came out clean, those of them at goal tempo.
    """

    id: int
    phrase_id: int
    key: str
    position: int
    goal: int
    tempo: int
    stability: float
    last_day: date
    due: date
    attempts: int
    goal_run: int
    owned: bool


# card_id + 0 keeps SQLite from walking the index by card, and with it through all of history.
_EVIDENCE = """
WITH tries AS (
    SELECT card_id, day, recall, tempo, CASE WHEN hint > 0 THEN 1 ELSE 0 END AS hint,
           lag(day) OVER (PARTITION BY card_id + 0 ORDER BY day) AS before
    FROM attempt WHERE day >= :since AND first_of_day AND undone_at IS NULL
), dated AS (
    SELECT card_id, recall, tempo, hint, {age} AS age, {gap} AS gap FROM tries
)
SELECT card_id, hint, count(*), sum(CASE WHEN recall >= 3 THEN 1 ELSE 0 END), sum(tempo),
       sum(gap), sum(age)
FROM dated GROUP BY card_id, hint, gap IS NULL, {like}
"""
_BEFORE = """coalesce(before, (
    SELECT max(day) FROM attempt AS earlier
    WHERE earlier.card_id = tries.card_id AND earlier.day < tries.day AND undone_at IS NULL))"""
_LIKE_FINE = "gap, tempo, CASE WHEN age < 7 THEN 0 ELSE 1 + age / 30 END"
_LIKE_COARSE = "CASE WHEN age < 7 THEN 0 WHEN age < :half_life THEN 1 ELSE 2 END"


def evidence(
    store: Store, today: date, since: date, half_life: float
) -> tuple[list[Evidence], bool]:
    """Return the first tries of practice days from ``since`` on, and whether they are fine.

    Up to ``FINE`` tries are told apart by all their conditions; more are lumped together by
    card and by age on either side of ``half_life`` days, so that no history is too long. The
    last seven days are always told apart. Undone attempts don't count; those made under a
    clock that was ahead count as today's.
    """
    values = {"since": since, "day": today, "half_life": half_life}
    with store.read() as connection:
        words = (
            "SELECT count(*) FROM (SELECT DISTINCT day, card_id FROM attempt"
            " WHERE day >= :since AND undone_at IS NULL) AS tries"
        )
        fine = connection.execute(query(words), values).scalar_one() <= FINE
        sqlite = connection.dialect.name == "sqlite"
        age = _days_between(":day", "day", sqlite=sqlite)
        words = _EVIDENCE.format(
            age=f"CASE WHEN day > :day THEN 0 ELSE {age} END",
            gap=_days_between("day", _BEFORE, sqlite=sqlite),
            like=_LIKE_FINE if fine else _LIKE_COARSE,
        )
        rows = connection.execute(query(words), values).all()
    return [
        Evidence(card, hint, n, recalled, tempo / n, None if gap is None else gap / n, age / n)
        for card, hint, n, recalled, tempo, gap, age in rows
    ], fine


def _days_between(later: str, earlier: str, *, sqlite: bool) -> str:
    """Return SQL for the whole days from one date to another."""
    if sqlite:
        return f"CAST(julianday({later}) - julianday({earlier}) AS INTEGER)"
    return f"({later} - {earlier})"


_OPEN = """
SELECT card.id, phrase_id, card.key, position, phrase.tempo, card.tempo, stability,
       last_day, due_day, attempts, goal_run, owned
FROM card JOIN phrase ON phrase.id = phrase_id
WHERE attempts > 0 AND retired_at IS NULL AND NOT put_aside ORDER BY phrase_id, position
"""


def open_cards(store: Store) -> list[OpenCard]:
    """Return every card begun of the phrases in practice, in the order of phrases and keys."""
    with store.read() as connection:
        rows = connection.execute(query(_OPEN)).all()
    return [OpenCard._make(row)._replace(owned=bool(row.owned)) for row in rows]


def cards_by_key(store: Store, phrase_id: int | None = None) -> dict[str, int]:
    """Return how many cards there are in each key, open or not, of phrases in practice.

    With ``phrase_id`` of that phrase alone. Keys go by the names that they are stored under.
    """
    words = """
        SELECT card.key, count(*) FROM card JOIN phrase ON phrase_id = phrase.id
        WHERE retired_at IS NULL AND NOT put_aside{one} GROUP BY card.key ORDER BY card.key
    """.format(one=" AND phrase_id = :id" if phrase_id is not None else "")
    with store.read() as connection:
        return dict(map(tuple, connection.execute(query(words), {"id": phrase_id}).all()))


def phrase_titles(store: Store) -> dict[int, str]:
    """Return the titles of the phrases in practice, by number."""
    words = "SELECT id, title FROM phrase WHERE retired_at IS NULL ORDER BY id"
    with store.read() as connection:
        return dict(map(tuple, connection.execute(query(words)).all()))
