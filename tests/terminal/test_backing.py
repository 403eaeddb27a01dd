"""Bass and chords under the beat, on miniaudio's null device: in time, and soon."""

from __future__ import annotations

import sys
import time

import miniaudio
import pytest

from drillbox.music.pulse import Pulse
from drillbox.sound.backing import BackingTrack
from drillbox.sound.loop_parts import LoopOptions
from drillbox.sound.ticks import ClickTrack
from drillbox.terminal.presses import SPACE, TIMEOUT, Press
from drillbox.terminal.sounds import (
    BellClick,
    ClickChoice,
    DeviceClick,
    SilentClick,
    open_click,
    play_loop,
)
from tests.bench.bench_backing import gaps, steadiness
from tests.sound.parts import LONG, TWO_FIVE

NULL = [miniaudio.Backend.NULL]
PULSE = Pulse(TWO_FIVE.chart.meter, 2, 120, None)


def test_it_is_fed_in_time():
    """Three seconds; the bench does ten minutes. The median, as a busy machine delays some."""
    assert steadiness(3).p50 < 10


def test_the_devices_thread_gets_its_turn_soon():
    """Once a device is open; a program that takes even shorter turns keeps them."""
    before = sys.getswitchinterval()
    try:
        for there, then in ((0.005, 0.0005), (0.0001, 0.0001)):
            sys.setswitchinterval(there)
            open_click(ClickChoice(), backends=NULL)[0].close()
            assert sys.getswitchinterval() == pytest.approx(then, abs=1e-5)
    finally:
        sys.setswitchinterval(before)


def test_a_change_of_tempo_is_heard_within_150_ms():
    """The median of several, as a busy machine may hold up a single one."""
    found = gaps(7)
    assert found[3] < 0.15


def test_what_is_chosen_is_what_sounds():
    """No backing, or no charts to play: clicks alone; a backing needs no click, but the device."""
    click, _ = open_click(ClickChoice(backing="bass"), backends=NULL)
    assert isinstance(click, DeviceClick)
    assert isinstance(click.track(PULSE, 0), ClickTrack)
    click.accompany([TWO_FIVE.chart])
    assert isinstance(click.track(PULSE, 0), BackingTrack)
    click.close()
    assert type(open_click(ClickChoice("bell"))[0]) is BellClick
    for kind in ("off", "bell"):
        both, _ = open_click(ClickChoice(kind, backing="bass"), backends=NULL)
        assert isinstance(both, DeviceClick)
        both.close()
    assert type(open_click(ClickChoice(volume=0, backing="bass"))[0]) is SilentClick


@pytest.mark.parametrize("backing", ["bass", "bass-and-chords"])
def test_the_click_may_be_off_under_a_backing(backing):
    """The count-in is clicked all the same; after it bass and chords sound without one."""
    click, _ = open_click(ClickChoice("off", backing=backing), backends=NULL)
    click.accompany([TWO_FIVE.chart])
    played = click.track(PULSE, 0)
    chords = backing == "bass-and-chords"
    expected = BackingTrack(
        [TWO_FIVE], LoopOptions(120, clicks=None, chords=chords), PULSE, (70 / 100) ** 2
    )
    assert played.frames(0, 200_000) == expected.frames(0, 200_000)
    click.close()


def test_a_line_is_played_to_its_end_or_until_a_press():
    """What is waited for is as long as the loop lasts; a press before it comes back."""
    asked = []

    def wait(seconds: float) -> Press:
        asked.append(seconds)
        return SPACE if len(asked) > 1 else TIMEOUT

    options = LoopOptions(240, loops=1)
    assert play_loop([LONG], options, 70, wait, backends=NULL) == TIMEOUT
    assert play_loop([LONG], options, 70, wait, backends=NULL) == SPACE
    assert asked[0] == pytest.approx(2 + 4, abs=0.5)  # two bars counted in, four played


def test_a_line_sounds_through_the_device_that_is_open():
    """No second one is opened, and the beat goes on through it afterwards."""
    click, _ = open_click(ClickChoice(), backends=NULL)
    played = []

    def wait(seconds: float) -> Press:
        played.append(seconds)
        return TIMEOUT

    options = LoopOptions(240, loops=1)
    nowhere = [miniaudio.Backend.WASAPI]  # none of this system: a second device would be told of
    assert play_loop([LONG], options, 70, wait, click.device, nowhere) == TIMEOUT
    assert len(played) == 1
    before = time.monotonic()
    assert click.begin(PULSE, 0) < before + 1
    click.close()


def test_where_nothing_can_be_heard_a_line_says_why(monkeypatch: pytest.MonkeyPatch):
    """The drill goes on with the hint that is there."""

    def fail(**options: object) -> None:
        raise miniaudio.MiniaudioError("no device", -1)

    monkeypatch.setattr(miniaudio, "PlaybackDevice", fail)
    before = time.monotonic()
    told = play_loop([LONG], LoopOptions(60, loops=1), 70, lambda seconds: TIMEOUT)
    assert isinstance(told, str)
    assert told.startswith("No sound")
    assert time.monotonic() - before < 1
