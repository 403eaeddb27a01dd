"""The signs of ABC 2.1 music lines, one regular expression each."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from drillbox.errors import BadInput
from drillbox.notation.sheet import Place

_LENGTH = r"(?:\d{1,5})?(?:/{1,9}(?:\d{1,5})?)?"
_NOTE = r"(?:\^\^|\^|__|_|=)?[A-Ga-g][,']{0,9}"
# Order matters: the first that fits is the sign (sections 4.1 to 4.20 of the standard).
_SIGNS = {
    "text": r'"[^"]*"?',
    "decoration": r"![^!\s|\[\]:\"]{1,40}!|\+[^+\s|\[\]:\"]{1,40}\+",
    "field": r"\[[A-Za-z]:[^\]]*\]?",
    "bar": r"\.?(?::+\|[|:\]]*|::+|\[\|[|:\]]*|\|[|:\]]*)(?:\s*\[?\d[\d,\-]*)?",
    "ending": r"\[\d[\d,\-]*",
    "note": _NOTE + _LENGTH,
    "rest": r"[zx]" + _LENGTH,
    "bars": r"[ZX]\d{0,5}",
    "stack": r"\[[^\[\]|]*\]" + _LENGTH,
    "grace": r"\{[^}]*\}?",
    "tuplet": r"\(\d{1,3}(?::\d{0,3}){0,2}",
    "slur": r"\.?\(|\)",
    "tie": r"\.?-",
    "broken": r">{1,3}|<{1,3}",
    "overlay": r"&",
    "letter": r"[.~H-Wh-w]",
    "spacer": r"y" + _LENGTH,
    "blank": r"[\s`\\*;$!?@]",
    "unread": r".",
}
_TOKEN = re.compile("|".join(f"(?P<{name}>{sign})" for name, sign in _SIGNS.items()), re.DOTALL)
_INSIDE = re.compile(
    rf"(?P<note>{_NOTE}{_LENGTH})|(?P<tie>-)|(?P<text>\"[^\"]*\")"
    rf"|(?P<decoration>{_SIGNS['decoration']}|{_SIGNS['letter']})|(?P<other>.)"
)
_NOTE_PARTS = re.compile(r"(\^\^|\^|__|_|=)?([A-Ga-g])([,']*)(.*)")


@dataclass(frozen=True, slots=True)
class Token:
    """One sign: what it is, how it is written, and where it begins, line and column from 1."""

    kind: str
    text: str
    line: int
    column: int

    @property
    def place(self) -> Place:
        """Return where the sign begins."""
        return Place(self.line, self.column)


@dataclass(frozen=True, slots=True)
class WrittenNote:
    """A note as written: accidental sign or empty, letter, octave number, length multiplier."""

    sign: str
    letter: str
    octave: int
    length: Fraction


def tokens(number: int, line: str) -> Iterator[Token]:
    """Yield the signs of the music line with this number, blanks left out."""
    for match in _TOKEN.finditer(line):
        if match.lastgroup != "blank":
            yield Token(str(match.lastgroup), match[0], number, match.start() + 1)


def signs_inside(token: Token) -> Iterator[Token]:
    """Yield the notes, ties, strings and decorations inside stacked notes or grace notes."""
    for match in _INSIDE.finditer(token.text):
        if match.lastgroup != "other":
            column = token.column + match.start()
            yield Token(str(match.lastgroup), match[0], token.line, column)


def read_note(text: str) -> WrittenNote:
    """Take a note's text apart; middle C is ``C``, octave 4 (ABC 2.1, section 4.1)."""
    match = _NOTE_PARTS.fullmatch(text)
    if not match:  # the token expression admits nothing else
        raise BadInput(f"{text!r} isn't a note")
    octave = 4 if match[2].isupper() else 5
    octave += match[3].count("'") - match[3].count(",")
    return WrittenNote(match[1] or "", match[2].upper(), octave, read_length(match[4]))


def read_length(text: str) -> Fraction:
    """Read a length such as ``3``, ``/``, ``//`` or ``3/2``; raise BadInput for a length of 0."""
    match = re.fullmatch(r"(\d*)(/*)(\d*)", text)
    top, slashes, bottom = (match[1], match[2], match[3]) if match else ("0", "", "")
    over = int(bottom) if bottom else 2 ** len(slashes)
    if over == 0 or (top and int(top) == 0):
        raise BadInput(f"{text!r} isn't a length", "A note's length is more than 0.")
    return Fraction(int(top or 1), over * (2 ** (len(slashes) - 1) if bottom else 1))


# How many notes of a tuplet take whose time, where the file doesn't say; else it is 2, or 3.
_IN_THE_TIME_OF = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}


def read_tuplet(text: str, *, compound: bool) -> tuple[Fraction, int]:
    """Read ``(p:q:r``: p notes in the time of q for the next r notes (4.13).

    Return by what these are shortened, and r. Where q isn't said, a ``compound`` meter tells it.
    """
    numbers = [int(part) if part else None for part in text[1:].split(":")]
    p, q, r = [*numbers, None, None][:3]
    if not p or q == 0 or r == 0 or (p > 9 and not q):
        raise BadInput(f"the tuplet {text} is not read", "Write one such as (3 or (5:4:5.")
    q = q or _IN_THE_TIME_OF.get(p, 3 if compound else 2)
    return Fraction(q, p), r or p


def in_parentheses(text: str) -> bool:
    """Return whether one pair of parentheses encloses the whole text: a turnaround."""
    depth = 0
    for position, sign in enumerate(text):
        depth += {"(": 1, ")": -1}.get(sign, 0)
        if depth == 0:
            return position > 0 and position == len(text) - 1
    return False


def passes_of_ending(text: str) -> frozenset[int]:
    """Return the passes of an ending such as ``[1,3`` or ``2-4``."""
    numbers: set[int] = set()
    for low, high in re.findall(r"(\d{1,2})(?:-(\d{1,2}))?", text):
        numbers.update(range(int(low), int(high or low) + 1))
    return frozenset(numbers)
