"""Bytes from a terminal into presses: UTF-8, and the escape sequences of ECMA-48."""

from __future__ import annotations

from drillbox.terminal.presses import (
    BACKSPACE,
    DOWN,
    END,
    ENTER,
    ESC,
    INTERRUPT,
    LEFT,
    PAGE_DOWN,
    PAGE_UP,
    RIGHT,
    SPACE,
    TAB,
    UNKNOWN,
    UP,
    Press,
)

_ESC = 0x1B
_CONTROLS = {
    0x03: INTERRUPT,  # reaches us as a byte only where the terminal makes no signal of it
    0x04: Press(END.name, "Ctrl-D"),
    0x08: BACKSPACE,
    0x09: TAB,
    0x0A: ENTER,
    0x0D: ENTER,
    0x20: SPACE,
    0x7F: BACKSPACE,
}
_ARROWS = {0x41: UP, 0x42: DOWN, 0x43: RIGHT, 0x44: LEFT}  # CUU CUD CUF CUB of ECMA-48

_NUMBERED = {b"5": PAGE_UP, b"6": PAGE_DOWN}  # as in xterm's list


class Decoder:
    """Holds what has been typed and hands it out one press at a time."""

    def __init__(self) -> None:
        self._typed = bytearray()

    def feed(self, data: bytes) -> None:
        """Add bytes as they came from the terminal."""
        self._typed += data

    def __bool__(self) -> bool:
        return bool(self._typed)

    def take(self, *, complete: bool) -> Press | None:
        """Return the next press, or None where the bytes so far could still become another.

        ``complete`` says that no more bytes are coming soon, so that what is there must be
        all of it: an escape byte alone is then the Esc key.
        """
        if not self._typed:
            return None
        press, used = _first(bytes(self._typed), complete)
        del self._typed[:used]
        return press


def _first(typed: bytes, complete: bool) -> tuple[Press | None, int]:
    """Return the first press and how many bytes it took; (None, 0) asks for more bytes."""
    first = typed[0]
    if first == _ESC:
        return _escape(typed, complete)
    if first in _CONTROLS:
        return _CONTROLS[first], 1
    if first < 0x20:
        return UNKNOWN, 1
    return _character(typed, complete)


def _character(typed: bytes, complete: bool) -> tuple[Press | None, int]:
    """Read one UTF-8 character; a byte that begins none is an unknown key."""
    first = typed[0]
    size = 1 if first < 0x80 else 2 if first < 0xE0 else 3 if first < 0xF0 else 4
    try:
        return Press(typed[:size].decode("utf-8")), size
    except UnicodeDecodeError as error:
        cut_off = error.reason == "unexpected end of data"
        if cut_off and not complete:
            return None, 0
        return UNKNOWN, max(error.end, 1)


def _escape(typed: bytes, complete: bool) -> tuple[Press | None, int]:
    """Read Esc, an arrow, or a sequence of some other key, which is swallowed whole."""
    if len(typed) == 1:
        return (ESC, 1) if complete else (None, 0)
    if typed[1] == 0x5B:  # CSI: parameters and intermediates, then one final byte
        return _sequence(typed, complete)
    if typed[1] == 0x4F:  # SS3: one more byte
        if len(typed) == 2:
            return (UNKNOWN, 2) if complete else (None, 0)
        return _ARROWS.get(typed[2], UNKNOWN), 3
    return ESC, 1


def _sequence(typed: bytes, complete: bool) -> tuple[Press | None, int]:
    at = 2
    if typed[2:3] == b"[":  # the Linux console's function keys put one byte after a second [
        at = 3
    while at < len(typed) and 0x20 <= typed[at] <= 0x3F:
        at += 1
    if at == len(typed):
        return (UNKNOWN, at) if complete else (None, 0)
    if not 0x40 <= typed[at] <= 0x7E:
        return UNKNOWN, at  # broken off; what follows is a key of its own
    if typed[at] == 0x7E:  # a number names the key, and another one what is held down with it
        return _NUMBERED.get(typed[2:at].split(b";")[0], UNKNOWN), at + 1
    return _ARROWS.get(typed[at], UNKNOWN) if typed[2:3] != b"[" else UNKNOWN, at + 1
