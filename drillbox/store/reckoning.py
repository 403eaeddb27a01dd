"""Recompute cards from their attempts: after a merge, or when the rules have changed."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection, Row

from drillbox.memory.cards import CardState, replay
from drillbox.memory.rules import Rules
from drillbox.music.chart_codec import chart_fault, chart_from, chart_json
from drillbox.store.attempts import LOGGED, attempted_of, move
from drillbox.store.card_rows import state_of
from drillbox.store.columns import ATTEMPT
from drillbox.store.setting_rows import Set, write_setting
from drillbox.store.sql import change, query
from drillbox.tick import Tick, silent

if TYPE_CHECKING:
    from drillbox.store.access import Store

_LOG = f"""
SELECT id, uid, {LOGGED}, first_of_day FROM attempt
WHERE card_id = :id AND undone_at IS NULL ORDER BY at, id
"""
_CARDS = """
SELECT card.id, phrase.tempo AS goal, card.tempo, opened_day, stability, difficulty, last_day,
       stride, attempts, due_day, days_clean, days_missed, clean_run, goal_run, owned
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
            move(connection, row.id, state, log[0].day if log else None)
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
