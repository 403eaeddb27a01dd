"""What a recap's last line promises of the days to come."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

import pytest

from drillbox.memory.recall import MemoryState
from drillbox.practice.drilling import Recap
from drillbox.screen.look import Look
from drillbox.screen.recap import due_line, recap_screen
from tests.screen.states import RECAP, shown

TODAY = date(2026, 3, 2)


@pytest.mark.parametrize(
    ("days", "line"),
    [
        (0, "Due next: 3 keys today."),
        (1, "Due next: 3 keys tomorrow."),
        (2, "Due next: 3 keys in 2 days. With time to spare, keys come sooner."),
        (90, "Due next: 3 keys on 2026-05-31. With time to spare, keys come sooner."),
    ],
)
def test_a_due_day_is_no_promise_to_leave_a_key_alone_till_then(days: int, line: str) -> None:
    """The minutes are used whatever is due, so that most keys come before their day."""
    due = ((TODAY, 0), (TODAY + timedelta(days), 3), (TODAY + timedelta(100), 9))
    assert due_line(Recap((), 0.0, due, TODAY, all_done=False)) == line


@pytest.mark.parametrize(("played", "word"), [(0, "–"), (1, "rough")])
def test_the_first_go_of_a_second_session_is_not_the_days(played: int, word: str) -> None:
    """Only the day's first go counts for memory: where it was in another session, none is told."""
    first, last, *_ = RECAP.attempts
    memory = MemoryState(8.0, 5.0, TODAY - timedelta(played))
    again = replace(first, before=first.before._replace(memory=memory))
    screen = shown(
        Look(80), lambda look: recap_screen(replace(RECAP, attempts=(again, last)), look)
    )
    row = next(line for line in screen.splitlines() if line.startswith("Back stairs"))
    assert row.split()[5:7] == [word, "clean"]


@pytest.mark.parametrize(
    ("days", "clean_run", "missed", "word"),
    [
        (42, 0, 1, "soon"),
        (42, 1, 1, "in 42 days"),
        (1, 0, 1, "tomorrow"),
        (42, 0, 40, "in 42 days"),  # it never stays, so that others come before it
    ],
)
def test_what_was_missed_comes_before_it_is_due(
    days: int, clean_run: int, missed: int, word: str
) -> None:
    """A drill begins with the keys that were missed last: their due day would be a promise that
    it breaks."""
    first = RECAP.attempts[0]
    due = TODAY + timedelta(days)
    after = first.after._replace(due=due, clean_run=clean_run, days_missed=missed)
    recap = replace(RECAP, attempts=(replace(first, after=after),), today=TODAY)
    screen = shown(Look(80), lambda look: recap_screen(recap, look))
    row = next(line for line in screen.splitlines() if line.startswith("Back stairs"))
    assert row.endswith(f" {word}")


def test_without_a_due_day_there_is_none_to_name() -> None:
    """Nothing was ever rated, or all of it was undone."""
    assert due_line(Recap((), 0.0, (), TODAY, all_done=False)) == "Nothing is due yet."
