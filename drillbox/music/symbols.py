"""Reading chord symbols: from the trade's many spellings to one value."""

from __future__ import annotations

from drillbox.errors import BadInput
from drillbox.music.chords import Chord
from drillbox.music.near_symbols import nearest_symbol
from drillbox.music.pitch import NAME, parse_name
from drillbox.music.printed import symbol_text
from drillbox.music.simplest import chord_of
from drillbox.music.symbol_tail import Stop, read_tail

__all__ = ["SymbolError", "parse_symbol", "symbol_text"]

_NO_CHORD = frozenset({"NC", "N.C.", "N.C", "n.c.", "nc"})


class SymbolError(BadInput):
    """A chord symbol that can't be read.

    ``column`` is that of the first character that can't be read, counted from 1 in the text
    (or line) that it stands in; ``read`` is what was read up to there; ``nearest`` is the
    nearest symbol that would be read.
    """

    def __init__(self, what: str, *, column: int, read: str, nearest: str) -> None:
        super().__init__(what, f"Nearest symbol: {nearest}")
        self.column = column
        self.read = read
        self.nearest = nearest


def parse_symbol(text: str, column: int = 1) -> Chord | None:
    """Read a chord symbol in any common spelling; None for no chord (``N.C.``).

    Accidentals right after a letter belong to it: ``Ab5`` is a power chord on A flat, and
    ``A(b5)`` has a flat fifth. Parentheses round the whole symbol are allowed. ``column`` is
    the column of the text's first character. Raises SymbolError, never guesses: what could
    mean two things (``C2``, ``C(b9)``) or contradicts itself (``C9b9``) isn't read.
    """
    try:
        return _read(text)
    except Stop as stop:
        raise _refusal(text, column, stop) from None


def _refusal(text: str, column: int, stop: Stop) -> SymbolError:
    at = min(stop.at, len(text.rstrip()))
    bare, read = text.strip(), text[:at].strip()
    unread = text[at:].rstrip()
    return SymbolError(
        f"chord symbol {bare!r}: can't read {repr(unread) if unread else 'the end'}"
        f" at column {column + at}"
        + (f" (read {read})" if read else "")
        + (f": {stop.why}" if stop.why else ""),
        column=column + at,
        read=read,
        nearest=nearest_symbol(bare, at - _margin(text), stop.near, _printed_or_none),
    )


def _margin(text: str) -> int:
    return len(text) - len(text.lstrip())


def _printed_or_none(text: str) -> str | None:
    """Return how a symbol prints, or None where it can't be read."""
    try:
        return symbol_text(_read(text), ascii=text.isascii())
    except Stop:
        return None


def _read(text: str) -> Chord | None:
    start, end = _margin(text), len(text.rstrip())
    if text[start:end].startswith("(") and text[start:end].endswith(")"):
        start, end = start + 1, end - 1
    if text[start:end].strip() in _NO_CHORD:
        return None
    found = NAME.match(text, start, end)
    if not found:
        raise Stop(start, "a symbol begins with a root, A to G" if text.strip() else "")
    root = parse_name(found[0])
    tail = text[found.end() : end]
    if len(found[2]) == 2 and tail[:1] == "5":
        # Bbb5: B double flat, or B flat with a flat fifth?
        raise Stop(found.end(), "a double accidental before a 5 can mean two chords", "no3")
    try:
        special, found_tones, bass = read_tail(tail)
    except Stop as stop:
        raise Stop(found.end() + stop.at, stop.why, stop.near) from None
    if special:
        return Chord(root, special, (), None if bass == root else bass)
    return chord_of(root, found_tones, bass)
