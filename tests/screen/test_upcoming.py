"""The days to come on screen: golden on a fortnight, its sentences, its widths."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta

import pytest
from rich.cells import cell_len

from drillbox.memory.forecasting import Load, Range
from drillbox.practice.coming import Coming, Day, Whole
from drillbox.screen.advising import GUESSED
from drillbox.screen.look import Look
from drillbox.screen.upcoming import upcoming_screen
from tests.screen.conftest import drawn

TODAY = date(2026, 3, 2)


def sure(*figures: float) -> Load:
    """Return a load in which every run came to the same."""
    return Load(*(Range(each, each, each) for each in figures))


def about(*figures: float) -> Load:
    """Return a load whose runs differ by two either way in all but the minutes."""
    loads = [Range(each, max(0, each - 2), each + 2) for each in figures]
    return Load(*loads)._replace(minutes=Range(figures[3], figures[3], figures[3]))


def coming(
    *loads: Load, adding: int = 0, more: Load | None = None, whole: tuple[Whole, ...] = ()
) -> Coming:
    days = tuple(Day(TODAY + timedelta(days=n), load) for n, load in enumerate(loads))
    return Coming(days, whole, 20, 36, 4, 9, adding, more, False)


def fortnight() -> Coming:
    """Return fourteen days of a player on the way."""
    days = [about(14 + n % 3, 38 + n % 5, n % 2, 20, 18 + n, 10 + n, 5 + n) for n in range(14)]
    whole = (
        Whole("Four lamps", TODAY + timedelta(days=9), TODAY + timedelta(days=12)),
        Whole("Late kettle, first half", TODAY + timedelta(days=11), None),
    )
    more = about(15, 40, 4, 20, 48, 21, 16)
    return coming(*days, adding=5, more=more, whole=whole)


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


def one_line(found: Coming, look: Look = USUAL) -> str:
    return " ".join(said(found, look).split())


def test_where_the_days_lead_is_a_sentence() -> None:
    """What stands at the end beside what stands now; a range only where the runs differ."""
    text = one_line(coming(sure(9, 30, 1, 20, 12, 10, 5), about(9, 30, 1, 20, 14, 11, 6)))
    assert (
        "By 3 Mar: 12 to 16 of 36 keys started, 9 to 13 at goal tempo (9 now), 4 to 8 owned"
        " (4 now)."
    ) in text
    assert (
        "By 2 Mar: 12 of 36 keys started, 10 at goal tempo (9 now), 5 owned (4 now)."
        in one_line(coming(sure(9, 30, 1, 20, 12, 10, 5)))
    )


def test_when_phrases_are_owned_in_all_keys() -> None:
    """As a range of days; open at its end where a run didn't come so far."""
    text = one_line(fortnight())
    assert "'Four lamps' by about 11 Mar to 14 Mar" in text
    assert "'Late kettle, first half' by about 13 Mar or later" in text


def test_what_more_phrases_would_do_is_a_sentence() -> None:
    """Numbers up to ten in words, and what it costs of what is owned."""
    here, more = sure(9, 30, 1, 20, 12, 10, 5), sure(9, 30, 4, 20, 30, 8, 3)
    assert (
        "With five more phrases in the same minutes: 30 keys started, 8 at goal tempo, 3 owned by"
        " then, 2 fewer owned than without."
    ) in one_line(coming(here, here, adding=5, more=more))
    assert "With one more phrase in the same minutes" in one_line(coming(here, adding=1, more=more))


@pytest.mark.parametrize(
    ("alone", "more", "said"),
    [
        (Range(20, 18, 22), Range(23, 22, 24), ""),
        (Range(20, 18, 22), Range(17, 16, 18), ""),
        (Range(20, 18, 22), Range(24, 23, 25), ", 4 more owned than without"),
        (Range(20, 18, 22), Range(16, 15, 17), ", 4 fewer owned than without"),
    ],
)
def test_a_difference_is_told_only_where_the_runs_agree(alone: Range, more: Range, said: str):
    """Where the two ranges meet, dice may have made it."""
    here, then = sure(9, 30, 1, 20, 12, 10, 5), sure(9, 30, 4, 20, 30, 8, 3)
    found = coming(here._replace(owned=alone), adding=5, more=then._replace(owned=more))
    assert f"owned by then{said}." in one_line(found)


def test_phrases_that_would_wait_are_told() -> None:
    """Where what was begun takes all the minutes, no key of theirs would start."""
    here = sure(9, 30, 1, 20, 12, 10, 5)
    assert "Five more phrases would have to wait: none of their keys would start" in one_line(
        coming(here, adding=5, more=here)
    )


def test_sessions_that_end_early_are_told() -> None:
    """From the first day on that takes less than its minutes; today's left-over says nothing."""
    full, short = sure(9, 30, 1, 20, 12, 10, 5), sure(9, 30, 1, 11, 36, 36, 36)
    assert "may end before" not in one_line(coming(short, full, full))
    assert (
        "From 4 Mar on some sessions may end before their 20 minutes, where the next go wouldn't"
        " fit."
    ) in one_line(coming(full, full, short))
    assert "Sessions may end before their 20 minutes, where the next go" in one_line(
        coming(full, short, short)
    )


def test_a_day_whose_minutes_are_played_says_so() -> None:
    """No keys and no goes of a day that is over: it isn't called a day without any."""
    found = coming(sure(0, 0, 0, 0, 12, 10, 5), sure(9, 30, 1, 20, 12, 10, 5))
    assert said(found).splitlines()[1].split()[:6] == ["today", "–", "–", "–", "–", "5"]
    assert "Today's minutes are played. By 3 Mar:" in one_line(found)
    assert said(found, Look(plain=True)).splitlines()[0] == (
        "today: your minutes are played; then 10 at goal tempo, 5 owned"
    )


def test_bars_are_owned_then_at_goal_then_started() -> None:
    """A third of all keys each: a third of the bar each, but for rounding."""
    line = said(coming(sure(9, 30, 1, 20, 36, 24, 12)), Look(width=100)).splitlines()[1]
    assert (line.count("█"), line.count("▒"), line.count("·")) == (10, 10, 10)


def test_nothing_to_come_from_an_empty_store() -> None:
    """It says how to begin."""
    empty = Coming((), (), 20, 0, 0, 0, 0, None, True)
    assert "drillbox add" in said(empty)


def test_a_guess_is_called_one() -> None:
    """Before there are goes to learn from."""
    assert f"{GUESSED} By" in one_line(replace(fortnight(), guessed=True))
    assert GUESSED not in one_line(fortnight())


@pytest.mark.parametrize("width", [32, 40, 43, 44, 60, 80, 120])
def test_no_line_is_wider_than_the_terminal(width: int) -> None:
    """From 32 columns on."""
    text = said(fortnight(), Look(width=width))
    assert max(cell_len(line) for line in text.splitlines()) <= width
