"""A new store for each test, and the demo's store built once for those that only read it."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from drillbox.practice.demo import demo_store
from drillbox.store.opening import Store, open_store
from tests.store.making import NOW

DEMO_NOW = datetime(2026, 3, 2, 18, tzinfo=UTC)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """Return a new, empty, open store."""
    with open_store(tmp_path / "store.sqlite3", now=NOW, backups=False) as opened:
        yield opened


@pytest.fixture(scope="session")
def demo_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the file of the demo's store on 2 March 2026; read it, don't change it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("TZ", "UTC")
        return demo_store(DEMO_NOW, lambda _: None, tmp_path_factory.mktemp("demo"))


@pytest.fixture
def demo(demo_file: Path) -> Iterator[Store]:
    """Return the demo's store, open."""
    with open_store(demo_file, now=DEMO_NOW, backups=False) as opened:
        yield opened
