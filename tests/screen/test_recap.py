"""What a recap's last line promises of the days to come."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from drillbox.practice.drilling import Recap
from drillbox.screen.recap import due_line

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


def test_without_a_due_day_there_is_none_to_name() -> None:
    """Nothing was ever rated, or all of it was undone."""
    assert due_line(Recap((), 0.0, (), TODAY, all_done=False)) == "Nothing is due yet."
