"""The days to come on screen: golden on a fortnight, its sentences, its widths."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from rich.cells import cell_len

from drillbox.practice.coming import Coming, Day, Peak
from drillbox.practice.forecast import Load
from drillbox.screen.look import Look
from drillbox.screen.upcoming import upcoming_screen
from tests.screen.conftest import drawn

TODAY = date(2026, 3, 2)


def coming(*days: tuple[int, float, float], adding: int = 0, more: float = 0.0) -> Coming:
    """Return days of (cards, minutes scheduled, minutes expected)."""
    made = tuple(
        Day(TODAY + timedelta(days=n), cards, minutes, Load(cards + 1, 0, expected))
        for n, (cards, minutes, expected) in enumerate(days)
    )
    most = max(made[1:] or made, key=lambda each: each.expected.minutes)
    peak = Peak(most.day, most.expected.minutes)
    return Coming(made, peak, adding, Peak(most.day, more) if adding else None, 3, True)


def fortnight() -> Coming:
    """Return fourteen days, the first of them with a backlog."""
    days = [(9 - n % 5 * 2, 6.0 - n % 5, 6.4 + n % 4) for n in range(1, 14)]
    return coming((14, 9.5, 11.2), *days, adding=5, more=16.3)


USUAL = Look()


def said(found: Coming, look: Look = USUAL) -> str:
    return drawn(upcoming_screen(found, look), look)


@pytest.mark.parametrize(
    ("name", "look"),
    [
        ("80", Look(width=80)),
        ("40-ascii", Look(width=40, ascii=True)),
        ("plain", Look(width=80, plain=True)),
    ],
)
def test_the_screen_looks_as_it_did(
    name: str, look: Look, golden: Callable[[str, str], None]
) -> None:
    """The screen is what it was when it was last looked at."""
    golden(f"upcoming-{name}", said(fortnight(), look))


def test_what_more_phrases_would_do_is_a_sentence() -> None:
    """Numbers up to ten in words, the day by name."""
    five = said(coming((1, 2.0, 3.0), (2, 4.0, 24.2), adding=5, more=31.4))
    assert "After today, these days peak at 24 minutes on Tue 2026-03-03." in five
    assert (
        "Five more phrases at three new keys a day peak at 31 minutes on Tue 2026-03-03."
        in five.replace("\n", " ")
    )
    one = said(coming((1, 2.0, 3.0), (2, 4.0, 5.0), adding=1, more=1.2))
    assert "One more phrase at three new keys a day peaks at 1 minute on Tue" in one


def test_one_day() -> None:
    """Today alone has no days after it."""
    assert "That makes 3 minutes today." in said(coming((1, 2.0, 3.0)))


def test_bars_are_scheduled_first_then_expected() -> None:
    """Half of the minutes scheduled: half of the bar solid."""
    lines = said(coming((1, 5.0, 10.0)), Look(width=80)).splitlines()
    assert lines[1].count("█") == lines[1].count("░") == 22


def test_nothing_to_come_from_an_empty_store() -> None:
    """It says how to begin."""
    empty = Coming((), Peak(TODAY, 0), 0, None, 3, False)
    assert "drillbox add" in said(empty)


@pytest.mark.parametrize("width", [32, 40, 43, 44, 60, 80, 120])
def test_no_line_is_wider_than_the_terminal(width: int) -> None:
    """From 32 columns on."""
    text = said(fortnight(), Look(width=width))
    assert max(cell_len(line) for line in text.splitlines()) <= width
