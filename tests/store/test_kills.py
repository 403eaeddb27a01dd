"""Killed at any moment, the store is whole and holds every acknowledged rating once."""

from __future__ import annotations

import sys

import pytest

from tests.store.hardship import killed

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Windows can't fork")
PROGRAM = "tests.store.killing"


def test_100_kills_lose_nothing() -> None:
    """After each SIGKILL pages and references are whole and every acknowledgement holds.

    Attempt and card moved together: replaying the log gives every card's state.
    """
    _, ratings, undone, silent = killed(PROGRAM, 100, 1)
    assert ratings > 100  # most children were killed while they were rating
    assert undone > 10
    assert silent < 50


@pytest.mark.slow
def test_3000_kills_lose_nothing() -> None:
    """The same thirty times over."""
    killed(PROGRAM, 3000, 1000)
