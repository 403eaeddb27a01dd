"""Notes before their time, a line bars away from the click, and tempi: what is said of them."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillbox.hearing.judging import WORDS
from drillbox.hearing.takes import Beat
from tests.hearing.attempts import listened
from tests.hearing.rail import (
    CHART,
    CLICK,
    FLUENT,
    LINE,
    LOOP,
    RAIL,
    START,
    WRITTEN,
    later,
    moved,
    said,
)

BEGINNINGS = {n for n in range(1, len(RAIL)) if LINE.bars[n] != LINE.bars[n - 1]}
ARRIVALS = sorted(LINE.targets | BEGINNINGS | {0})
OTHERS = sorted(set(range(2, 18)) - set(ARRIVALS))


@given(st.sampled_from(ARRIVALS), st.sampled_from([0.3, 0.4, 0.5]), st.booleans())
def test_an_anticipation_is_phrasing(which: int, early: float, click: bool):
    """A target, or a bar's first note, up to an eighth early: as fine as laid-back time. (The
    second note, a target here, would then sound with the first.)"""
    if which != 1:
        assert said(moved(-early, which), CLICK if click else None) == FLUENT


def test_all_targets_may_be_anticipated():
    """Three in a row by nearly an eighth: in time."""
    assert said(moved(-0.4, 8, 17, 21)) == FLUENT


@pytest.mark.parametrize("beat", [CLICK, None], ids=["click", "own time"])
def test_another_note_that_came_early_is_named_as_one_that_came_late(beat):
    """One is clean; two make it rough; they are neither skips nor pauses."""
    assert said(moved(-0.4, 3), beat) == "clean? C in bar 1 an eighth early"
    assert said(moved(-0.4, 3, 11), beat) == (
        "rough? C in bar 1 an eighth early, D in bar 2 an eighth early"
    )
    assert said(moved(-0.9, 21), beat) == "clean? target of Cmaj7 a quarter early"


def test_early_notes_on_the_beat_are_no_swing():
    """Three of them bend the off-beats between them no more than one does."""
    assert said(moved(-0.4, 4, 8, 16)) == "clean? E in bar 1 an eighth early"


@given(st.sampled_from(OTHERS), st.sampled_from(OTHERS), st.sampled_from([0.35, 0.4]))
def test_early_never_costs_more_than_late(one: int, other: int, by: float):
    """The same notes as far before their places as after them."""
    early, late = (said(moved(each, one, other)) for each in (-by, by))
    rank = {word: at for at, word in enumerate(WORDS)}
    if abs(one - other) > 3:
        assert rank[early.split("?")[0]] >= rank[late.split("?")[0]]


@pytest.mark.parametrize(
    ("quarters", "text"),
    [
        (2.0, "rough? came in 2 quarters late"), (4.0, "lost? came in a bar late"),
        (5.0, "lost? came in a bar and a quarter late"), (8.0, "lost? came in 2 bars late"),
        (-4.0, "lost? came in a bar early"),
    ],
)  # fmt: skip
def test_a_bar_from_the_click_each_note_is_over_the_wrong_chord(quarters: float, text: str):
    """So the line is lost to the chart, and it is told in bars."""
    assert said(later(RAIL, quarters), loops=1) == text


def test_a_bars_pause_loses_the_chart_only_where_a_click_goes_on():
    """In the player's own time no chord was waiting."""
    paused = later(RAIL, 4, first=12)
    assert said(paused) == "lost? paused for a bar in bar 2"
    assert said(paused, None) == "rough? paused for a bar in bar 2"
    assert said(RAIL + later(RAIL, LOOP + 4)) == "rough? second time: came in a bar late"


@pytest.mark.parametrize(
    ("tempo", "word"),
    [(80, "lost"), (90, "lost"), (100, "rough"), (110, "rough"), (120, "rough"), (240, "rough"),
     (260, "rough"), (280, "lost"), (320, "lost")],
)  # fmt: skip
@pytest.mark.parametrize("beat", [CLICK, replace(CLICK, start=START - 0.6)], ids=["on", "beside"])
def test_a_steady_tempo_that_isnt_the_clicks_is_the_one_thing_said_of_time(
    tempo: int, word: str, beat: Beat
):
    """Neither pauses nor skips: the tempo that was kept; wrong notes are told besides. From 1.7
    times as fast or as slow it is lost, wherever the line lay on the click."""
    assert said(RAIL, beat, tempo=tempo) == f"{word}? played at {tempo}, not 160"
    wrong = [(at, long, pitch + (n in (3, 9))) for n, (at, long, pitch) in enumerate(RAIL)]
    assert said(wrong, beat, tempo=tempo) == (
        f"{word}? played at {tempo}, not 160, C# for C in bar 1, A for G# in bar 2"
    )


@pytest.mark.parametrize("count", [8, 10, 12])
@pytest.mark.parametrize("swung", [0.0, 1 / 6])
def test_a_short_lines_pause_is_no_slower_tempo(count: int, swung: float):
    """In the player's own time, half-way through a few eighths: a quarter, and a quarter and a
    half."""
    notes = [(at + swung * (at % 1 > 0), long, pitch) for at, long, pitch in RAIL[:count]]
    short = listened(WRITTEN[:count], CHART)
    assert said(notes, None, line=short) == f"fluent? all {count} notes, in time"
    for by, told in ((1.0, "a quarter"), (1.5, "a quarter and an eighth")):
        paused = later(notes, by, first=count // 2)
        assert said(paused, None, line=short).startswith(f"rough? paused for {told} in bar ")


def test_one_time_through_at_another_tempo_is_told():
    """The second loop at 120: the first one's tempo isn't at fault."""
    slow = [(LOOP + at * 4 / 3, long, pitch) for at, long, pitch in RAIL]
    assert said(RAIL + slow) == "rough? second time: played at 120, not 160"


@pytest.mark.parametrize(
    ("tempo", "told"), [(80, ", at 80"), (40, ", at 40"), (180, ", at 180"), (150, ""), (170, "")]
)
def test_without_a_click_the_tempo_is_said_where_it_isnt_about_the_keys(tempo: int, told: str):
    """Own time is fine, and a tenth more or less goes without saying."""
    assert said(RAIL, None, tempo=tempo, keys_tempo=160) == FLUENT + told
    one = [(at, long, pitch + (n == 9)) for n, (at, long, pitch) in enumerate(RAIL)]
    assert said(one, None, tempo=tempo, keys_tempo=160) == f"clean? A for G# in bar 2{told}"
    lost = "lost? stopped in bar 1"
    assert said(RAIL[:8], None, tempo=tempo, keys_tempo=160) == lost
