"""Lay cards out anew: charts and lines in their keys, by today's spelling, for an instrument."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

from sqlalchemy import Connection

from drillbox.music.charts import chart_json
from drillbox.music.keys import parse_key
from drillbox.music.moving.instruments import laid
from drillbox.music.moving.transposition import Range
from drillbox.music.phrases import line_json
from drillbox.store.access import ILLEGIBLE
from drillbox.store.phrase_rows import ONE, record_from
from drillbox.store.setting_rows import Set, set_in
from drillbox.store.sql import CARD, change, query
from drillbox.tick import Tick, silent

if TYPE_CHECKING:
    from drillbox.store.access import Store


def set_and_lay(
    store: Store, setting: Set, sounding_range: Range | None, tick: Tick = silent
) -> None:
    """Set a setting and lay every card for a range, in one transaction.

    What is remembered of the cards, and their attempts, stay as they are. ``tick`` hears of
    phrases.
    """
    with store.write() as connection:
        set_in(connection, setting)
        lay_all(connection, sounding_range, tick)


def lay_all(connection: Connection, sounding_range: Range | None, tick: Tick = silent) -> None:
    """Lay every card as a part of a larger change; ``tick`` hears of phrases.

    Of a phrase that can't be read all stays as it is: whoever reads it next is told.
    """
    ids = connection.execute(query("SELECT id FROM phrase ORDER BY id")).scalars().all()
    for number, phrase_id in enumerate(ids, start=1):
        with suppress(*ILLEGIBLE):
            _lay_cards(connection, phrase_id, sounding_range)
        tick(number, len(ids))


def _lay_cards(connection: Connection, phrase_id: int, sounding_range: Range | None) -> None:
    """Lay the cards of one phrase as a part of a larger change, its octaves broken where the
    phrase says so."""
    record = record_from(connection.execute(query(ONE), {"id": phrase_id}).one())
    words = "SELECT id, key, chart, line FROM card WHERE phrase_id = :id"
    changes = []
    for card in connection.execute(query(words), {"id": phrase_id}).all():
        there = laid(
            record.phrase,
            parse_key(card.key),
            breaking=record.octave_breaks,
            sounding_range=sounding_range,
        )
        chart, line = chart_json(there.chart), line_json(there.line)
        if (chart, line) != (card.chart, card.line):
            changes.append({"chart": chart, "line": line, "id": card.id})
    if changes:
        connection.execute(change(CARD.update("chart", "line")), changes)
