"""The one place through which text reaches a stream: nothing in it can drive a terminal.

A title, a note, a file's name or a server's words may hold escape sequences, marks that turn the
direction of writing, or signs that a terminal can't show. Lines, messages and screens all pass
here, whoever wrote them; only what draws a screen writes codes, past it, by ``drawing``. Last
come a few of many names and a number with its noun, as all of them write these.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any, TextIO


def harmless(text: str, encoding: str | None = None) -> str:
    """Return text without control, format and unassigned characters; line ends stay.

    Blanks of all kinds and separators become a blank. ``encoding``, where it is given, is what
    the text is to be written in: '?' stands for what it lacks.
    """
    if not text.replace("\n", "").isprintable():
        text = "".join(map(_shown, text))
    if encoding is None or text.isascii():
        return text
    try:
        return text.encode(encoding, "replace").decode(encoding)
    except LookupError:
        return text.encode("ascii", "replace").decode()


def _shown(character: str) -> str:
    # What isn't printable is of Unicode's categories C and Z, the blank alone left out.
    if character.isprintable() or character == "\n":
        return character
    return " " if character.isspace() else ""


def is_utf8(text: str) -> bool:
    """Return whether a text can be written in UTF-8: bytes that couldn't be read stand in none."""
    return not any("\ud800" <= character <= "\udfff" for character in text)


def one_line(text: str) -> str:
    """Return text as one harmless line."""
    return harmless(text).replace("\n", " ")


def tell(line: str) -> None:
    """Print one line on stderr; a terminal has it broken between words."""
    text = one_line(line)
    print(broken(text, columns(sys.stderr)) if sys.stderr.isatty() else text, file=sys.stderr)


def broken(text: str, width: int) -> str:
    """Return a text in lines of at most ``width`` signs; a longer word, as a path, stays whole.

    What is indented stays so on every line.
    """
    from textwrap import wrap  # only where something is told

    under = " " * (len(text) - len(text.lstrip(" ")))
    return "\n".join(
        wrap(text, width, subsequent_indent=under, break_long_words=False, break_on_hyphens=False)
    )


def columns(stream: TextIO) -> int:
    """Return how many columns the terminal of a stream has, 80 where it is none."""
    try:
        return os.get_terminal_size(stream.fileno()).columns or 80
    except (OSError, ValueError):
        return 80


class Outlet:
    """A stream whose text is made harmless; all else is that of the stream beneath."""

    def __init__(self, beneath: TextIO) -> None:
        self.beneath = beneath

    def write(self, text: str) -> int:
        """Write harmless text; return how long the text was."""
        self.beneath.write(harmless(text, self.beneath.encoding or "ascii"))
        return len(text)

    def writelines(self, lines: Iterable[str]) -> None:
        """Write several texts."""
        for line in lines:
            self.write(line)

    def __getattr__(self, name: str) -> Any:
        return getattr(self.beneath, name)


@contextmanager
def outlets() -> Iterator[None]:
    """Let all that is printed inside the block pass through outlets."""
    before = sys.stdout, sys.stderr
    sys.stdout, sys.stderr = Outlet(sys.stdout), Outlet(sys.stderr)
    try:
        yield
    finally:
        sys.stdout, sys.stderr = before


def drawing(stream: TextIO) -> TextIO:
    """Return the stream on which codes may be written: they reach the terminal as they are."""
    return stream.beneath if isinstance(stream, Outlet) else stream


FEW = 5


def some(names: Sequence[str]) -> str:
    """Return the first few names, and how many more there are: ``Ash, Elm and 3 more``."""
    more = len(names) - FEW
    return ", ".join(names[:FEW]) + (f" and {more} more" if more > 0 else "")


def counted(number: int, noun: str) -> str:
    """Return them as words: ``1 key``, ``2,000 keys``, ``0 keys``, ``2 goes``."""
    plural = f"{noun}es" if noun.endswith("o") else f"{noun}s"
    return f"{number:,} {noun if number == 1 else plural}"
