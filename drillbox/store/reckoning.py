"""Recompute cards from their attempts: after a merge, or when the rules have changed."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, Row

from drillbox.memory.cards import CardState, replay
from drillbox.memory.rules import Rules
from drillbox.music.charts import chart_fault, chart_from, chart_json
from drillbox.music.keys import Key, parse_key
from drillbox.music.moving.instruments import breaks_anywhere
from drillbox.music.phrases import LineNote, Phrase, line_from, line_json
from drillbox.store.card_rows import LOGGED, REPLAYED, attempted_of, move_card, state_of
from drillbox.store.phrase_rows import record_from
from drillbox.store.setting_rows import Set, write_setting
from drillbox.store.sql import ATTEMPT, CARD, PHRASE, STATE_OF_CARD, change, query
from drillbox.tick import Tick, silent

if TYPE_CHECKING:
    from drillbox.store.access import Store

_LOG = f"""
SELECT id, uid, {LOGGED}, first_of_day FROM attempt
WHERE card_id = :id AND undone_at IS NULL ORDER BY {REPLAYED}
"""
_CARDS = f"""
SELECT card.id, phrase.tempo AS goal, {STATE_OF_CARD}
FROM card JOIN phrase ON phrase.id = phrase_id ORDER BY card.id
"""
Log = Sequence[Row[Any]]


def reckon_all(store: Store, rules: Rules, setting: Set | None = None, tick: Tick = silent) -> int:
    """Bring every card to the state its attempts lead to under ``rules``; return how many moved.

    ``setting`` is the one that made the rules what they are; it is set in the same transaction.
    """
    with store.write() as connection:
        if setting:
            write_setting(connection, setting)
        return reckon(connection, rules, None, tick)


def reckon(
    connection: Connection, rules: Rules, card_ids: Collection[int] | None, tick: Tick = silent
) -> int:
    """Bring these cards, or all (None), to the state their attempts lead to; return how many moved.

    Its due day stays the one that was chosen after its latest attempt; a card that was never
    attempted gets its first tempo by the rules.
    """
    moved = 0
    rows = connection.execute(query(_CARDS)).all()
    wanted = [row for row in rows if card_ids is None or row.id in card_ids]
    for number, row in enumerate(wanted):
        tick(number, len(wanted))
        log = log_of(connection, row.id)
        state = replayed(log, row.goal, rules)
        if state != state_of(row) or (log and row.opened_day != log[0].day):
            move_card(connection, row.id, state, log[0].day if log else None)
            moved += 1
        _mark_firsts(connection, log)
    return moved


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


def log_of(connection: Connection, card_id: int) -> Log:
    """Return the attempts of a card that count, in the order in which they were made."""
    return connection.execute(query(_LOG), {"id": card_id}).all()


def replayed(log: Log, goal: int, rules: Rules) -> CardState:
    """Return the state that a log leads to."""
    return replay(goal, map(attempted_of, log), rules)


def _mark_firsts(connection: Connection, log: Log) -> None:
    """Mark the first attempt of each day, and no other."""
    seen = set()
    wrong = []
    for row in log:
        first = row.day not in seen
        seen.add(row.day)
        if bool(row.first_of_day) != first:
            wrong.append({"id": row.id, "first_of_day": first})
    if wrong:
        connection.execute(change(ATTEMPT.update("first_of_day")), wrong)


LineIn = Callable[[Phrase, Key, bool], tuple[LineNote, ...]]
"""Lays a phrase as written in a card's key; with octaves broken, where its lines break them now."""


def set_and_lay(store: Store, setting: Set, line_in: LineIn, tick: Tick = silent) -> int:
    """Set a setting and lay the line of every card by ``line_in``, in one transaction.

    Return how many cards have another line now; what is remembered of them, and their
    attempts, stay as they are. ``tick`` hears of phrases.
    """
    with store.write() as connection:
        write_setting(connection, setting)
        return lay_all(connection, line_in, tick)


def lay_all(connection: Connection, line_in: LineIn, tick: Tick = silent) -> int:
    """Lay the line of every card as a part of a larger change; return how many have another now."""
    changed = 0
    rows = connection.execute(query(f"{PHRASE.select()} ORDER BY id")).all()
    for number, row in enumerate(rows, start=1):
        tick(number, len(rows))
        phrase = record_from(row).phrase
        if not phrase.line:
            continue
        words = "SELECT id, key, line FROM card WHERE phrase_id = :id ORDER BY position"
        cards = connection.execute(query(words), {"id": row.id}).all()
        laid = [(parse_key(card.key), line_from(card.line)) for card in cards]
        breaking = breaks_anywhere(phrase, laid)
        for card, (key, _) in zip(cards, laid, strict=True):
            line = line_json(line_in(phrase, key, breaking))
            if line != card.line:
                values = {"line": line, "id": card.id}
                connection.execute(change(CARD.update("line")), values)
                changed += 1
    return changed
