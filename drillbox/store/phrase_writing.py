"""A phrase and its cards as rows: laid out in every key, put in, changed."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import Any

from sqlalchemy import Connection

from drillbox.memory.rules import Rules
from drillbox.memory.tempo import FIRST_STRIDE, first_tempo
from drillbox.music.analysis.codec import analysis_json
from drillbox.music.analysis.whole import analyse
from drillbox.music.chart_codec import chart_json, line_json
from drillbox.music.charts import Chart
from drillbox.music.keys import Key, parse_key
from drillbox.music.moving.transposition import Range, phrase_to
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.titles import folded
from drillbox.store.columns import CARD, PHRASE, STATE
from drillbox.store.sql import change, query

Values = dict[str, Any]

# What was written down; the rest of a phrase's columns are about it.
WRITTEN = (
    "title", "key", "tempo", "double_time", "key_order", "chart", "line", "tags", "aside",
)  # fmt: skip
_LAID = ("key", "position", "chart", "line", "quarters", "put_aside")


def written(
    phrase: Phrase, order: str, tags: Sequence[str] = (), aside: Collection[int] = ()
) -> Values:
    """Return the columns that say what was written down."""
    return {
        "title": phrase.title,
        "key": phrase.key.text(),
        "tempo": phrase.tempo,
        "double_time": phrase.double_time,
        "key_order": order,
        "chart": chart_json(phrase.chart),
        "line": line_json(phrase.line),
        "tags": list(tags),
        "aside": sorted(aside),
    }


def made(phrase: Phrase) -> Values:
    """Return the columns that are made from what was written down."""
    return {"folded": folded(phrase.title), "analysis": analysis_json(analyse(phrase))}


def laid(
    phrase: Phrase,
    keys: Sequence[Key],
    sounding_range: Range | None,
    aside: Collection[int] = (),
) -> list[Values]:
    """Return the columns of a card in each key, its line in the octave that fits the range."""
    versions = (phrase_to(phrase, key, sounding_range=sounding_range) for key in keys)
    return [
        card_values(position, each.key, each.chart, each.line, aside)
        for position, each in enumerate(versions)
    ]


def card_values(
    position: int, key: Key, chart: Chart, line: Sequence[LineNote], aside: Collection[int] = ()
) -> Values:
    """Return the columns of a card that say how it is played, and whether it is."""
    return {
        "key": key.text(),
        "position": position,
        "chart": chart_json(chart),
        "line": line_json(line),
        "quarters": float(chart.length),
        "put_aside": key.tonic.pitch_class in aside,
    }


def insert_phrase(
    connection: Connection, values: Mapping[str, Any], cards: Sequence[Values], rules: Rules
) -> int:
    """Add a phrase with its cards, none of them attempted yet; return its number."""
    words = f"{PHRASE.insert()} RETURNING id"
    phrase_id: int = connection.execute(change(words), values).scalar_one()
    counts = ("clean_run", "attempts", "days_clean", "days_missed", "goal_run", "owned")
    untried = {
        **dict.fromkeys((*STATE, "note", "note_at")),
        **dict.fromkeys(counts, 0),
        "stride": FIRST_STRIDE,
        "tempo": first_tempo(values["tempo"], rules.tempo),
        "phrase_id": phrase_id,
    }
    connection.execute(change(CARD.insert()), [untried | each for each in cards])
    return phrase_id


def change_written(
    connection: Connection, phrase_id: int, values: Mapping[str, Any], cards: Sequence[Values]
) -> None:
    """Change columns of a phrase, and give its cards other charts and lines.

    A card stays the one that sounds in its key, whatever the key is called; what is remembered
    of it stays too, until it is recomputed for another goal.
    """
    names = [name for name in PHRASE.columns if name in values]
    connection.execute(change(PHRASE.update(*names)), {**values, "id": phrase_id})
    ids = card_ids(connection, phrase_id)
    # Two cards may change places, and never stand on one.
    words = "UPDATE card SET position = position + 100 WHERE phrase_id = :id"
    connection.execute(change(words), {"id": phrase_id})
    rows = [{**each, "id": ids[sound(each["key"])]} for each in cards]
    connection.execute(change(CARD.update(*_LAID)), rows)


def card_ids(connection: Connection, phrase_id: int) -> dict[int, int]:
    """Return the numbers of a phrase's cards by the pitch class that each sounds on."""
    words = "SELECT key, id FROM card WHERE phrase_id = :id"
    rows = connection.execute(query(words), {"id": phrase_id}).all()
    return {sound(row.key): row.id for row in rows}


def sound(key: str) -> int:
    """Return the pitch class of a stored key's tonic."""
    return parse_key(key).tonic.pitch_class
