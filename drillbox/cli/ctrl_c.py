"""What Ctrl-C does outside a drill, whose keyboard takes it as a key.

Where a shell's ``&`` or nohup had it ignored it stays so.
"""

from __future__ import annotations

import signal
from types import FrameType


def end_at_once() -> None:
    """Let Ctrl-C end the program without a word.

    That is for the time in which it is loaded and Python shuts down: nothing is begun then, or
    all is done.
    """
    if signal.getsignal(signal.SIGINT) != signal.SIG_IGN:
        signal.signal(signal.SIGINT, signal.SIG_DFL)


def break_off() -> None:
    """Let the first Ctrl-C raise KeyboardInterrupt, so that a command can tidy up.

    A second ends it at once. Does nothing where ``end_at_once`` wasn't called.
    """
    if signal.getsignal(signal.SIGINT) == signal.SIG_DFL:
        signal.signal(signal.SIGINT, _first)


def all_is_done() -> None:
    """Let Ctrl-C end the program at once again, where ``break_off`` was called."""
    if signal.getsignal(signal.SIGINT) == _first:
        signal.signal(signal.SIGINT, signal.SIG_DFL)


def _first(number: int, _: FrameType | None) -> None:
    signal.signal(number, signal.SIG_DFL)
    raise KeyboardInterrupt
