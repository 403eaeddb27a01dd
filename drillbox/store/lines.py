"""The lines of cards, laid anew when the player's instrument changes."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from drillbox.music.codec import line_json
from drillbox.music.keys import Key, parse_key
from drillbox.music.phrases import LineNote, Phrase
from drillbox.store.columns import PHRASE
from drillbox.store.phrases import record_from
from drillbox.store.settings import Set, write_setting
from drillbox.store.sql import change, query

if TYPE_CHECKING:
    from drillbox.store.opening import Store

LineIn = Callable[[Phrase, Key], tuple[LineNote, ...]]


def set_and_lay(store: Store, setting: Set, line_in: LineIn) -> int:
    """Set a setting and lay the line of every card by ``line_in``, in one transaction.

    ``line_in`` gets a phrase as written and the card's key. Return how many cards have
    another line now; what is remembered of them, and their attempts, stay as they are.
    """
    changed = 0
    with store.write() as connection:
        write_setting(connection, setting)
        for row in connection.execute(query(f"{PHRASE.select()} ORDER BY id")).all():
            phrase = record_from(row).phrase
            if not phrase.line:
                continue
            cards = connection.execute(
                query("SELECT id, key, line FROM card WHERE phrase_id = :id ORDER BY position"),
                {"id": row.id},
            ).all()
            for card in cards:
                line = line_json(line_in(phrase, parse_key(card.key)))
                if line != card.line:
                    connection.execute(
                        change("UPDATE card SET line = :line WHERE id = :id"),
                        {"line": line, "id": card.id},
                    )
                    changed += 1
    return changed
