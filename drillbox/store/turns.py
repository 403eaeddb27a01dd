"""When cards were owned, kept so that no log need be replayed twice."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import TYPE_CHECKING, NamedTuple

from drillbox.store.columns import KEPT
from drillbox.store.sql import change, query

if TYPE_CHECKING:
    from drillbox.store.access import Store

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
WHERE retired_at IS NULL ORDER BY card.id
"""


def played_cards(store: Store) -> list[Played]:
    """Return every card of the phrases in practice that was ever played."""
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
    """Keep the turns of cards in the place of what was kept of them."""
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
        connection.execute(change(words), rows)
