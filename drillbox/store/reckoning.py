"""What cards' attempts lead to: they are brought to it where attempts, goal or rules changed.

A rating alone moves its card by one step, as it is stored (``card_rows``); a test holds that to
the same state. An attempt is taken back here, but never deleted.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from contextlib import suppress
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, NamedTuple, Protocol

from sqlalchemy import Connection, Row

from drillbox.errors import NotFound, Overtaken
from drillbox.memory.cards import CardState, is_cold, states, untried
from drillbox.memory.rules import Rules, rules_of
from drillbox.music.charts import chart_fault, chart_from, chart_json
from drillbox.music.keys import Key, parse_key
from drillbox.music.moving.instruments import breaks_anywhere
from drillbox.music.phrases import Phrase, line_from, line_json
from drillbox.store.access import ILLEGIBLE
from drillbox.store.card_rows import move_card, state_of
from drillbox.store.log import attempted_of, in_batches, logs_in
from drillbox.store.phrase_rows import ONE, record_from
from drillbox.store.setting_rows import Set, set_in, settings_in
from drillbox.store.sql import ATTEMPT, CARD, PHRASE, STATE_OF_CARD, change, query
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


def undo_attempt(store: Store, attempt_id: int, now: datetime) -> None:
    """Take an attempt back: the attempt stays, marked undone.

    Its card is again as the rest of its log leads to, by the goal and the rules that are in
    force: they may be others than when it was rated.

    Only the card's latest attempt can be taken back: raises Overtaken if another came after,
    NotFound if there is no such attempt or it is undone already.
    """
    found = "SELECT card_id FROM attempt WHERE id = :id AND undone_at IS NULL"
    with store.write() as connection:
        card_id = connection.execute(query(found), {"id": attempt_id}).scalar_one_or_none()
        if card_id is None:
            raise NotFound("That rating is undone already", "See drillbox show.")
        if logs_in(connection, [card_id])[card_id][-1].id != attempt_id:
            raise Overtaken
        values = {"undone_at": now, "id": attempt_id}
        connection.execute(change(ATTEMPT.update("undone_at")), values)
        reckon(connection, {card_id})


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


class Lay(Protocol):
    """Lays a phrase as written in a card's key; ``breaking`` tells that its lines break octaves."""

    def __call__(self, phrase: Phrase, key: Key, *, breaking: bool) -> Phrase:
        """Return the phrase in that key."""


def set_and_lay(store: Store, setting: Set, lay: Lay, tick: Tick = silent) -> int:
    """Set a setting and lay every card by ``lay``, in one transaction.

    Return how many cards have another line or chart now; what is remembered of them, and their
    attempts, stay as they are. ``tick`` hears of phrases.
    """
    with store.write() as connection:
        set_in(connection, setting)
        return lay_all(connection, lay, tick)


def lay_all(connection: Connection, lay: Lay, tick: Tick = silent) -> int:
    """Lay every card as a part of a larger change; return how many are otherwise now."""
    changed = 0
    rows = connection.execute(query(f"{PHRASE.select()} ORDER BY id")).all()
    for number, row in enumerate(rows, start=1):
        tick(number, len(rows))
        changed += _lay(connection, row, lay)
    return changed


def spell_all(connection: Connection, lay: Lay, tick: Tick = silent) -> None:
    """Spell every card's chart and line anew; ``tick`` hears of phrases.

    Of a phrase that can't be read all stays as it is: whoever reads it next is told.
    """
    ids = connection.execute(query("SELECT id FROM phrase ORDER BY id")).scalars().all()
    for number, phrase_id in enumerate(ids, start=1):
        with suppress(*ILLEGIBLE):
            row = connection.execute(query(ONE), {"id": phrase_id}).one()
            _lay(connection, row, lay)
        tick(number, len(ids))


def _lay(connection: Connection, row: Row[Any], lay: Lay) -> int:
    phrase, changes = record_from(row).phrase, []
    words = "SELECT id, key, chart, line FROM card WHERE phrase_id = :id ORDER BY position"
    cards = connection.execute(query(words), {"id": row.id}).all()
    breaking = breaks_anywhere(phrase, [line_from(card.line) for card in cards])
    for card in cards:
        laid = lay(phrase, parse_key(card.key), breaking=breaking)
        chart, line = chart_json(laid.chart), line_json(laid.line)
        if (chart, line) != (card.chart, card.line):
            changes.append({"chart": chart, "line": line, "id": card.id})
    if changes:
        connection.execute(change(CARD.update("chart", "line")), changes)
    return len(changes)
