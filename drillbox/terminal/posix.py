"""The keyboard of a POSIX terminal, in cbreak mode for a whole session."""

from __future__ import annotations

import contextlib
import errno
import os
import select
import signal
import sys
import termios
import time
from collections.abc import Mapping
from types import FrameType, TracebackType
from typing import Any, Self

from drillbox.terminal.decode import Decoder
from drillbox.terminal.presses import CONTINUED, END, INTERRUPT, RESIZED, TIMEOUT, Press

STUCK_AFTER = 2.0
"""Seconds that a Ctrl-C may lie unread before a second one breaks the program off."""

_ENDINGS = {
    signal.SIGTERM: "asked to terminate",
    signal.SIGHUP: "the terminal was closed",
    signal.SIGQUIT: "asked to quit",
}
_HANDLED = (*_ENDINGS, signal.SIGINT, signal.SIGWINCH, signal.SIGTSTP, signal.SIGCONT)
_ENTER_SCREEN = b"\x1b[?1049h\x1b[?25l\x1b[2J\x1b[H"
_LEAVE_SCREEN = b"\x1b[?1049l"
# What is pasted is marked as such (xterm's bracketed paste), and so told from what is typed.
_MARK_PASTES, _LEAVE_PASTES = b"\x1b[?2004h", b"\x1b[?2004l"
_PLAIN_CURSOR = b"\x1b[0m\x1b[?25h"


