"""What the player plays, live: a MIDI port or the microphone. Nothing is written to disk."""

from __future__ import annotations

import subprocess
import sys
import threading
import time
from collections import deque
from typing import IO, Any, Literal, Protocol

from drillbox.hearing.takes import Overheard
from drillbox.sound.ticks import RATE
from drillbox.terminal.device import quiet_errors
from drillbox.terminal.midi_port import OPENED

PATIENCE = 5.0
"""Seconds within which the MIDI ports have to be listed."""
NO_ANSWER = "the MIDI port can't be opened"
NO_MICROPHONE = "there is no microphone"
LONGEST = 1800
"""Seconds that are kept by microphone, the last: a long round's, 159 MB, and dropped afterwards."""
GONE = "Nothing more is heard: the device is gone. Rate by ear from here on."

ALSA_NOTHING = "Discard all samples"  # the name of a device of ALSA's that hears nothing

EarKind = Literal["midi", "mic"]


class Ear(Protocol):
    """Hears from when it is ``ready``, before any ``begin``; ``problem`` says why it doesn't."""

    problem: str
    ready: bool

    def begin(self) -> None:
        """Forget what was heard; hear from now on."""

    def heard(self) -> Overheard:
        """Return what was heard since ``begin``."""

    def quiet_for(self) -> float | None:
        """Return for how many seconds nothing was played; None before the first note."""

    def close(self) -> None:
        """Release the device."""


class DeafEar:
    """No ear: ``problem`` says why."""

    def __init__(self, problem: str) -> None:
        self.problem, self.ready = problem, False

    def begin(self) -> None:
        """Do nothing."""

    def heard(self) -> Overheard:
        """Return nothing."""
        return Overheard(time.monotonic())

    def quiet_for(self) -> None:
        """Return None."""

    def close(self) -> None:
        """Do nothing."""


class MidiEar:
    """A MIDI port, read in a separate process.

    Opening takes a moment: then it is ``ready``, or its ``problem`` says why not.
    """

    def __init__(self, process: subprocess.Popen[str]) -> None:
        self._process, self.problem, self.ready = process, "", False
        self._events: list[tuple[float, int, bool]] = []
        self._since = time.monotonic()
        self._reader = threading.Thread(target=self._read, daemon=True)
        self._reader.start()

    def _read(self) -> None:
        out = _out(self._process)
        said = out.readline().strip()
        if said != OPENED:
            self.problem = f"Not listening: {said.removeprefix('! ') or NO_ANSWER}."
            return
        self.ready = True
        for line in out:
            at, note, begins = line.split()
            self._events.append((float(at), int(note), begins == "1"))
        self.problem = GONE

    def begin(self) -> None:
        """Forget what was played before now."""
        self._since = time.monotonic()
        self._events = [event for event in self._events if event[0] >= self._since]

    def heard(self) -> Overheard:
        """Return the notes played since ``begin``; one that still sounds ends now."""
        notes, sounding = [], dict[int, float]()
        for at, note, begins in list(self._events):
            if at < self._since:
                continue
            if note in sounding:
                notes.append((sounding.pop(note), at, note))
            if begins:
                sounding[note] = at
        now = time.monotonic()
        notes += [(at, now, note) for note, at in sounding.items()]
        return Overheard(self._since, sorted(notes))

    def quiet_for(self) -> float | None:
        """Return the seconds since the last note began or ended."""
        events = self._events
        return time.monotonic() - events[-1][0] if events else None

    def close(self) -> None:
        """End the process."""
        _end(self._process, self._reader)


