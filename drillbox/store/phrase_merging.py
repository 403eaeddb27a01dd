"""Phrases of a document: found in the store, or added with their cards."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sqlalchemy import Connection

from drillbox.music.codec import chart_from, chart_json, line_from, line_json
from drillbox.music.keys import parse_key
from drillbox.store.documents import instant
from drillbox.store.naming import folded
from drillbox.store.sql import change, query

if TYPE_CHECKING:
    from drillbox.store.merging import Merged


@dataclass(frozen=True, slots=True)
class Place:
    """A card of the document and the one of the store that it is. ``goal`` is the store's."""

    card_id: int
    goal: int
    document: Mapping[str, Any]


_KNOWN = "SELECT id, uid, title, folded, key, tempo, chart, line FROM phrase ORDER BY id"


def merge_phrases(
    connection: Connection, phrases: list[dict[str, Any]], merged: Merged
) -> dict[tuple[str, str], Place]:
    """Return for each (phrase uid, key) of the document the card of the store that it is.

    Phrases that the store lacks are added; a title that another phrase has gets a number.
    """
    known = connection.execute(query(_KNOWN)).all()
    by_uid = {row.uid: (row.id, row.tempo) for row in known}
    by_title = {row.folded: row for row in known}
    taken = set(by_title)
    places: dict[tuple[str, str], Place] = {}
    for each in phrases:
        found = by_uid.get(each["uid"]) or _twin(each, by_title)
        if found is None:
            title = _free(each["title"], taken)
            if title != each["title"]:
                merged.renamed[each["title"]] = title
            found = _add(connection, each, title), int(each["tempo"])
            merged.phrases += 1
        for card, card_id in _pairs(connection, each["cards"], found[0]):
            places[each["uid"], card["key"]] = Place(card_id, found[1], card)
    return places


def _twin(phrase: Mapping[str, Any], by_title: Mapping[str, Any]) -> tuple[int, int] | None:
    """Return the phrase of the store that was written down there a second time, if there is one."""

    row = by_title.get(folded(phrase["title"]))
    same = row is not None and all(phrase[name] == getattr(row, name) for name in _WRITTEN)
    return (row.id, row.tempo) if row is not None and same else None


_WRITTEN = ("key", "chart", "line")


def _free(title: str, taken: set[str]) -> str:

    free, number = title, 1
    while folded(free) in taken:
        number += 1
        free = f"{title} ({number})"
    taken.add(folded(free))
    return free


def _pairs(
    connection: Connection, cards: list[dict[str, Any]], phrase_id: int
) -> list[tuple[dict[str, Any], int]]:
    """Return each card of the document with the id of the store's card that sounds in its key.

    A note to self is taken over where the store's card has none.
    """
    words = "SELECT id, key, note FROM card WHERE phrase_id = :id"
    rows = {_sound(row.key): row for row in connection.execute(query(words), {"id": phrase_id})}
    for each in cards:
        row = rows[_sound(each["key"])]
        if each["note"] and row.note is None:
            connection.execute(
                change("UPDATE card SET note = :note WHERE id = :id"),
                {"note": each["note"], "id": row.id},
            )
    return [(each, rows[_sound(each["key"])].id) for each in cards]


def _sound(key: str) -> tuple[int, str]:
    parsed = parse_key(key)
    return parsed.tonic.pitch_class, parsed.mode


_PHRASE = """
INSERT INTO phrase (uid, title, folded, key, tempo, double_time, key_order, chart, line, analysis,
                    added_at, retired_at)
VALUES (:uid, :title, :folded, :key, :tempo, :double_time, :key_order, :chart, :line, :analysis,
        :added_at, :retired_at) RETURNING id
"""
_CARD = """
INSERT INTO card (phrase_id, key, position, chart, line, quarters, tempo, clean_run, attempts, note)
VALUES (:phrase_id, :key, :position, :chart, :line, :quarters, :tempo, 0, 0, :note)
"""


def _add(connection: Connection, phrase: Mapping[str, Any], title: str) -> int:
    """Add a phrase with its cards, none of them attempted yet; return its id."""

    names = ("uid", "key", "double_time", "key_order", "analysis")
    values = {
        "tempo": int(phrase["tempo"]),
        **{name: phrase[name] for name in names},
        **_music(phrase),
        "title": title,
        "folded": folded(title),
        "added_at": instant(phrase["added_at"]),
        "retired_at": instant(phrase["retired_at"]),
    }
    values.pop("quarters")
    phrase_id: int = connection.execute(change(_PHRASE), values).scalar_one()
    cards = [
        {
            "phrase_id": phrase_id,
            **{name: each[name] for name in ("key", "note")},
            **{name: int(each[name]) for name in ("position", "tempo")},
            **_music(each),
        }
        for each in phrase["cards"]
    ]
    connection.execute(change(_CARD), cards)
    return phrase_id


def _music(written: Mapping[str, Any]) -> dict[str, Any]:
    """Return chart and line, read and written again so that only what can be read is stored."""
    chart = chart_from(written["chart"])
    line = line_json(line_from(written["line"]))
    parse_key(written["key"])
    return {"chart": chart_json(chart), "line": line, "quarters": float(chart.length)}
