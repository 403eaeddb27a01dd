"""The sound device: opened late and quietly, and fed from its own thread."""

from __future__ import annotations

import contextlib
import os
import sys
import threading
import time
from collections.abc import Generator, Iterator
from typing import Any, Protocol

from drillbox.sound.ticks import RATE

PERIOD = 0.02
"""Seconds of sound handed to the device at a time; about how late it is heard."""
TURN = 0.0005
"""Seconds that another thread may go on in Python while the device's thread waits for its turn.

By itself Python takes 5 ms, and waits several times for a single piece: while a screen was drawn
that made one in a hundred pieces 14 to 36 ms late, and with this 7 to 10 (bench_backing).
"""
NO_LIBRARY = "No sound: miniaudio can't be loaded. Install it: 'pip install miniaudio'."
NO_DEVICE = "No sound: no device can be opened."


class Track(Protocol):
    """Something that sounds: an endless strip of samples at ``RATE``, 16 bit, one channel."""

    def frames(self, start: int, count: int) -> bytes:
        """Return ``count`` samples from sample ``start`` on."""


class Device:
    """An open sound device. How late it is heard isn't known; one period is taken for it."""

    def __init__(self, device: Any, failure: type[Exception]) -> None:
        self._device, self._failure = device, failure
        self._asked = threading.Event()
        self._asked_at = 0.0

    def start(self, track: Track) -> float:
        """Play a track from its first sample; return the moment at which that one is heard."""
        self.stop()
        self._asked.clear()
        stream = self._stream(track)
        next(stream)
        with quiet_errors(), contextlib.suppress(self._failure):  # unplugged: still to be seen
            self._device.start(stream)
            if self._asked.wait(1.0):
                return self._asked_at + PERIOD
        return time.monotonic()

    def stop(self) -> None:
        """Fall silent until the next ``start``."""
        with contextlib.suppress(self._failure):  # a device that went away is silent enough
            self._device.stop()

    def close(self) -> None:
        """Fall silent and release the device."""
        self._device.close()

    def _stream(self, track: Track) -> Generator[bytes, int, None]:
        """Hand out the track as the device asks for it, from its own thread."""
        count, done = (yield b""), 0
        self._asked_at = time.monotonic()
        self._asked.set()
        while True:
            data, done = track.frames(done, count), done + count
            count = yield data


def open_device(backends: list[Any] | None = None) -> Device | str:
    """Return the sound device, or a line that says why there is none.

    ``backends`` narrows miniaudio's choice of devices, as tests do to its null device.
    """
    try:
        import miniaudio
    except ImportError:
        return NO_LIBRARY
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
        return NO_DEVICE
    sys.setswitchinterval(min(TURN, sys.getswitchinterval()))
    return Device(device, miniaudio.MiniaudioError)


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
