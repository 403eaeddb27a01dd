"""Killed at any moment, the store is whole and holds every acknowledged rating once."""

from __future__ import annotations

import sys

import pytest

from tests.store.hardship import killed

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Windows can't fork")
PROGRAM = "tests.store.killing"


def test_50_kills_lose_nothing() -> None:
    """After each SIGKILL pages and references are whole and every acknowledgement holds.

    Attempt and card moved together: replaying the log gives every card's state.
    """
    _, ratings, undone, silent = killed(PROGRAM, 50, 1)
    assert ratings > 50  # most children were killed while they were rating
    assert undone > 5
    assert silent < 25


@pytest.mark.slow
def test_3000_kills_lose_nothing() -> None:
    """The same sixty times over."""
    killed(PROGRAM, 3000, 1000)
