"""Bytes from a terminal into presses: UTF-8, and the escape sequences of ECMA-48.

Only keys become presses. What a terminal answers or reports (colours, its name, the mouse, the
window's focus) and what is pasted is swallowed whole, so that no letter in it rates anything.
"""

from __future__ import annotations

import re
from collections.abc import Callable

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

ESCAPE_WAIT = 0.05
"""Seconds of silence after which an escape byte alone is the Esc key."""
SEQUENCE_WAIT = 0.5
"""Seconds of silence after which the rest of a sequence or an answer won't come any more."""
PASTE_WAIT = 2.0
"""The same for what is pasted, which may come in pieces over a slow line."""
PASTED = Press(UNKNOWN.name, "pasted text")

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
_LEAVING = b"\x03\x04"  # Ctrl-C and Ctrl-D are never part of anything
_ARROWS = {0x41: UP, 0x42: DOWN, 0x43: RIGHT, 0x44: LEFT}  # CUU CUD CUF CUB of ECMA-48
_NUMBERED = {b"5": PAGE_UP, b"6": PAGE_DOWN}  # as in xterm's list
# What follows ESC, or 0x40 less than a C1 control: a sequence, a single shift, strings.
_CSI, _SS3, _STRINGS = 0x5B, 0x4F, b"]PX^_"
# A terminal's answers and reports: focus, attributes, status, cursor, window, modes, mouse.
_ANSWERS = b"IOcnRtxyMm"
_LONGEST = 64  # bytes of parameters that are kept; no key has nearly as many
_PASTE_BEGINS, _PASTE_ENDS = b"200~", b"\x1b[201~"
_STRING_STOPS = re.compile(rb"[\x03\x04\x07\x18\x1a\x1b]|\xc2\x9c")

_Found = tuple[Press | None, int]
"""A press (None where what was read is none) and the bytes it took; 0 asks for more bytes."""


class Decoder:
    """Holds what has been typed and hands it out one press at a time.

    What is swallowed isn't held, so its length costs nothing.
    """

    def __init__(self) -> None:
        self._typed = bytearray()
        self._swallow: Callable[[bytes, bool], tuple[int, bool]] | None = None

    def feed(self, data: bytes) -> None:
        """Add bytes as they came from the terminal."""
        self._typed += data

    def __bool__(self) -> bool:
        return bool(self._typed) or self._swallow is not None

    @property
    def patience(self) -> float:
        """Return the seconds of silence after which nothing more belongs to what is held."""
        if self._swallow is _paste:
            return PASTE_WAIT
        alone = self._swallow is None and (len(self._typed) < 2 or self._typed == b"\x1b\x1b")
        return ESCAPE_WAIT if alone else SEQUENCE_WAIT

    def take(self, *, complete: bool) -> Press | None:
        """Return the next press, or None where the bytes so far could still become another.

        ``complete`` says that no more bytes are coming soon, so that what is there must be
        all of it: an escape byte alone is then the Esc key.
        """
        while self._typed or (self._swallow and complete):
            if self._swallow:
                press, waits = self._swallowed(complete)
            else:
                press, used = self._first(bytes(self._typed[: _LONGEST + 8]), complete)
                waits = not used
                del self._typed[:used]
            if press or waits:
                return press
        return None

    def _swallowed(self, complete: bool) -> tuple[Press | None, bool]:
        """Go on swallowing; return the press that it ends with, and whether more must come."""
        swallow = self._swallow
        assert swallow is not None
        used, over = swallow(bytes(self._typed), complete)
        del self._typed[:used]
        if not over and not complete:
            return None, True
        self._swallow = None
        return (PASTED if swallow is _paste else None), False

    def _first(self, typed: bytes, complete: bool) -> _Found:
        kind, begins = _introduced(typed)
        if kind == _CSI:
            return self._sequence(typed, begins, complete)
        if kind is not None and kind in _STRINGS:
            self._swallow = _string
            return None, begins
        if kind == _SS3:
            if len(typed) == begins:
                return (UNKNOWN, begins) if complete else (None, 0)
            return _ARROWS.get(typed[begins], UNKNOWN), begins + 1
        if typed[0] == _ESC:
            return _escape(typed, complete)
        return _character(typed, complete)

    def _sequence(self, typed: bytes, begins: int, complete: bool) -> _Found:
        """Read a control sequence: parameters and intermediates, then one final byte."""
        at = begins
        if typed[at : at + 1] == b"[":  # the Linux console's function keys: one byte after it
            at += 1
        while at < len(typed) and 0x20 <= typed[at] <= 0x3F:
            at += 1
        if at - begins > _LONGEST:
            self._swallow = _parameters
            return None, at
        if at == len(typed):
            return (UNKNOWN, at) if complete else (None, 0)
        if not 0x40 <= typed[at] <= 0x7E:
            return UNKNOWN, at  # broken off; what follows is a key of its own
        return self._meant(typed[begins:at], typed[at]), at + 1

    def _meant(self, parameters: bytes, final: int) -> Press | None:
        """Return the press that a whole sequence is, None for what isn't a key."""
        if parameters + bytes([final]) == _PASTE_BEGINS:
            self._swallow = _paste
        elif final == ord("M") and not parameters:
            self._swallow = _mouse
        elif final in _ARROWS and not parameters.startswith((b"[", b"?", b"<", b"=", b">")):
            return _ARROWS[final]
        elif final == 0x7E:  # a number names the key, and another one what is held down with it
            return _NUMBERED.get(parameters.split(b";")[0], UNKNOWN)
        elif final not in _ANSWERS:
            return UNKNOWN
        return None


