"""Reading chord symbols: from the trade's many spellings to one value."""

from __future__ import annotations

import re
from functools import lru_cache

from drillbox.errors import BadInput
from drillbox.music.chords import KINDS, Chord, Tones
from drillbox.music.pitch import NAME, Name, parse_name
from drillbox.music.symbols.nearest import nearest_symbol
from drillbox.music.symbols.printed import chord_of, symbol_text
from drillbox.music.symbols.tones_read import Refused, SymbolTones
from drillbox.music.symbols.words import (
    AFTER_SLASH,
    CHANGE,
    CHANGES,
    NUMBER,
    QUALITY,
    READ_AS,
    SPECIAL_KIND,
    alter_of,
)

_SPACE = re.compile(r"\s*")


class Stop(Exception):
    """Reading stops at ``at``: why, and what could stand instead.

    ``past`` is where a part ends that was recognised but can't stand; ``near`` is what to
    propose after the root.
    """

    def __init__(self, at: int, why: str = "", *, past: int | None = None, near: str = "") -> None:
        self.at = at
        self.why = why
        self.past = at + 1 if past is None else past
        self.near = near


@lru_cache(maxsize=2048)
def read_tail(text: str) -> tuple[str, Tones, Name | None]:
    """Read the text after a root: (special kind or "", tones, bass). Raises Stop.

    The special kinds are those of MusicXML that have no symbol (``printed.SPECIAL``).
    Cached: the same few tails stand over every root.
    """
    if special := SPECIAL_KIND.match(text):
        kind = special["inside"] or special["bare"]
        return kind, KINDS[kind], _read_bass(text, special.end())
    tones, at = _read_head(text)
    scan = _Changes(text, at, tones)
    scan.read()
    return "", tones.sounding(), _read_bass(text, scan.at)


def _past_space(text: str, at: int) -> int:
    found = _SPACE.match(text, at)
    return found.end() if found else at


def read_as(tail: str) -> tuple[str, str, str] | None:
    """Return how a tail is read that others may mean otherwise, as ``READ_AS`` has it."""
    quality, written, _, past = _head(tail)
    return None if "sus" in tail[past:].lower() else READ_AS.get((quality, written))


def _head(text: str) -> tuple[str, str, int, int]:
    """Return quality and number as written, where the quality ends, and where the rest begins."""
    quality = QUALITY.match(text)
    assert quality is not None, "every part of the pattern may be empty"
    number = NUMBER.match(text, quality.end())
    past = number.end() if number else quality.end()
    written = (number[1] or number[2]) if number else ""
    if written != "6/9":
        written = written.rpartition("/")[2]  # 7/13 is 13
    return quality.lastgroup or "", written.replace("/", ""), quality.end(), past


def _read_head(text: str) -> tuple[SymbolTones, int]:
    """Read quality and number; return the tones and where the rest begins."""
    quality, written, end, past = _head(text)
    try:
        return SymbolTones(quality, written), past
    except Refused as no:
        raise Stop(_past_space(text, end), no.why, past=past, near=no.near) from None


def _read_bass(text: str, at: int) -> Name | None:
    """Read ``/E`` from the slash to the end of the text; None if nothing is left."""
    at = _past_space(text, at)
    if at == len(text):
        return None
    at = _past_space(text, at + 1)
    if at == len(text):
        raise Stop(at, "the bass after the slash is missing, a note A to G")
    found = NAME.match(text, at)
    if not found:
        raise Stop(at, "a bass is a note, A to G", past=len(text))
    if (end := _past_space(text, found.end())) < len(text):
        raise Stop(end)
    return parse_name(found[0])


class _Changes:
    """Walks over everything after the number, up to a slash bass or the end."""

    def __init__(self, text: str, at: int, tones: SymbolTones) -> None:
        self._text = text
        self.at = at
        self._tones = tones
        self._inside = False
        self._apart = False
        self._before = ""

    def read(self) -> None:
        """Apply every change to the tones; leave ``at`` at the slash or the end."""
        while not self._over():
            if self._separated():
                self._apart = True
            else:
                self._change()
                self._apart, self._before = False, ""
        if self._inside:
            raise Stop(self.at, "a ')' is missing")
        if self._before == ",":
            raise Stop(self.at, "something is missing after the comma")

    def _over(self) -> bool:
        start, self.at = self.at, _past_space(self._text, self.at)
        self._apart = self._apart or self.at > start
        sign = self._text[self.at : self.at + 1]
        bass = sign == "/" and not AFTER_SLASH.match(self._text, self.at + 1)
        return not sign or (bass and not self._inside)

    def _separated(self) -> bool:
        """Take a comma or parenthesis, in which a slash may stand for a comma."""
        sign = self._text[self.at]
        if sign == "(" and not self._inside:
            self._inside = True
        elif sign == ")" and self._inside and not self._before:
            self._inside = False
        elif sign not in {",", "/"} or self._before:
            return False
        self.at += 1
        self._before = sign if sign != ")" else ""
        return True

    def _change(self) -> None:
        found = CHANGE.match(self._text, self.at)
        if not found:
            raise Stop(self.at)
        try:
            self._apply(found)
        except Refused as no:
            raise Stop(self.at, no.why, past=found.end(), near=no.near) from None
        self.at = found.end()

    def _apply(self, found: re.Match[str]) -> None:
        match next(name for name in CHANGES if found[name] is not None):
            case "sus":
                self._tones.suspend(int(found["sus_by"] or 4), int(found["sus_to"] or 0))
            case "alt":
                self._tones.make_altered()
            case "add":
                self._tones.add(int(found["add_to"]), _added(found["add_by"], found["add_to"]))
            case "no":
                self._tones.omit(int(found["no_of"]))
            case "alter":
                self._tones.alter(int(found["alter_to"]), alter_of(found["alter_by"]))
            case "seventh":
                self._tones.add_major_seventh(int(found["by_word"] or found["by_sign"] or 7))
            case "natural":
                self._natural(int(found["natural"]))
            case _:
                self._tones.raise_fifth()

    def _natural(self, number: int) -> None:
        if number == 4 and self._apart:
            self._tones.suspend(4)
        elif number == 3:
            self._tones.add_third()
        else:
            self._tones.add_natural(number, self._apart)


def _added(by: str, to: str) -> int:
    """Return the alteration of an added degree; only a seventh can be called major."""
    if to == "7" and not by:
        raise Refused("write 7 or addmaj7", "7")
    if by.upper() in {"M", "MA", "MAJ"}:
        if to != "7":
            raise Refused("only a 7 can be maj")
        return 0
    return alter_of(by)


__all__ = ["SymbolError", "parse_symbol", "reading"]

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
    bare = _round(text).strip()
    if bare.startswith("(") and bare.endswith(")"):
        bare = bare[1:-1].strip()
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
