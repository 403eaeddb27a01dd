"""What a player can do to the keyboard, as small values; and who can report it."""

from __future__ import annotations

from dataclasses import dataclass, field
from types import TracebackType
from typing import Protocol, Self


@dataclass(frozen=True, slots=True)
class Press:
    """One key, or something else that ended the wait for one.

    ``name`` is the character itself, or a word of two letters or more for everything
    that has none. ``reason`` says why, where there is a why; it plays no part in ``==``.
    """

    name: str
    reason: str = field(default="", compare=False)

    @property
    def character(self) -> str:
        """Return the character typed (a blank for the space bar), or '' for other keys."""
        if self.name == "space":
            return " "
        return self.name if len(self.name) == 1 else ""


ENTER = Press("enter")
SPACE = Press("space")
ESC = Press("esc")
TAB = Press("tab")
BACKSPACE = Press("backspace")
UP, DOWN, LEFT, RIGHT = Press("up"), Press("down"), Press("left"), Press("right")
PAGE_UP, PAGE_DOWN = Press("page up"), Press("page down")
UNKNOWN = Press("unknown")
"""A key that has no meaning here: a function key, bytes that aren't text."""
END = Press("end", "The input has ended.")
"""Nothing more will come: end of input, a closed terminal, a request to terminate."""
INTERRUPT = Press("interrupt", "Ctrl-C")
LEAVING = frozenset({END, INTERRUPT})
"""What ends a session, whatever is shown."""
RESIZED = Press("resized", "the window changed")
"""The screen must be drawn again: the window changed, or the program was stopped and went on."""
TIMEOUT = Press("timeout")

CONTINUED = Press("resized", "continued")


class Presses(Protocol):
    """A source of presses."""

    def read_key(self, timeout: float | None = None) -> Press:
        """Wait up to ``timeout`` seconds (None: for ever) for the next press."""

    def forget_typed(self) -> None:
        """Drop what was typed before now, as it was meant for what stood there before."""


class Keys(Presses, Protocol):
    """A source of presses for a whole session; a context manager."""

    def __enter__(self) -> Self:
        """Begin the session."""

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Put everything back as it was."""