def _introduced(typed: bytes) -> tuple[int | None, int]:
    """Return what kind of sequence begins here, None for none, and where its content begins.

    Besides ESC and a character that is a C1 control, as one byte or in UTF-8.
    """
    if typed[0] == _ESC and len(typed) > 1:
        return typed[1], 2
    if 0x80 <= typed[0] <= 0x9F:
        return typed[0] - 0x40, 1
    if typed[0] == 0xC2 and len(typed) > 1 and 0x80 <= typed[1] <= 0x9F:
        return typed[1] - 0x40, 2
    return None, 0


def _escape(typed: bytes, complete: bool) -> _Found:
    """Read Esc, or a key that is held down together with Alt, which means nothing here."""
    rest = typed[1:]
    if not rest or rest == b"\x1b":
        return (ESC, 1) if complete else (None, 0)
    if rest[0] in _LEAVING:
        return ESC, 1
    if rest[0] == _ESC:  # Alt and an arrow, or Esc twice
        return (None if rest[1] in (_CSI, _SS3) else ESC), 1
    _, used = _character(rest, complete)
    return (UNKNOWN, used + 1) if used else (None, 0)


def _character(typed: bytes, complete: bool) -> _Found:
    """Read one UTF-8 character; a byte that begins none is an unknown key."""
    first = typed[0]
    if first in _CONTROLS:
        return _CONTROLS[first], 1
    size = 1 if first < 0x80 else 2 if first < 0xE0 else 3 if first < 0xF0 else 4
    try:
        found = typed[:size].decode("utf-8")
    except UnicodeDecodeError as error:
        cut_off = error.reason == "unexpected end of data"
        if cut_off and not complete:
            return None, 0
        return UNKNOWN, max(error.end, 1)
    return (Press(found) if found.isprintable() else UNKNOWN), size


def _string(typed: bytes, complete: bool) -> tuple[int, bool]:
    """Swallow an answer (OSC, DCS, APC, PM, SOS) up to what ends it or breaks it off."""
    del complete
    stop = _STRING_STOPS.search(typed)
    if stop is None:
        # The last byte may be the first half of an end.
        return max(0, len(typed) - typed.endswith(b"\xc2")), False
    if stop[0][0] in _LEAVING:
        return stop.start(), True
    if stop[0][0] != _ESC:
        return stop.end(), True
    after = typed[stop.end() : stop.end() + 1]
    if not after:
        return stop.start(), False
    return (stop.end() + 1 if after == b"\\" else stop.start()), True


def _paste(typed: bytes, complete: bool) -> tuple[int, bool]:
    """Swallow what is pasted, up to the end that the terminal puts to it."""
    at = typed.find(_PASTE_ENDS)
    if at >= 0:
        return at + len(_PASTE_ENDS), True
    return (len(typed) if complete else max(0, len(typed) - len(_PASTE_ENDS) + 1)), False


def _parameters(typed: bytes, complete: bool) -> tuple[int, bool]:
    """Swallow the rest of a sequence that is too long for a key, with its final byte."""
    del complete
    for at, byte in enumerate(typed):
        if not 0x20 <= byte <= 0x3F:
            return (at + 1 if 0x40 <= byte <= 0x7E else at), True
    return len(typed), False


def _mouse(typed: bytes, complete: bool) -> tuple[int, bool]:
    """Swallow the three characters of an old report of the mouse: bytes, or UTF-8."""
    at = 0
    for _ in range(3):
        leads = typed[at : at + 1] >= b"\xc2"
        if not complete and len(typed) < at + 1 + leads:
            return 0, False
        at += 2 if leads and b"\x80" <= typed[at + 1 : at + 2] <= b"\xbf" else 1
    return min(at, len(typed)), True
