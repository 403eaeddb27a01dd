"""A store for tests in a real terminal, in which nothing takes long."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from drillbox.practice.adding import keep, prepare, typed_phrase
from drillbox.practice.preferences import preferences_from
from drillbox.store.opening import open_store
from drillbox.store.setting_rows import set_setting

TITLES = ("Red door", "Tin roof", "Wide sill")


@pytest.fixture(scope="session")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a store of three quick phrases, so that no test waits for a count-in."""
    place = tmp_path_factory.mktemp("endings") / "filled.sqlite3"
    now = datetime(2026, 3, 1, 18, tzinfo=UTC)
    preferences = preferences_from({})
    with open_store(place, now=now, backups=False) as store:
        set_setting(store, "click", "off")
        set_setting(store, "goes", "1")
        set_setting(store, "next_after", "0")
        for title in TITLES:
            phrase = typed_phrase(
                title=title, key="C", tempo="400", chart="Dm7 G7 | Cmaj7 (A7)", meter="2/4"
            )
            keep(store, [prepare(phrase, preferences)], now)
    with closing(sqlite3.connect(place)) as database:
        database.execute("UPDATE card SET tempo = 400")
        database.commit()
        database.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return place


@pytest.fixture
def quick(filled: Path, tmp_path: Path) -> Path:
    """Return a copy of that store for one test."""
    return Path(shutil.copy(filled, tmp_path / "quick.sqlite3"))