class MicrophoneEar:
    """The microphone by miniaudio; what it hears stays in memory until the next attempt."""

    def __init__(self, device: Any, failure: type[Exception]) -> None:
        self._device, self._failure, self.problem, self.ready = device, failure, "", True
        self._running = False
        self.begin()

    def begin(self) -> None:
        """Forget what was heard; hear from now on."""
        # In the pieces that came: cutting the oldest off one long text would copy all of it, and
        # keep the beat waiting for as long.
        self._sound, self._length = deque[bytes](), 0
        self._last = time.monotonic()
        if self._running:
            return
        stream = self._take()
        next(stream)
        try:
            with quiet_errors():
                self._device.start(stream)
            self._running = True
        except self._failure:
            self.problem = GONE

    def _take(self) -> Any:
        """Keep what the device hands over, from its own thread."""
        while True:
            data = yield
            self._last = time.monotonic()
            sound = self._sound  # ``begin`` may put another in between
            sound.append(data)
            self._length += len(data)
            while self._length > LONGEST * RATE * 2:
                self._length -= len(sound.popleft())

    def heard(self) -> Overheard:
        """Return the sound since ``begin``; where the device fell silent, ``problem`` says so."""
        if self._running and time.monotonic() - self._last > 1.0:
            self.problem = GONE
        sound = b"".join(self._sound)
        return Overheard(self._last - len(sound) / 2 / RATE, sound=sound, rate=RATE)

    def quiet_for(self) -> float | None:
        """Return None: by sound alone an attempt's end is the loops' or the player's to tell."""
        return None

    def close(self) -> None:
        """Release the device."""
        self._device.close()


def open_ear(kind: EarKind, name: str, *, backends: list[Any] | None = None) -> Ear:
    """Return an ear; where it can't hear its ``problem`` says why, by MIDI a moment later.

    ``name`` is a device's or a part of it, "" for the first there is. ``backends`` narrows
    miniaudio's choice, as tests do to its null device.
    """
    return MidiEar(_port(name)) if kind == "midi" else _microphone(name, backends)


def _end(process: subprocess.Popen[str], reader: threading.Thread) -> None:
    process.kill()
    process.wait()
    reader.join(1.0)
    _out(process).close()


def _port(argument: str) -> subprocess.Popen[str]:
    # -P: a file of the player's, in whatever folder they are in, is no module of ours.
    return subprocess.Popen(
        [sys.executable, "-P", "-m", "drillbox.terminal.midi_port", argument],
        stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
    )  # fmt: skip


def _out(process: subprocess.Popen[str]) -> IO[str]:
    assert process.stdout is not None
    return process.stdout


def _microphone(name: str, backends: list[Any] | None) -> Ear:
    try:
        import miniaudio
    except ImportError:
        return DeafEar(
            "Not listening: miniaudio can't be loaded. Install it: 'pip install miniaudio'."
        )
    try:
        with quiet_errors():
            found = _captures(miniaudio, backends)
            chosen = [each for each in found if name.lower() in each["name"].lower()]
            if name and not chosen:
                named = f"no microphone is called {name!r}" if found else NO_MICROPHONE
                return DeafEar(f"Not listening: {named}.")
            device = miniaudio.CaptureDevice(
                input_format=miniaudio.SampleFormat.SIGNED16,
                nchannels=1,
                sample_rate=RATE,
                buffersize_msec=20,
                device_id=chosen[0]["id"] if name else None,
                backends=backends,
            )
    except miniaudio.MiniaudioError:
        return DeafEar("Not listening: no microphone can be opened.")
    if device.backend == "Null" and not backends:
        device.close()
        return DeafEar(f"Not listening: {NO_MICROPHONE}.")
    return MicrophoneEar(device, miniaudio.MiniaudioError)


def _captures(miniaudio: Any, backends: list[Any] | None) -> list[dict[str, Any]]:
    found = miniaudio.Devices(backends or [])
    if found.backend == "Null" and not backends:  # no microphone, but silence instead of one
        return []
    return [each for each in found.get_captures() if not each["name"].startswith(ALSA_NOTHING)]


def devices_listed(backends: list[Any] | None = None) -> dict[EarKind, list[str] | str]:
    """Return the names of the MIDI ports and microphones, or why there are none."""
    return {"midi": _midi_names(), "mic": _microphone_names(backends)}


def _midi_names() -> list[str] | str:
    process = _port("list")
    try:
        said, _ = process.communicate(timeout=PATIENCE)
    except subprocess.TimeoutExpired:
        process.kill()
        process.communicate()
        return "the MIDI ports do not answer"
    lines = said.splitlines()
    if lines and lines[0].startswith("! "):
        return lines[0][2:]
    return lines


def _microphone_names(backends: list[Any] | None) -> list[str] | str:
    try:
        import miniaudio
    except ImportError:
        return "miniaudio can't be loaded"
    try:
        with quiet_errors():
            return [str(each["name"]) for each in _captures(miniaudio, backends)]
    except miniaudio.MiniaudioError:
        return []
