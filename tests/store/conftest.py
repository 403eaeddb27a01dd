"""A new store for each test: a copy of one that was migrated once."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from drillbox.store.access import Store
from drillbox.store.opening import open_store
from tests.store.making import NOW


@pytest.fixture(scope="session")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the file of an empty store with the newest schema; copy it, don't change it."""
    path = tmp_path_factory.mktemp("empty") / "store.sqlite3"
    open_store(path, now=NOW).close()
    return path


@pytest.fixture
def place(empty: Path, tmp_path: Path) -> Path:
    """Return the file of a new, empty store that isn't open."""
    path = tmp_path / "store.sqlite3"
    shutil.copyfile(empty, path)
    path.chmod(0o600)
    return path


@pytest.fixture
def store(place: Path) -> Iterator[Store]:
    """Return a new, empty, open store."""
    with open_store(place, now=NOW) as opened:
        yield opened
