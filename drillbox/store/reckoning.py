"""What cards' attempts lead to: they are brought to it where attempts, goal or rules changed.

A rating alone moves its card by one step, as it is stored (``card_rows``); a test holds that to
the same state. An attempt is taken back here, but never deleted.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from contextlib import suppress
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, NamedTuple

from sqlalchemy import Connection, Row

from drillbox.errors import NotFound, Overtaken
from drillbox.memory.cards import CardState, is_cold, states, untried
from drillbox.memory.rules import Rules, rules_of
from drillbox.music.charts import chart_fault, chart_from, chart_json
from drillbox.store.card_rows import move_card, state_of
from drillbox.store.log import attempted_of, in_batches, logs_in
from drillbox.store.setting_rows import Set, set_in, settings_in
from drillbox.store.sql import ATTEMPT, STATE_OF_CARD, change, query
from drillbox.tick import Tick, silent

if TYPE_CHECKING:
    from drillbox.store.access import Store

_CARDS = f"""
SELECT card.id, title, card.key, phrase.tempo AS goal, {STATE_OF_CARD}
FROM card JOIN phrase ON phrase.id = phrase_id WHERE card.id IN :ids ORDER BY card.id
"""


class Reckoned(NamedTuple):
    """A card's ``row``, its log, and what that leads to: the state, and which attempts of the log
    are the first of a day."""

    row: Row[Any]
    log: Sequence[Row[Any]]
    state: CardState
    firsts: list[bool]

    @property
    def opened_day(self) -> date | None:
        """Return the practice day of the first attempt."""
        return self.log[0].day if self.log else None

    @property
    def marks_wrong(self) -> list[dict[str, Any]]:
        """Return the attempts that are marked otherwise, as they should be."""
        return [
            {"id": row.id, "first_of_day": first}
            for row, first in zip(self.log, self.firsts, strict=True)
            if row.first_of_day != first
        ]


def reckoned(
    connection: Connection, card_ids: Collection[int] | None = None, tick: Tick = silent
) -> Iterator[Reckoned]:
    """Yield what the logs of these cards, or of all (None), lead to by the settings in force.

    ``tick`` hears of cards.
    """
    rules = rules_of(settings_in(connection))
    if card_ids is None:
        card_ids = connection.execute(query("SELECT id FROM card")).scalars().all()
    done = 0
    for some in in_batches(card_ids):
        logs = logs_in(connection, some)
        for row in connection.execute(query(_CARDS), {"ids": some}).all():
            yield _reckoned(row, logs.get(row.id, []), rules)
            done += 1
            tick(done, len(card_ids))


def _reckoned(row: Row[Any], log: Sequence[Row[Any]], rules: Rules) -> Reckoned:
    state, firsts = untried(row.goal, rules), []
    attempts = list(map(attempted_of, log))
    for attempted, after in zip(attempts, states(row.goal, attempts, rules), strict=True):
        firsts.append(is_cold(state, attempted.day))
        state = after
    return Reckoned(row, log, state, firsts)


def reckon(
    connection: Connection, card_ids: Collection[int] | None = None, tick: Tick = silent
) -> int:
    """Bring these cards, or all (None), to the state their attempts lead to; return how many moved.

    Its due day stays the one that was chosen after its latest attempt; a card that was never
    attempted gets its first tempo by the rules.
    """
    moved = 0
    for card in reckoned(connection, card_ids, tick):
        if card.state != state_of(card.row) or card.opened_day != card.row.opened_day:
            move_card(connection, card.row.id, card.state, card.opened_day)
            moved += 1
        if card.marks_wrong:
            connection.execute(change(ATTEMPT.update("first_of_day")), card.marks_wrong)
    return moved


def reckon_all(store: Store, setting: Set | None = None, tick: Tick = silent) -> int:
    """Bring every card to the state its attempts lead to; return how many moved.

    ``setting`` is set in the same transaction, before all.
    """
    with store.write() as connection:
        if setting:
            set_in(connection, setting)
        return reckon(connection, tick=tick)


def undo_attempt(store: Store, uid: str, now: datetime) -> None:
    """Take the attempt of that uid back: it stays, marked undone.

    Its card is again as the rest of its log leads to, by the goal and the rules that are in
    force: they may be others than when it was rated.

    Only the card's latest attempt can be taken back: raises Overtaken if another came after,
    NotFound if there is no such attempt or it is undone already.
    """
    words = "SELECT id, card_id FROM attempt WHERE uid = :uid AND undone_at IS NULL"
    with store.write() as connection:
        found = connection.execute(query(words), {"uid": uid}).one_or_none()
        if found is None:
            raise NotFound("That rating is undone already", "See drillbox show.")
        if logs_in(connection, [found.card_id])[found.card_id][-1].id != found.id:
            raise Overtaken
        values = {"undone_at": now, "id": found.id}
        connection.execute(change(ATTEMPT.update("undone_at")), values)
        reckon(connection, {found.card_id})


def fit_charts(store: Store) -> None:
    """Rewrite each chart whose spans don't fill its bars, fitted as it is read."""
    with store.write() as connection:
        for table in ("phrase", "card", "tune"):
            for row in connection.execute(query(f"SELECT id, chart FROM {table}")).all():
                if chart_fault(row.chart):
                    with suppress(ValueError):  # what isn't a chart at all stays as it is, and told
                        fitted = {"id": row.id, "chart": chart_json(chart_from(row.chart))}
                        words = f"UPDATE {table} SET chart = :chart WHERE id = :id"
                        connection.execute(change(words), fitted)
