"""A go is as good as its worst time through: only silence and a real stop are passed over."""

from __future__ import annotations

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillbox.hearing.takes import Beat
from tests.hearing.rail import (
    CLICK,
    FLUENT,
    LOOP,
    RAIL,
    START,
    TEMPO,
    Sounded,
    later,
    said,
    transposed,
)

DICE = random.Random(1)
NOODLED: Sounded = [(n / 2, 0.5, DICE.choice([60, 62, 64, 65, 67, 69, 71, 72])) for n in range(24)]
ANYHOW = pytest.mark.parametrize(
    ("beat", "loops"), [(CLICK, 2), (CLICK, None), (None, None)],
    ids=["drill", "recording", "own time"],
)  # fmt: skip


@ANYHOW
@pytest.mark.parametrize(("up", "key"), [(1, "Db"), (5, "F")])
def test_a_time_through_in_another_key_is_told(beat: Beat | None, loops, up: int, key: str):
    """The whole line a semitone or a fourth up, once of two times, in either order."""
    told = f"played in {key}"
    away = transposed(RAIL, up)
    assert said(RAIL + later(away, LOOP), beat, loops=loops) == f"rough? second time: {told}"
    assert said(away + later(RAIL, LOOP), beat, loops=loops) == f"rough? first time: {told}"


@ANYHOW
def test_a_time_through_of_other_notes_is_told(beat: Beat | None, loops):
    """Noodling in the key for all four bars, once of two times, in either order."""
    second = said(RAIL + later(NOODLED, LOOP), beat, loops=loops)
    first = said(NOODLED + later(RAIL, LOOP), beat, loops=loops)
    for told, which in ((second, "second"), (first, "first")):
        assert told.startswith(f"rough? {which} time: ")
        assert told.endswith(" of 22 notes recognised")


@ANYHOW
@pytest.mark.parametrize("rest", [later(NOODLED[:14], 4), transposed(RAIL, 1)[8:]])
def test_a_bar_that_was_right_doesnt_hide_what_followed(beat: Beat | None, loops, rest: Sounded):
    """The second time right for its first bar, then noodled or a semitone up to its end."""
    told = said(RAIL + later(RAIL[:8] + rest, LOOP), beat, loops=loops)
    assert told.startswith("rough? second time: ")
    assert "stopped" not in told


@ANYHOW
@pytest.mark.parametrize("count", [0, 4, 8, 12, 16, 21])
def test_a_second_time_that_just_stopped_doesnt_count(beat: Beat | None, loops, count: int):
    """Right as far as it went, then silence: once through is enough."""
    assert said(RAIL + later(RAIL[:count], LOOP), beat, loops=loops) == FLUENT


def test_a_second_time_that_broke_down_counts():
    """Every other note wrong, then silence: that is why it stopped."""
    broken = [(at, long, pitch + n % 2) for n, (at, long, pitch) in enumerate(RAIL[:12])]
    assert said(RAIL + later(broken, LOOP)).startswith("rough? second time: ")


@pytest.mark.parametrize("count", [4, 8, 22])
def test_what_comes_after_the_clicks_last_loop_is_no_time_through(count: int):
    """In a round the next key follows at once; at the end of a drill one may noodle on."""
    following = later(transposed(RAIL, 5), LOOP)[:count]
    assert said(RAIL + following, loops=1) == FLUENT
    assert said(RAIL + later(NOODLED, LOOP)[:count], loops=1) == FLUENT


def test_a_fill_is_no_time_through():
    """Four notes that lead back to the top, and some after the last bar but one: as one plays."""
    fill = [(14 + n / 2, 0.4, 74 - n) for n in range(4)]
    short = [(at, min(long, 1.5), pitch) for at, long, pitch in RAIL]
    for beat in (CLICK, None):
        assert said(short + fill + later(short, LOOP), beat) == FLUENT
        assert said(short + later(short, LOOP) + later(fill, LOOP), beat) == FLUENT


@given(st.lists(st.integers(55, 80), max_size=11))
def test_who_tries_their_instrument_before_the_line_has_not_been_through_it(notes: list[int]):
    """In the player's own time up to eleven notes of anything but the line in another key."""
    before = [(n / 2, 0.4, pitch) for n, pitch in enumerate(notes)]
    told = said(before + later(RAIL, LOOP), None)
    assert told == FLUENT or told.startswith("rough? first time: stopped")


def test_a_recording_whose_click_is_known_may_begin_at_a_later_loop():
    """The first loop sat out, or three of them: the loops are counted to the last note."""
    for sat_out in (1, 3):
        assert said(later(RAIL, sat_out * LOOP), loops=None) == FLUENT
    halved = later(RAIL, LOOP)
    assert said(halved, Beat(START, 60 / TEMPO), loops=2) == FLUENT
