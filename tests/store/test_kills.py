"""Killed at any moment, the store is whole and holds every acknowledged rating once."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Windows can't fork")
ROOT = Path(__file__).parents[2]


def killed(place: Path, kills: int, seed: int) -> str:
    """Run the killing in a process of its own and return its last line."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.store.killing", str(place), str(kills), str(seed)],
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def test_300_kills_lose_nothing(tmp_path: Path) -> None:
    """After each SIGKILL pages and references are whole and every acknowledgement holds.

    Attempt and card moved together: replaying the log gives every card's state.
    """
    said = killed(tmp_path / "store.sqlite3", 300, 1)
    ratings = int(said.split()[2])
    silent = int(said.split()[6])
    assert ratings > 300  # most children were killed while they were rating
    assert silent < 150


@pytest.mark.slow
def test_3000_kills_lose_nothing(tmp_path: Path) -> None:
    """The same ten times over."""
    killed(tmp_path / "store.sqlite3", 3000, 1000)
