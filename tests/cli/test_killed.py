"""``drillbox drill`` killed at any moment: every rating that it told of is there, once."""

from __future__ import annotations

import sys

import pytest

from tests.store.hardship import killed

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="Windows can't fork")
PROGRAM = "tests.cli.killing_drill"


def test_30_kills_of_a_drill_lose_nothing() -> None:
    """By SIGKILL, while it starts, rates, undoes, or backs the day's first change up.

    After each the pages and references are whole and the ratings on the screen are those in
    the store; the log gives every card.
    """
    kills, ratings, undone = killed(PROGRAM, 30, 1)
    assert kills == 30
    assert ratings > 60
    assert undone > 5


@pytest.mark.slow
def test_3000_kills_of_a_drill_lose_nothing() -> None:
    """The same a hundred times over."""
    killed(PROGRAM, 3000, 1000)
