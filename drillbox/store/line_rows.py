"""The lines of cards, laid out again when the player's instrument changes."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from drillbox.music.chart_codec import line_from, line_json
from drillbox.music.keys import Key, parse_key
from drillbox.music.moving.octave_breaks import breaks_anywhere
from drillbox.music.phrases import LineNote, Phrase
from drillbox.store.columns import CARD, PHRASE
from drillbox.store.phrase_rows import record_from
from drillbox.store.setting_rows import Set, write_setting
from drillbox.store.sql import change, query
from drillbox.tick import Tick, silent

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from drillbox.store.access import Store

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