class Keyboard:
    """Single keys from the terminal on ``stdin``; puts everything back on leaving.

    Signals never break into the caller's work: each becomes a press at the next
    ``read_key``. ``alternate`` draws on the terminal's second screen with the cursor hidden.
    Escape codes are written only where ``stdout`` is a terminal that knows them.
    Must be entered on the main thread; raises ``termios.error`` where ``stdin`` isn't a terminal.
    """

    def __init__(
        self,
        *,
        alternate: bool = False,
        stdin: int = 0,
        stdout: int = 1,
        env: Mapping[str, str] = os.environ,
    ) -> None:
        self._stdin, self._stdout = stdin, stdout
        self._codes = os.isatty(stdout) and env.get("TERM") not in {"dumb", "unknown"}
        self._alternate = alternate and self._codes
        self._decoder = Decoder()
        self._typed_at = 0.0
        self._ended: Press | None = None
        self._interrupted_at: float | None = None
        self._redraw: Press | None = None
        self._cleanup = contextlib.ExitStack()

    def __enter__(self) -> Self:
        with self._cleanup as stack:
            self._saved = termios.tcgetattr(self._stdin)
            self._wake, wake_write = os.pipe()
            stack.callback(os.close, self._wake)
            stack.callback(os.close, wake_write)
            os.set_blocking(self._wake, False)
            os.set_blocking(wake_write, False)
            before = signal.set_wakeup_fd(wake_write, warn_on_full_buffer=False)
            stack.callback(signal.set_wakeup_fd, before)
            for number in _HANDLED:
                self._handle(number, stack)
            stack.callback(self._give_back)
            self._take()
            self.forget_typed()
            self._cleanup = stack.pop_all()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        with contextlib.suppress(OSError, ValueError):  # a closed terminal takes no more text
            sys.stdout.flush()
        self._cleanup.close()

    def read_key(self, timeout: float | None = None) -> Press:
        """Wait up to ``timeout`` seconds (None: for ever) for one press.

        Keys typed ahead come one at a time. A closed terminal, end of input and a request to
        terminate are END, again at every later call; ``reason`` says which.
        """
        deadline = None if timeout is None else time.monotonic() + timeout
        while True:
            press = self._signalled() or self._decoded()
            if press:
                return press
            now = time.monotonic()
            if deadline is not None and now >= deadline and not self._readable(0):
                return TIMEOUT
            limits = [] if deadline is None else [deadline - now]
            if self._decoder:
                limits.append(self._typed_at + self._decoder.patience - now)
            if self._readable(_nap(min(limits)) if limits else None):
                self._read()

    def forget_typed(self) -> None:
        """Drop every press that came before now, but one that asks to leave."""
        kept = b""
        while self._ended is None:
            while press := self._decoder.take(complete=False):
                kept = kept or {INTERRUPT: b"\x03", END: b"\x04"}.get(press, b"")
            if not self._readable(0):
                break
            self._read()
        self._decoder.feed(kept)

    def _decoded(self) -> Press | None:
        """Return the next press; half a one only when its rest has had its time to come."""
        press = self._decoder.take(complete=False)
        if press or not self._decoder:
            return press
        silent = time.monotonic() - self._typed_at >= self._decoder.patience
        return self._decoder.take(complete=True) if silent and not self._readable(0) else None

    def _signalled(self) -> Press | None:
        """Return what a signal asked for since the last call, the most serious first."""
        if self._ended:
            return self._ended
        if self._interrupted_at is not None:
            self._interrupted_at = None
            return INTERRUPT
        redraw, self._redraw = self._redraw, None
        return redraw

    def _readable(self, wait: float | None) -> bool:
        """Wait for bytes or a signal; return whether there are bytes to read."""
        ready, _, _ = select.select([self._stdin, self._wake], [], [], wait)
        if self._wake in ready:
            with contextlib.suppress(BlockingIOError):
                os.read(self._wake, 1024)
        return self._stdin in ready

    def _read(self) -> None:
        try:
            data = os.read(self._stdin, 65536)
        except OSError:  # EIO: the other side of the terminal is gone
            self._ended = Press(END.name, _ENDINGS[signal.SIGHUP])
            return
        if not data:
            self._ended = END
        self._decoder.feed(data)
        self._typed_at = time.monotonic()

    def _handle(self, number: signal.Signals, stack: contextlib.ExitStack) -> None:
        """Take over a signal until the session ends, unless it is ignored (as under nohup)."""
        before = signal.getsignal(number)
        if before is signal.SIG_IGN:
            return
        signal.signal(number, self._on_signal)
        stack.callback(signal.signal, number, signal.SIG_DFL if before is None else before)

    def _on_signal(self, number: int, frame: FrameType | None) -> None:
        del frame
        if number == signal.SIGWINCH:
            self._redraw = self._redraw or RESIZED
        elif number == signal.SIGTSTP:
            self._stop()
        elif number == signal.SIGCONT:
            self._take()
            self._redraw = CONTINUED
        elif number == signal.SIGINT:
            self._interrupt()
        else:
            self._ended = Press(END.name, _ENDINGS[signal.Signals(number)])

    def _interrupt(self) -> None:
        now = time.monotonic()
        if self._interrupted_at is None:
            self._interrupted_at = now
        elif now - self._interrupted_at > STUCK_AFTER:
            raise KeyboardInterrupt

    def _stop(self) -> None:
        """Stop as the shell expects, with its terminal settings; go on where it left off."""
        self._give_back()
        signal.signal(signal.SIGTSTP, signal.SIG_DFL)
        signal.raise_signal(signal.SIGTSTP)
        signal.signal(signal.SIGTSTP, self._on_signal)
        self._take()
        self._redraw = CONTINUED

    def _take(self) -> None:
        """Switch to single keys without echo; Ctrl-C stays a signal, Ctrl-S no longer freezes."""
        mode: list[Any] = [*self._saved[:6], list(self._saved[6])]
        mode[0] &= ~termios.IXON
        mode[3] &= ~(termios.ICANON | termios.ECHO | termios.IEXTEN)
        mode[6][termios.VMIN], mode[6][termios.VTIME] = 1, 0
        self._set(mode)
        if self._codes:
            self._write(_MARK_PASTES + (_ENTER_SCREEN if self._alternate else b""))

    def _give_back(self) -> None:
        if self._codes:
            self._write(_LEAVE_PASTES + _PLAIN_CURSOR + (_LEAVE_SCREEN if self._alternate else b""))
        self._set(self._saved)

    def _set(self, mode: list[Any]) -> None:
        while True:
            try:
                termios.tcsetattr(self._stdin, termios.TCSANOW, mode)
            except termios.error as error:
                if error.args[0] == errno.EINTR:  # a stop in mid-change, see termios(3)
                    continue
                # Nothing is left to restore on a terminal that is gone.
            return

    def _write(self, codes: bytes) -> None:
        # Straight to the descriptor: a signal may have come in the middle of a buffered write.
        with contextlib.suppress(OSError):
            os.write(self._stdout, codes)


def _nap(wait: float) -> float:
    """Return how long to sleep in one go: long waits wake a little early and wait again.

    Linux lets ``select`` oversleep by 0.1 % of its timeout, 0.5 % in a niced program, which is
    several milliseconds at slow tempos; of the last 20 ms it is nothing.
    """
    return max(0.0, wait - 0.02 if wait > 0.03 else wait)
