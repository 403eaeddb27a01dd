"""What the terminal is able to show, found from the streams and the environment."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

SIGNS = "♭♯°ø│"
"""The signs beyond ASCII that no screen can do without; one that can't be written rules out all."""
LONGEST = 4
"""Digits of a size that the environment states; what has more is no terminal's."""


class Stream(Protocol):
    """The part of a text stream that is asked here."""

    def isatty(self) -> bool:
        """Say whether it is a terminal."""

    def fileno(self) -> int:
        """Return its descriptor; raises OSError or ValueError where it has none."""


@dataclass(frozen=True, slots=True)
class Terminal:
    """Facts of one terminal. Sizes are in character cells.

    ``interactive``: single keys can be read and a screen redrawn. ``colour``: colours are
    welcome (bold is, either way). ``unicode``: ♭ and its like can be written. ``dumb``: no
    escape codes.
    """

    width: int
    height: int
    interactive: bool
    colour: bool
    unicode: bool
    dumb: bool


def terminal_facts(stdin: Stream, stdout: Stream, env: Mapping[str, str] = os.environ) -> Terminal:
    """Return what is known of the terminal now; ask again after its size has changed.

    Honours COLUMNS, LINES, NO_COLOR (no-color.org), TERM=dumb and a locale named C or POSIX.
    """
    width, height = terminal_size(stdout, env)
    shown = stdout.isatty()
    dumb = env.get("TERM") in {"dumb", "unknown"}
    return Terminal(
        width=width,
        height=height,
        interactive=stdin.isatty() and shown,
        colour=shown and not dumb and not env.get("NO_COLOR"),
        unicode=_unicode(stdout, env),
        dumb=dumb or not shown,
    )


def terminal_size(stdout: Stream, env: Mapping[str, str] = os.environ) -> tuple[int, int]:
    """Return columns and lines: as set in the environment, as the terminal says, or 80 × 24."""
    width, height = 80, 24
    try:
        told = os.get_terminal_size(stdout.fileno())
    except (OSError, ValueError):
        pass
    else:
        width, height = told.columns or width, told.lines or height
    return _count(env.get("COLUMNS"), width), _count(env.get("LINES"), height)


def _count(text: str | None, otherwise: int) -> int:
    if not text or len(text) > LONGEST or not (text.isascii() and text.isdigit()):
        return otherwise
    return int(text) or otherwise


def _unicode(stdout: Stream, env: Mapping[str, str]) -> bool:
    locale = env.get("LC_ALL") or env.get("LC_CTYPE") or env.get("LANG") or ""
    if locale in {"C", "POSIX"} or env.get("TERM") == "dumb":
        return False  # Python writes UTF-8 even in the C locale; the terminal need not read it
    try:
        SIGNS.encode(getattr(stdout, "encoding", None) or "ascii")
    except (UnicodeEncodeError, LookupError):
        return False
    return True
