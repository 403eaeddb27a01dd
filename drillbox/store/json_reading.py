"""Read a large JSON object from a file, a member at a time and a list item by item."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any, NoReturn, TextIO

CHUNK = 1 << 16
LONGEST = 1 << 24  # characters in one item: a phrase with all its cards takes a few thousand


def members(file: TextIO) -> Iterator[tuple[str, Any]]:
    """Yield each member of the object in a file; one that is a list as many times as it has items.

    Of a list that is empty nothing is yielded. Raises ValueError where it isn't strict JSON,
    its outermost value isn't an object, or an item is too long to be one.
    """
    text = _Text(file)
    text.take("{")
    if text.peek() == "}":
        text.take("}")
    else:
        while True:
            name = text.value()
            if not isinstance(name, str):
                raise ValueError("a member has no name")
            text.take(":")
            if text.peek() == "[":
                yield from ((name, item) for item in text.items())
            else:
                yield name, text.value()
            if text.take(",}") == "}":
                break
    if text.peek():
        raise ValueError("something follows its end")


def _no_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} isn't JSON")


class _Text:
    """What is left to read of a file, in a window that moves along it."""

    def __init__(self, file: TextIO) -> None:
        self._file = file
        self._text = file.read(CHUNK)
        self._at = 0
        self._scan = json.JSONDecoder(parse_constant=_no_constant).raw_decode

    def _more(self) -> bool:
        """Read further, twice as much each time that it didn't suffice."""
        left = self._text[self._at :]
        read = self._file.read(max(CHUNK, len(left)))
        self._text, self._at = left + read, 0
        return bool(read)

    def peek(self) -> str:
        """Return the next character that isn't blank, "" at the end."""
        while True:
            while self._at < len(self._text) and self._text[self._at] in " \t\r\n":
                self._at += 1
            if self._at < len(self._text):
                return self._text[self._at]
            if not self._more():
                return ""

    def take(self, expected: str) -> str:
        """Go past the next character, which must be one of those expected; return it."""
        found = self.peek()
        if not found or found not in expected:
            raise ValueError(f"{' or '.join(expected)} is missing")
        self._at += 1
        return found

    def value(self) -> Any:
        """Return the next value and go past it."""
        self.peek()
        while True:
            try:
                found, end = self._scan(self._text, self._at)
            except json.JSONDecodeError as problem:
                if len(self._text) - self._at > LONGEST or not self._more():
                    raise ValueError(f"not JSON: {problem}") from None
                continue
            except RecursionError:
                raise ValueError("it is nested too deeply") from None
            length = end - self._at
            # At the end of the window a number may go on, and a half one ends before its point.
            if end < len(self._text) and self._text[end] not in ".eE":
                self._at = end
                return found
            if not self._more():
                self._at = length
                return found

    def items(self) -> Iterator[Any]:
        """Yield the items of the list that comes next."""
        self.take("[")
        if self.peek() == "]":
            self.take("]")
            return
        while True:
            yield self.value()
            if self.take(",]") == "]":
                return
