"""A new store for each test: a copy of one that was migrated once."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from drillbox.store.access import Store
from drillbox.store.opening import open_store
from tests.conftest import copied
from tests.store.making import NOW


@pytest.fixture
def place(empty: Path, tmp_path: Path) -> Path:
    """Return the file of a new, empty store that isn't open."""
    return copied(empty, tmp_path / "store.sqlite3")


@pytest.fixture
def store(place: Path) -> Iterator[Store]:
    """Return a new, empty, open store."""
    with open_store(place, now=NOW) as opened:
        yield opened
