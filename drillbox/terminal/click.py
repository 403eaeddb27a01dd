"""The click while drilling: by a sound device, by the terminal's bell, or not at all."""

from __future__ import annotations

import contextlib
import os
import sys
import threading
import time
from collections.abc import Generator, Iterator
from dataclasses import dataclass
from typing import Any, Literal, Protocol, TextIO

from drillbox.music.pulse import CountedBeats, Position, Pulse, clicked
from drillbox.output import drawing
from drillbox.sound.ticks import RATE, ClickTrack

PERIOD = 0.02
"""Seconds of sound handed to the device at a time; about how late it is heard."""
NO_EXTRA = 'No click: it needs the sound extra, as in pip install "drillbox[sound]".'
NO_DEVICE = "No click: no sound device can be opened. The beat is shown instead."


@dataclass(frozen=True, slots=True)
class ClickChoice:
    """What the player wants to hear. ``volume`` is 0 to 100."""

    kind: Literal["sound", "bell", "off"] = "sound"
    which: CountedBeats = "every"
    volume: int = 70


class Click(Protocol):
    """Something that makes the beat heard."""

    def begin(self, pulse: Pulse, first: int) -> float:
        """Sound the pulse from beat ``first``; return the ``time.monotonic`` of that beat."""

    def beat(self, position: Position) -> None:
        """Be told that a beat falls now."""

    def stop(self) -> None:
        """Fall silent until the next ``begin``."""

    def close(self) -> None:
        """Fall silent and let go of the device."""


class SilentClick:
    """No click: the beat is only seen."""

    def begin(self, pulse: Pulse, first: int) -> float:
        """Return now."""
        del pulse, first
        return time.monotonic()

    def beat(self, position: Position) -> None:
        """Do nothing."""

    def stop(self) -> None:
        """Do nothing."""

    def close(self) -> None:
        """Do nothing."""


class BellClick(SilentClick):
    """The terminal's bell on each beat that is to be heard; it knows neither accent nor volume."""

    def __init__(self, which: CountedBeats, out: TextIO | None = None) -> None:
        self._which, self._out = which, out or drawing(sys.stdout)

    def beat(self, position: Position) -> None:
        """Ring, where this beat is to be heard."""
        if clicked(position, self._which):
            self._out.write("\a")
            self._out.flush()


class DeviceClick:
    """Clicks from a sound device, each begun on its exact sample.

    How late a device is heard isn't known; one period is taken for it.
    """

    def __init__(self, device: Any, failure: type[Exception], choice: ClickChoice) -> None:
        self._device, self._failure, self._choice = device, failure, choice
        self._asked = threading.Event()
        self._asked_at = 0.0

    def begin(self, pulse: Pulse, first: int) -> float:
        """Sound the pulse from beat ``first``; return the moment at which that beat is heard."""
        self.stop()
        self._asked.clear()
        loudness = (self._choice.volume / 100) ** 2  # the ear hears the square root or so
        stream = self._stream(ClickTrack(pulse, self._choice.which, loudness, first))
        next(stream)
        with quiet_errors(), contextlib.suppress(self._failure):  # unplugged: still to be seen
            self._device.start(stream)
            if self._asked.wait(1.0):
                return self._asked_at + PERIOD
        return time.monotonic()

    def beat(self, position: Position) -> None:
        """Do nothing: the device keeps the beat itself."""

    def stop(self) -> None:
        """Fall silent until the next ``begin``."""
        with contextlib.suppress(self._failure):  # a device that went away is silent enough
            self._device.stop()

    def close(self) -> None:
        """Fall silent and let go of the device."""
        self._device.close()

    def _stream(self, track: ClickTrack) -> Generator[bytes, int, None]:
        """Hand out the track as the device asks for it, from its own thread."""
        count, done = (yield b""), 0
        self._asked_at = time.monotonic()
        self._asked.set()
        while True:
            data, done = track.frames(done, count), done + count
            count = yield data


def open_click(choice: ClickChoice, *, backends: list[Any] | None = None) -> tuple[Click, str]:
    """Return the click wanted, or a silent one and a line that says why.

    ``backends`` narrows miniaudio's choice of devices, as tests do to its null device.
    """
    if choice.kind == "off" or choice.volume <= 0:
        return SilentClick(), ""
    if choice.kind == "bell":
        return BellClick(choice.which), ""
    try:
        import miniaudio
    except ImportError:
        return SilentClick(), NO_EXTRA
    try:
        with quiet_errors():
            device = miniaudio.PlaybackDevice(
                output_format=miniaudio.SampleFormat.SIGNED16,
                nchannels=1,
                sample_rate=RATE,
                buffersize_msec=round(PERIOD * 1000),
                backends=backends,
            )
    except miniaudio.MiniaudioError:
        return SilentClick(), NO_DEVICE
    return DeviceClick(device, miniaudio.MiniaudioError, choice), ""


@contextlib.contextmanager
def quiet_errors() -> Iterator[None]:
    """Send descriptor 2 to nowhere meanwhile: ALSA writes there past Python, over the screen."""
    try:
        kept = os.dup(2)
    except OSError:  # closed already: nothing can be written there
        yield
        return
    sys.stderr.flush()
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, 2)
        yield
    finally:
        os.dup2(kept, 2)
        os.close(kept)
        os.close(nowhere)
