"""Plots of weeks: golden on a fixed past, right at the edges, and in words where drawing is off."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from rich.cells import cell_len

from drillbox.practice.progress import Week
from drillbox.screen.look import Look
from drillbox.screen.plots import plot
from drillbox.screen.progress import progress_screen
from tests.screen.conftest import drawn

MONDAY = date(2026, 3, 2)


def week(number: int, **changed: float | None) -> Week:
    values: dict[str, float | None] = {
        "attempts": 10, "minutes": 5.0, "tries": 8, "recalled": 6, "tempo": 0.7, "started": 3,
        "owned": 1,
    }  # fmt: skip
    return Week(monday=MONDAY + timedelta(days=7 * number), **{**values, **changed})


@pytest.mark.parametrize(
    ("name", "look"),
    [
        ("80", Look(width=80)),
        ("40-ascii", Look(width=40, ascii=True)),
        ("plain", Look(width=80, plain=True)),
    ],
)
def test_the_screen_looks_as_it_did(
    name: str, look: Look, past_weeks: tuple[Week, ...], golden: Callable[[str, str], None]
) -> None:
    """The screen is what it was when it was last looked at."""
    golden(f"progress-{name}", drawn(progress_screen(past_weeks, look), look))


def test_columns_stand_for_their_values() -> None:
    """Three rows of eight eighths: all, half, a trace, nothing, no value."""
    days = [MONDAY + timedelta(days=7 * n) for n in range(5)]
    lines = plot("minutes", [24.0, 12.0, 0.1, 0.0, None], "24", 24.0, days, Look(), 22)
    assert [line.plain.rstrip() for line in lines] == [
        "minutes",
        "   24 │██",
        "      │██ ▄▄",
        "    0 │██ ██ ▁▁",
        "       2 Mar    30 Mar",
    ]


def test_more_weeks_than_cells_show_the_latest() -> None:
    """Sixty weeks in forty cells: one cell a week, the last thirty-three."""
    days = [MONDAY + timedelta(days=7 * n) for n in range(60)]
    values = [float(n) for n in range(60)]
    lines = plot("minutes", values, "59", 59.0, days, Look(width=40), 40)
    assert lines[-1].plain.split() == [f"{days[27].day}", f"{days[27]:%b}", "19", "Apr"]
    assert all(cell_len(line.plain) == 40 for line in lines)


@pytest.mark.parametrize("width", [32, 40, 71, 72, 80, 132])
@pytest.mark.parametrize("count", [1, 2, 12, 60])
def test_no_line_is_wider_than_the_terminal(width: int, count: int) -> None:
    """One week or sixty, narrow or wide."""
    weeks = [week(n) for n in range(count)]
    text = drawn(progress_screen(weeks, Look(width=width)), Look(width=width))
    assert max(cell_len(line) for line in text.splitlines()) <= width


def test_a_week_without_practice_has_no_share() -> None:
    """A dash, not nought per cent; and a first week of nothing but zeros draws no column."""
    idle = week(1, attempts=0, minutes=0.0, tries=0, recalled=0, tempo=None)
    text = drawn(progress_screen([week(0), idle], Look()), Look())
    (line,) = [line for line in text.splitlines() if line.startswith("2026-03-09")]
    assert line.split() == ["2026-03-09", "0", "0", "–", "–", "3", "1"]


def test_goes_above_the_goal_have_their_scale() -> None:
    """After a goal was lowered, the weeks before it stand over 100 % and still differ."""
    text = drawn(progress_screen([week(0, tempo=2.0), week(1, tempo=1.0)], Look()), Look())
    (line,) = [line for line in text.splitlines() if "200%" in line and "│" in line]
    assert line.split("│")[-1].split() == ["██"]


def test_nothing_played() -> None:
    """It says how to begin."""
    assert "drillbox drill" in drawn(progress_screen([], Look()), Look())
