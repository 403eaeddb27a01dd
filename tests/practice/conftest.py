"""A new store for each test, and one with a fixed past for those that only read it."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from drillbox.store.access import Store
from drillbox.store.opening import open_store
from tests.practice.past import NOW as PAST_NOW
from tests.store.making import NOW


@pytest.fixture
def store(made: Path) -> Iterator[Store]:
    """Return a new, empty, open store."""
    with open_store(made, now=NOW, backups=False) as opened:
        yield opened


@pytest.fixture
def past(past_file: Path) -> Iterator[Store]:
    """Return the store with a past, open."""
    with open_store(past_file, now=PAST_NOW, backups=False) as opened:
        yield opened
