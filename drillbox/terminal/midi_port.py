"""A separate process at a MIDI port: ``python -m drillbox.terminal.midi_port list|PORT``.

The library can end the whole process where a port can't be opened, and raises where the system
has no MIDI at all; here it ends nothing but this. A port is one of the library's, by name or a
part of it, or the path of a raw device such as ``/dev/midi1``, which needs no library.
Each note is one line: the monotonic clock in seconds, the note's number, 1 or 0.
"""

from __future__ import annotations

import os
import signal
import sys
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

_LENGTHS = {0x8: 2, 0x9: 2, 0xA: 2, 0xB: 2, 0xC: 1, 0xD: 1, 0xE: 2}
_REAL_TIME, _SYSTEM = 0xF8, 0xF0
_DRUMS = 9


class Notes:
    """Takes bytes and hands out (note number, whether it begins)."""

    def __init__(self) -> None:
        self._status = 0
        self._data: list[int] = []

    def feed(self, data: bytes) -> Iterator[tuple[int, bool]]:
        """Yield the notes that these bytes complete; the drums' channel is left out."""
        for byte in data:
            if byte >= _REAL_TIME:
                continue
            if byte >= 0x80:  # system messages end running status
                self._status = byte if byte < _SYSTEM else 0
                self._data = []
            elif self._status:
                self._data.append(byte)
                if len(self._data) == _LENGTHS[self._status >> 4]:
                    yield from self._message()

    def _message(self) -> Iterator[tuple[int, bool]]:
        kind, channel = self._status >> 4, self._status & 15
        data, self._data = self._data, []
        if kind in {0x8, 0x9} and channel != _DRUMS:
            yield data[0], kind == 0x9 and data[1] > 0


OPENED = "listening"
NO_EXTRA = (
    "MIDI needs the extra midi (in your copy of drillbox: pip install '.[midi]'); where there is"
    " none for your system, set listen_to to a raw device such as /dev/midi1"
)
NO_PORT = "no MIDI port has that name"
NO_MIDI = "this system has no MIDI ports"
NOT_PLUGGED_IN = "no MIDI instrument is plugged in"
OWN = "midi through"
"""A part of the name of ALSA's own port, the first on nearly every Linux: it passes on what other
programs send to it, and no instrument is plugged in there."""


def main(arguments: list[str]) -> int:
    """List the ports, or write the notes of one until it goes away."""
    if sys.platform != "win32":  # stopped by Ctrl-Z, what is played would have the time of ``fg``
        signal.signal(signal.SIGTSTP, signal.SIG_IGN)
    wanted = arguments[0]
    if Path(wanted).is_absolute():
        return _raw(wanted)
    try:
        import rtmidi2
    except ImportError:
        return _say(f"! {NO_EXTRA}")
    midi = _input(rtmidi2)
    if midi is None:
        return _say(f"! {NO_MIDI}")
    names = list(midi.ports)
    if wanted == "list":
        for name in names:
            _say(name)
        return 0
    chosen = chosen_port(names, wanted)
    if chosen is None:
        return _say(f"! {NO_PORT if wanted and names else NOT_PLUGGED_IN}")
    return _listen(midi, chosen)


def chosen_port(names: Sequence[str], wanted: str) -> int | None:
    """Return which port to listen to, None where none has the name or a part of it.

    Where none is asked for it is the first that an instrument may be plugged in at.
    """
    found = (at for at, name in enumerate(names) if wanted.lower() in name.lower())
    return next((at for at in found if wanted or OWN not in names[at].lower()), None)


def _input(library: Any) -> Any:
    """Return an input of the system's MIDI, or of JACK's where there is only that; else None."""
    for api in (library.API_UNSPECIFIED, library.API_UNIX_JACK):
        try:
            return library.MidiIn("drillbox", api=api)
        except Exception:  # the library's own, which has no name to catch
            continue
    return None


def _listen(midi: Any, port: int) -> int:
    notes, name = Notes(), midi.ports[port]
    midi.callback = lambda message, _: _write(notes, bytes(message))
    midi.open_port(port)
    _say(OPENED)
    while name in midi.ports:
        time.sleep(1.0)
    return 0


def _raw(path: str) -> int:
    notes = Notes()
    try:
        device = os.open(path, os.O_RDONLY)
    except OSError as problem:
        return _say(f"! {path} can't be opened: {problem.strerror}")
    _say(OPENED)
    while data := os.read(device, 1024):
        _write(notes, data)
    return 0


def _write(notes: Notes, data: bytes) -> None:
    now = time.monotonic()
    for note, begins in notes.feed(data):
        _say(f"{now:.6f} {note} {int(begins)}")


def _say(line: str) -> int:
    try:
        print(line, flush=True)
    except BrokenPipeError:  # the drill is over
        os._exit(0)
    return 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
