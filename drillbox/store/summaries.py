"""What all attempts come to, summed up in SQL: per card, and first tries of a day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from drillbox.memory.cards import CardState
from drillbox.store.cards import state_of
from drillbox.store.sql import query

if TYPE_CHECKING:
    from drillbox.store.opening import Store


@dataclass(frozen=True, slots=True)
class Tally:
    """How the attempts at one card went: how many were lost, rough, clean and fluent.

    ``key`` is the card's own (``Bb``, ``Cm``), ``goal`` the phrase's tempo, ``state`` the
    card's as it stands now.
    """

    phrase_id: int
    title: str
    card_id: int
    key: str
    position: int
    goal: int
    state: CardState
    lost: int = 0
    rough: int = 0
    clean: int = 0
    fluent: int = 0

    @property
    def attempts(self) -> int:
        """Return how many attempts there were."""
        return self.lost + self.rough + self.clean + self.fluent

    @property
    def recalled(self) -> int:
        """Return how many attempts were clean or fluent."""
        return self.clean + self.fluent


class FirstTry(NamedTuple):
    """A card's first attempt of a practice day: what tells of memory, not of warming up.

    ``tempo`` was played, ``goal`` is the phrase's; ``hint`` the highest seen, 0 to 3.
    """

    card_id: int
    phrase_id: int
    key: str
    day: date
    recall: int
    tempo: int
    goal: int
    hint: int


# The index of attempts by card, or by day, holds all that the inner query reads.
_TALLIES = """
SELECT phrase_id, title, card.id AS card_id, card.key, position, phrase.tempo AS goal, card.tempo,
       stability, difficulty, last_day, clean_run, attempts, due_day, lost, rough, clean, fluent
FROM (
    SELECT card_id, sum(CASE WHEN recall = 1 THEN 1 ELSE 0 END) AS lost,
           sum(CASE WHEN recall = 2 THEN 1 ELSE 0 END) AS rough,
           sum(CASE WHEN recall = 3 THEN 1 ELSE 0 END) AS clean,
           sum(CASE WHEN recall = 4 THEN 1 ELSE 0 END) AS fluent
    FROM attempt WHERE undone_at IS NULL{since} GROUP BY card_id
) AS counts
JOIN card ON card.id = card_id JOIN phrase ON phrase.id = phrase_id
WHERE retired_at IS NULL ORDER BY phrase_id, position
"""
_FIRST = """
SELECT card_id, phrase_id, card.key, day, recall, attempt.tempo, phrase.tempo AS goal, hint
FROM attempt JOIN card ON card.id = card_id JOIN phrase ON phrase.id = phrase_id
WHERE first_of_day AND undone_at IS NULL AND retired_at IS NULL AND day >= :since
ORDER BY day, attempt.id
"""


def tallies(store: Store, since: date | None = None) -> list[Tally]:
    """Return the tally of every card that was attempted (since that practice day, if given).

    Retired phrases and undone attempts don't count. In the order of phrases and their keys.
    """
    words = _TALLIES.format(since=" AND day >= :since" if since else "")
    with store.read() as connection:
        rows = connection.execute(query(words), {"since": since} if since else {}).all()
    return [
        Tally(
            phrase_id=row.phrase_id,
            title=row.title,
            card_id=row.card_id,
            key=row.key,
            position=row.position,
            goal=row.goal,
            state=state_of(row),
            lost=row.lost,
            rough=row.rough,
            clean=row.clean,
            fluent=row.fluent,
        )
        for row in rows
    ]


def first_tries(store: Store, since: date) -> list[FirstTry]:
    """Return every card's first attempt of each practice day from ``since`` on, oldest first.

    Retired phrases and undone attempts don't count.
    """
    with store.read() as connection:
        rows = connection.execute(query(_FIRST), {"since": since}).all()
    return [FirstTry._make(row) for row in rows]


def day_counts(store: Store, since: date) -> dict[date, int]:
    """Return how many attempts were made on each practice day from ``since`` on."""
    words = """
        SELECT day, count(*) FROM attempt WHERE day >= :since AND undone_at IS NULL
        GROUP BY day ORDER BY day
    """
    with store.read() as connection:
        return dict(map(tuple, connection.execute(query(words), {"since": since}).all()))
