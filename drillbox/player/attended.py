"""The keys of a session, and how long it stood still between two of them: Ctrl-Z, until ``fg``,
or a computer put to sleep."""

from __future__ import annotations

import time
from collections.abc import Callable

from drillbox.terminal.presses import CONTINUED, LEAVING, TIMEOUT, Press, Presses

SIGN_OF_LIFE = 1.0
"""Seconds of waiting after which the clock is looked at: by as much a stop is taken too long."""
ASLEEP = 10.0
"""Seconds of a wait between two looks in which nothing can have run; a clock that was set on
counts, too. Work between two waits may take longer, as over a long round's sound."""


class Attended:
    """A source of presses that tells how long the program was stopped before it went on.

    Nothing says when a stop began, as neither SIGSTOP nor a lid gives warning: it is taken to have
    begun when the program last woke. ``stopped`` is given its seconds by the wall clock, as those
    of an attempt are counted. ``broken_off``: Ctrl-C, or the end of the input, was read last.
    """

    def __init__(self, keys: Presses, stopped: Callable[[float], None]) -> None:
        self._keys, self._stopped = keys, stopped
        self._awake = time.time()
        self.broken_off = False

    def forget_typed(self) -> None:
        """Drop what was typed before now."""
        self._keys.forget_typed()

    def read_key(self, timeout: float | None = None) -> Press:
        """Wait up to ``timeout`` seconds (None: for ever) for the next press."""
        until = None if timeout is None else time.monotonic() + timeout
        looked = time.time()
        while True:
            left = SIGN_OF_LIFE if until is None else max(0.0, until - time.monotonic())
            press = self._keys.read_key(min(left, SIGN_OF_LIFE))
            before, self._awake = self._awake, time.time()
            if press.reason == CONTINUED.reason:
                self._stopped(max(0.0, self._awake - before))
            elif self._awake - looked > ASLEEP:
                self._stopped(self._awake - looked)
            looked = self._awake
            if press != TIMEOUT or (until is not None and left <= SIGN_OF_LIFE):
                self.broken_off = press in LEAVING
                return press
