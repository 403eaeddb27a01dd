"""Notes out of a stream of MIDI bytes, however it is cut.

MIDI 1.0 Detailed Specification (1996), "Data Types": a status byte may be left out where it is
the same as before (running status), and a real-time byte (F8 to FF) may stand anywhere, even
inside another message, without touching it.
"""

from __future__ import annotations

from collections.abc import Iterator

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
