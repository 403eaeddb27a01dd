"""A glance at titles and tags for shell completion, past everything that takes time to load."""

from __future__ import annotations

import json
import os
import sqlite3
from contextlib import closing
from pathlib import Path

PATIENCE = 0.1  # seconds that another writer is waited for


def place_of(named: str | None) -> Path | None:
    """Return the file of a store by its option, its variable or the platform's default.

    None for a server, which a press of Tab shouldn't wait for.
    """
    from drillbox.store.files import default_location, from_home

    found = named or os.environ.get("DRILLBOX_STORE") or default_location()
    return None if "://" in str(found) else from_home(found)


def titles_in(place: Path, table: str, *, retired: bool = False) -> list[str]:
    """Return the titles of phrases in practice or retired, or of tunes or gigs, by the alphabet."""
    where = f" WHERE (retired_at IS NOT NULL) = {retired:d}" if table == "phrase" else ""
    return _column(place, f"SELECT title FROM {table}{where} ORDER BY folded")


def tags_in(place: Path, table: str) -> list[str]:
    """Return the tags of phrases or tunes, each once."""
    found = {tag for text in _column(place, f"SELECT tags FROM {table}") for tag in _listed(text)}
    return sorted(found, key=str.casefold)


def _listed(text: str) -> list[str]:
    """Return the texts of a list in JSON, none where it isn't one."""
    try:
        found = json.loads(text)
    except ValueError:
        return []
    return [each for each in found if isinstance(each, str)] if isinstance(found, list) else []


def _column(place: Path, words: str) -> list[str]:
    """Return one column; nothing where there is no store, or none of today's form."""
    if not place.is_file():
        return []
    try:
        address = f"{place.absolute().as_uri()}?mode=ro"
        with closing(sqlite3.connect(address, uri=True, timeout=PATIENCE)) as raw:
            raw.execute("PRAGMA trusted_schema = OFF")
            return [str(row[0]) for row in raw.execute(words)]
    except (sqlite3.Error, ValueError):
        return []
