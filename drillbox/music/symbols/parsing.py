"""Reading chord symbols: from the trade's many spellings to one value."""

from __future__ import annotations

import re

from drillbox.errors import BadInput
from drillbox.music.chords import Chord
from drillbox.music.pitch import NAME, parse_name
from drillbox.music.symbols.nearest import nearest_symbol
from drillbox.music.symbols.printed import symbol_text
from drillbox.music.symbols.simplest import chord_of
from drillbox.music.symbols.tail import Stop, read_as, read_tail

__all__ = ["SymbolError", "parse_symbol", "reading", "symbol_text"]

_NO_CHORD = frozenset({"NC", "N.C.", "N.C", "n.c.", "n.c", "nc"})
_LONG = 64


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
    mean two things (``C4``, ``C(b9)``) or contradicts itself (``C9b9``) isn't read. ``reading``
    tells where players differ.
    """
    try:
        return _read(_round(text))
    except Stop as stop:
        raise _refusal(text, column, stop) from None


def reading(text: str) -> str:
    """Return how a symbol is read that others may mean otherwise; empty where all agree.

    ``C11`` is the ninth chord with a fourth and no third, ``C2`` a triad with its ninth.
    """
    bare = _round(text).strip().strip("()")
    found = NAME.match(bare)
    told = read_as(bare[found.end() :]) if found else None
    printed = _printed_or_none(bare)
    if not (found and told and printed):
        return ""
    how, other, both = told
    return f"{bare} is read as {printed}, {how}; write {found[0]}{other} for {both}"


def _round(text: str) -> str:
    """Return the text with square brackets made round, at the same columns."""
    return re.sub(r"\[([^\[\]()]*)\]", r"(\1)", text)


def _refusal(text: str, column: int, stop: Stop) -> SymbolError:
    margin = _margin(text)
    bare = text.strip()
    at = min(stop.at - margin, len(bare))
    read, unread = bare[:at].rstrip(), bare[at:]
    what = f"can't read {_short(unread)!r}" if unread else "can't read the end"
    return SymbolError(
        f"chord symbol {_short(bare)!r}: {what} at column {column + margin + at}"
        + (f" (read {_short(read)})" if read else "")
        + (f": {stop.why}" if stop.why else ""),
        column=column + margin + at,
        read=read,
        nearest=nearest_symbol(bare, (at, stop.past - margin), stop.near, _printed_or_none),
    )


def _short(text: str) -> str:
    return text if len(text) <= 40 else text[:37] + "..."


def _margin(text: str) -> int:
    return len(text) - len(text.lstrip())


def _printed_or_none(text: str) -> str | None:
    """Return how a symbol prints, or None where it can't be read."""
    try:
        return symbol_text(_read(_round(text)), ascii=text.isascii())
    except Stop:
        return None


def _read(text: str) -> Chord | None:
    start, end = _margin(text), len(text.rstrip())
    if text.startswith("(", start):
        if not text.endswith(")", start + 1, end):
            raise Stop(end, "a ')' is missing")
        start, end = start + 1, end - 1
    if text[start:end].strip() in _NO_CHORD:
        return None
    found = NAME.match(text, start, end)
    if not found:
        raise Stop(start, "a symbol begins with its root, A to G")
    root, tail = parse_name(found[0]), text[found.end() : end]
    if len(found[2]) == 2 and tail.startswith("5"):
        flat_five = f"{found[0][:-1]}({found[0][-1]}5)"
        raise Stop(found.end(), f"write {found[0]}(no3) or {flat_five}", near=flat_five)
    try:
        # Long texts aren't chords worth keeping: a file full of them must not fill the cache.
        read = read_tail if len(tail) < _LONG else read_tail.__wrapped__
        special, sounding, bass = read(tail)
    except Stop as stop:
        at, past = found.end() + stop.at, found.end() + stop.past
        near = found[0] + stop.near if stop.near else ""
        raise Stop(at, stop.why, past=past, near=near) from None
    if special:
        return Chord(root, special, (), None if bass == root else bass)
    return chord_of(root, sounding, bass)
