"""``drillbox drill`` killed at any moment: every rating that it told of is there, once."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tests.store.hardship import quick_folder

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Windows can't fork")
ROOT = Path(__file__).parents[2]


def killed(kills: int, seed: int) -> list[int]:
    """Run the killing in a process of its own; return its figures: kills, ratings, undone."""
    with quick_folder() as folder:
        command = [sys.executable, "-m", "tests.cli.killing_drill", str(folder / "store.sqlite3")]
        done = subprocess.run(
            [*command, str(kills), str(seed)],
            capture_output=True,
            text=True,
            check=False,
            cwd=ROOT,
        )
    assert done.returncode == 0, done.stdout + done.stderr
    return [int(word) for word in done.stdout.split() if word.isdigit()]


def test_300_kills_of_a_drill_lose_nothing() -> None:
    """By SIGKILL, while it starts, rates, undoes, or backs the day's first change up.

    After each the pages and references are whole and the ratings on the screen are those in
    the store; the log gives every card.
    """
    kills, ratings, undone = killed(300, 1)
    assert kills == 300
    assert ratings > 600
    assert undone > 50


@pytest.mark.slow
def test_3000_kills_of_a_drill_lose_nothing() -> None:
    """The same ten times over."""
    killed(3000, 1000)
