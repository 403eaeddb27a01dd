"""The summary's screen: golden on a fixed past, whole at every width, and helpful when empty."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from rich.cells import cell_len

from drillbox.music.keys import MAJOR, USUAL
from drillbox.practice.standing import Slipping
from drillbox.practice.summing import Advice, Summary
from drillbox.screen.look import Look
from drillbox.screen.summary import summary_screen
from tests.screen.conftest import drawn
from tests.screen.summing_up import UNPLAYED, cell, made, standing

LOOKS = {
    "80": Look(width=80),
    "40": Look(width=40),
    "80-ascii": Look(width=80, ascii=True),
    "plain": Look(width=80, plain=True),
}


def shown(summary: Summary, look: Look, *, every: bool = False) -> str:
    return drawn(summary_screen(summary, look, USUAL, every=every), look)


@pytest.mark.parametrize("name", LOOKS)
def test_the_screen_looks_as_it_did(
    name: str,
    past_summary: Summary,
    golden: Callable[[str, str], None],
) -> None:
    """The screen is what it was when it was last looked at."""
    golden(f"summary-{name}", shown(past_summary, LOOKS[name]))


@pytest.mark.parametrize("width", [32, 40, 56, 63, 64, 70, 76, 80, 100, 200])
@pytest.mark.parametrize("ascii", [False, True])
def test_no_line_is_wider_than_the_terminal(width: int, ascii: bool, past_summary: Summary) -> None:
    """From 32 columns on no line runs over the edge, and from 40 on no heading is cut."""
    text = shown(past_summary, Look(width=width, ascii=ascii))
    assert max(cell_len(line) for line in text.splitlines()) <= width
    assert width < 40 or " share   goes" in text
    if ascii:
        assert text.isascii()


def test_meaning_is_told_without_colour(past_summary: Summary) -> None:
    """Weak rows have their sign, levels their letters; the words stand under the table."""
    lines = shown(past_summary, Look()).splitlines()
    weak = [each.name for each in past_summary.phrases if each.verdict == "weak"]
    assert weak
    for name in weak:
        assert any(line.startswith(f"▼ {name[:12]}") for line in lines)
    text = " ".join(lines)
    assert "▼ weak: 5 first goes at least, and the upper end of the 80% interval lies below" in text
    assert "as good as the rest" in text
    assert "◆O owned" in text


def test_plain_says_every_verdict_in_words(past_summary: Summary) -> None:
    """One line each, heading and value by turns, no drawing."""
    text = shown(past_summary, Look(plain=True))
    assert "phrase Paper lantern, verdict as good as the rest, share" in text
    assert not set("●▼┊") & set(text)
    assert "lies below your mean (67%). not enough played yet: under 5 first goes." in text
    assert "Paper lantern: C " in text


def test_long_tables_are_cut_unless_all_is_asked_for() -> None:
    """Two hundred phrases: twelve rows, how many are left, and the way to see them."""
    many = made(*(cell(n, key) for n in range(1, 201) for key in MAJOR[:3]))
    short = shown(many, Look())
    assert "and 188 more: --all shows them." in short
    assert len(short.splitlines()) < 60
    whole = shown(many, Look(), every=True)
    assert sum("Line 200" in line for line in whole.splitlines()) == 2
    assert "--all" not in whole


def test_nothing_added_nothing_played() -> None:
    """Each says what to do."""
    empty = replace(made(advice=Advice("add")))
    assert "drillbox add" in shown(empty, Look())
    waiting = made(advice=Advice("start"), phrases=3)
    text = shown(waiting, Look())
    assert "3 phrases in 36 keys, and nothing rated yet" in text
    assert "drillbox drill" in text.replace("\n", " ")


def test_one_attempt_is_not_enough() -> None:
    """The sign and the words for it; nothing is called weak."""
    one = made(cell(1, MAJOR[0]))
    few = standing(1, "Line 1", UNPLAYED, tries=1)
    text = shown(replace(one, keys=(), phrases=(few,)), Look())
    assert "? Line 1" in text
    assert "? not enough played yet: under 5 first goes." in text


@pytest.mark.parametrize(
    ("look", "tempo", "waits"),
    [
        (Look(80), True, True),
        (Look(60), False, True),
        (Look(40), False, False),
        (Look(40, plain=True), True, True),
    ],
)
def test_only_the_columns_that_are_there_are_told_of(look: Look, tempo: bool, waits: bool) -> None:
    """A narrow table has fewer; the chance that sentences name is told at any width."""
    text = " ".join(shown(made(cell(1, MAJOR[0])), look).split())
    assert ("tempo: share of the goal." in text) is tempo
    assert ("waits for: what they lack" in text) is waits
    assert "clean at goal now: the chance" in text


def test_everything_owned() -> None:
    """A whole circle of diamonds, and what comes after it."""
    text = shown(made(*(cell(1, key, level="owned") for key in MAJOR)), Look())
    assert text.count("◆O") == 13  # the grid's twelve and the legend
    assert "12 of 12 keys started, 12 at goal tempo, 12 owned" in text
    assert "You own every key" in text or "you own every key" in text


def test_a_lenient_player_is_told_what_the_chances_are_of() -> None:
    """One line under the grid, for them alone."""
    said = "only fluent counts as clean"
    for lenient in (True, False):
        text = shown(made(cell(1, MAJOR[0]), lenient=lenient), Look(width=80))
        assert (said in " ".join(text.split())) is lenient


def test_what_never_stays_is_in_the_summary() -> None:
    """Why a key hardly comes any more is said where the player looks for it."""
    slipping = (Slipping("Four lamps", "Db", 0, 8),)
    for each in (slipping, ()):
        text = shown(made(cell(1, MAJOR[0]), slipping=each), Look(width=80))
        assert ("'Four lamps' in D♭ (0 of 8 days)" in " ".join(text.split())) is bool(each)


def test_titles_cannot_play_with_the_terminal() -> None:
    """Escape codes, bidi marks and markup in a title come out as harmless text."""
    evil = made(cell(1, MAJOR[0], title="[red]\x1b[31mx\u202e\n[/red]"))
    text = shown(evil, Look())
    assert "\x1b" not in text
    assert "\u202e" not in text
    assert "[red][31mx [/red]" in text
