"""What was heard of attempts beside how they were rated."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from drillbox.store.sql import query

if TYPE_CHECKING:
    from drillbox.store.access import Store


class Compared(NamedTuple):
    """Attempts in one key whose rating was a step count ``apart`` from the proposed one.

    ``apart`` is 0 where the player followed it (or took the other rating that would have done
    as well), positive where they rated kinder, negative where harder. ``latest`` of them were
    made since the day asked for.
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
    WHERE undone_at IS NULL AND proposed IS NOT NULL
) AS told
GROUP BY key, apart ORDER BY key, apart
"""


def compared(store: Store, since: date) -> list[Compared]:
    """Return how ratings lie beside what was proposed, by key at concert pitch."""
    with store.read() as connection:
        rows = connection.execute(query(_COMPARED), {"since": since}).all()
    return [Compared(*row) for row in rows]
