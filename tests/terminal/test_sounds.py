"""The click: its choices, its reasons for silence, and a stream on miniaudio's null device."""

import io
import os
import sys
import time

import pytest

from drillbox.music.charts import Meter
from drillbox.music.pulse import Position, Pulse
from drillbox.terminal.device import NO_DEVICE, NO_LIBRARY, PERIOD, Device, quiet_errors
from drillbox.terminal.sounds import (
    BellClick,
    ClickChoice,
    DeviceClick,
    SilentClick,
    open_click,
)

PULSE = Pulse(Meter(4, 4), 1, 120, loops=None)


def null_device() -> list[object]:
    import miniaudio

    return [miniaudio.Backend.NULL]


def test_no_click_wanted_is_silent_without_a_word() -> None:
    """Proves that off, and volume nought, open no device and say nothing."""
    for choice in (ClickChoice("off"), ClickChoice(volume=0)):
        click, why = open_click(choice)
        assert type(click) is SilentClick
        assert why == ""
    before = time.monotonic()
    assert before <= click.begin(PULSE, 0) <= time.monotonic()


def test_without_the_library_it_says_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    """Proves that a plain install drills on with the beat alone."""
    monkeypatch.setitem(sys.modules, "miniaudio", None)
    click, why = open_click(ClickChoice())
    assert type(click) is SilentClick
    assert why == NO_LIBRARY


def test_without_a_device_it_says_so_and_nothing_else(
    monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    """Proves one reason, and that a library's chatter on descriptor 2 is not let through."""
    import miniaudio

    def fail(**options: object) -> None:
        os.write(2, b"ALSA lib pcm.c: Unknown PCM default\n")
        raise miniaudio.MiniaudioError("failed to init device", -401)

    monkeypatch.setattr(miniaudio, "PlaybackDevice", fail)
    click, why = open_click(ClickChoice())
    assert type(click) is SilentClick
    assert why == NO_DEVICE
    assert "\n" not in why
    assert capfd.readouterr().err == ""


def test_quiet_errors_gives_descriptor_2_back(capfd: pytest.CaptureFixture[str]) -> None:
    """Proves that errors are heard again afterwards, even when the opening failed."""

    def fail() -> None:
        with quiet_errors():
            os.write(2, b"unheard")
            raise RuntimeError

    with pytest.raises(RuntimeError):
        fail()
    os.write(2, b"heard")
    assert capfd.readouterr().err == "heard"


def test_the_bell_rings_on_the_chosen_beats() -> None:
    """Proves 2 and 4 on the bell, after a count-in in full."""
    out = io.StringIO()
    bell, _ = open_click(ClickChoice("bell", "2-and-4"))
    assert isinstance(bell, BellClick)
    bell = BellClick("2-and-4", out)
    for count_in in (True, False):
        for beat in range(4):
            bell.beat(Position(count_in, 0, 0, beat))
    assert out.getvalue() == "\a" * 6


def test_a_device_is_fed_and_tells_when_the_first_beat_is_heard() -> None:
    """Proves begin, stop, begin again and close on a real stream of miniaudio's null device."""
    click, why = open_click(ClickChoice(), backends=null_device())
    assert isinstance(click, DeviceClick)
    assert why == ""
    for first in (0, 3):
        before = time.monotonic()
        heard_at = click.begin(PULSE, first)
        assert before + PERIOD <= heard_at <= before + 1 + PERIOD
        click.stop()
    click.beat(Position(False, 0, 0, 0))
    click.close()


class DeviceError(Exception):
    """What the fake device raises."""


class Fake:
    """A device that keeps what it was fed, or that was unplugged."""

    def __init__(self, *, unplugged: bool = False) -> None:
        self.unplugged, self.fed = unplugged, b""

    def start(self, stream: object) -> None:
        if self.unplugged:
            raise DeviceError
        for count in (441, 882, 44_100):
            self.fed += stream.send(count)  # type: ignore[attr-defined] # a generator

    def stop(self) -> None:
        if self.unplugged:
            raise DeviceError

    def close(self) -> None: ...


def test_the_stream_is_the_click_track() -> None:
    """Proves that pieces of any size join to the track without a seam, volume squared."""
    from drillbox.sound.ticks import ClickTrack

    device = Fake()
    DeviceClick(Device(device, DeviceError), ClickChoice(volume=50)).begin(PULSE, 2)
    assert device.fed == ClickTrack(PULSE, "every", 0.25, 2).frames(0, 441 + 882 + 44_100)


def test_an_unplugged_device_does_not_end_the_drill() -> None:
    """Proves that a failing start or stop leaves a silent beat."""
    click = DeviceClick(Device(Fake(unplugged=True), DeviceError), ClickChoice())
    before = time.monotonic()
    assert before <= click.begin(PULSE, 0) <= time.monotonic()
    click.stop()
    click.close()
