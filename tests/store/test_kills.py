"""Killed at any moment, the store is whole and holds every acknowledged rating once."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tests.store.hardship import quick_folder

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Windows can't fork")
ROOT = Path(__file__).parents[2]


def killed(kills: int, seed: int) -> list[int]:
    """Run the killing in a process of its own; return kills, ratings, undone, silent."""
    with quick_folder() as folder:
        command = [sys.executable, "-m", "tests.store.killing", str(folder / "store.sqlite3")]
        done = subprocess.run(
            [*command, str(kills), str(seed)],
            capture_output=True,
            text=True,
            check=False,
            cwd=ROOT,
        )
    assert done.returncode == 0, done.stdout + done.stderr
    return [int(word) for word in done.stdout.split() if word.isdigit()]


def test_100_kills_lose_nothing() -> None:
    """After each SIGKILL pages and references are whole and every acknowledgement holds.

    Attempt and card moved together: replaying the log gives every card's state.
    """
    _, ratings, undone, silent = killed(100, 1)
    assert ratings > 100  # most children were killed while they were rating
    assert undone > 10
    assert silent < 50


@pytest.mark.slow
def test_3000_kills_lose_nothing() -> None:
    """The same thirty times over."""
    killed(3000, 1000)
