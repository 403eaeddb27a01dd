"""The keyboard of a Windows console by polling; kept simple, and not tested on Windows."""

from __future__ import annotations

import sys
import time
from types import TracebackType
from typing import Self

from drillbox.terminal.presses import (
    BACKSPACE,
    DOWN,
    ENTER,
    ESC,
    INTERRUPT,
    LEFT,
    PAGE_DOWN,
    PAGE_UP,
    RIGHT,
    SPACE,
    TAB,
    TIMEOUT,
    UNKNOWN,
    UP,
    Press,
)

if sys.platform == "win32":
    import msvcrt

    POLL = 0.002
    """Seconds between two looks at the keyboard: the beat is at most this late."""
    _KEYS = {"\r": ENTER, " ": SPACE, "\x1b": ESC, "\t": TAB, "\x08": BACKSPACE, "\x03": INTERRUPT}
    _SCANNED = {"H": UP, "P": DOWN, "K": LEFT, "M": RIGHT, "I": PAGE_UP, "Q": PAGE_DOWN}

    class ConsoleKeyboard:
        """Single keys from the console; Ctrl-C comes as INTERRUPT."""

        def __init__(self, *, alternate: bool = False) -> None:
            self._alternate = alternate

        def __enter__(self) -> Self:
            if self._alternate:
                print("\x1b[?1049h\x1b[?25l\x1b[2J\x1b[H", end="", flush=True)
            return self

        def __exit__(
            self,
            kind: type[BaseException] | None,
            error: BaseException | None,
            trace: TracebackType | None,
        ) -> None:
            if self._alternate:
                print("\x1b[0m\x1b[?25h\x1b[?1049l", end="", flush=True)

        def forget_typed(self) -> None:
            """Drop every press that came before now."""
            while msvcrt.kbhit():
                msvcrt.getwch()

        def read_key(self, timeout: float | None = None) -> Press:
            """Wait up to ``timeout`` seconds (None: for ever) for one press."""
            deadline = None if timeout is None else time.monotonic() + timeout
            try:
                while not msvcrt.kbhit():
                    if deadline is not None and time.monotonic() >= deadline:
                        return TIMEOUT
                    time.sleep(POLL)
                return _read_console()
            except KeyboardInterrupt:
                return INTERRUPT

    def _read_console() -> Press:
        character = msvcrt.getwch()
        if character in "\x00\xe0":  # the prefix of arrows and function keys
            return _SCANNED.get(msvcrt.getwch(), UNKNOWN)
        if character in _KEYS:
            return _KEYS[character]
        return Press(character) if character.isprintable() else UNKNOWN
