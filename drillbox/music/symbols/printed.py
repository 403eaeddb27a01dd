"""The one printed form of a chord symbol, in ASCII and in Unicode."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from drillbox.music.chords import Chord, Degree
from drillbox.music.symbols.simplest import simplest
from drillbox.music.tones import KINDS, added_alter, degree_text

NO_CHORD = "N.C."
SPECIAL = ("pedal", "Neapolitan", "Italian", "French", "German", "Tristan", "other")
# What a chord called "alt" sounds over its root: both fifths and both ninths of the altered
# scale, 1 b9 #9 3 b5 #5 b7 (M. Levine, The Jazz Theory Book, 1995).
ALTERED = ((1, 0), (3, 0), (5, -1), (5, 1), (7, -1), (9, -1), (9, 1))
_ALTERED_DEGREES = (
    Degree("alter", 5, -1), Degree("add", 5, 1), Degree("add", 9, -1), Degree("add", 9, 1)
)  # fmt: skip

# Kind -> (printed head, the number in it). What follows in the text is read against both.
_HEADS = {
    "major": ("", 0), "minor": ("m", 0), "augmented": ("aug", 0), "diminished": ("dim", 0),
    "dominant": ("7", 7), "major-seventh": ("maj7", 7), "minor-seventh": ("m7", 7),
    "diminished-seventh": ("dim7", 7), "augmented-seventh": ("7", 7),
    "half-diminished": ("m7", 7), "major-minor": ("m(maj7)", 7),
    "major-sixth": ("6", 6), "minor-sixth": ("m6", 6),
    "dominant-ninth": ("9", 9), "major-ninth": ("maj9", 9), "minor-ninth": ("m9", 9),
    "major-11th": ("maj11", 11), "minor-11th": ("m11", 11),
    "dominant-13th": ("13", 13), "major-13th": ("maj13", 13), "minor-13th": ("m13", 13),
    "suspended-second": ("sus2", 0), "suspended-fourth": ("sus4", 0), "power": ("5", 5),
}  # fmt: skip
_SIGNS = {"half-diminished": "ø7", "diminished-seventh": "°7", "diminished": "°"}


def symbol_text(chord: Chord | None, *, ascii: bool = True) -> str:
    """Return the symbol as on a lead sheet: ``Ebm7b5/A``, in Unicode ``E♭ø7/A``.

    None (no chord) is ``N.C.``. Reading the text again gives ``simplest(chord)``: the same
    root, tones and bass. Up to two alterations stand bare (``C7#9b13``), more of them, and
    any on a triad, in parentheses (``C7(b9,#11,b13)``, ``C(b5)``), as do added and omitted
    degrees save one alone on a major triad (``Cadd9``). The MusicXML kinds that have no
    symbol are named: ``C(pedal)``, ``C(German)``. ValueError on an unknown kind.
    """
    plain = None if chord is None else simplest(chord)
    if plain is None:
        return NO_CHORD
    root = plain.root.text(ascii=ascii)
    suffix = _suffix(plain.kind, plain.degrees, ascii)
    if plain.kind == "power" and abs(plain.root.alter) == 2:
        # Bbb5 could be Bb with a flat fifth.
        suffix = "(no3)" if suffix == "5" else f"(no3,{suffix[2:]}"
    bass = "" if plain.bass is None else "/" + plain.bass.text(ascii=ascii)
    return root + suffix + bass


@dataclass(slots=True)
class _Parts:
    """A symbol's text in the making: its head, then alterations, then added and omitted."""

    head: str
    number: int
    altered: list[tuple[int, int]]
    changed: list[str]
    degrees: list[Degree]
    ascii: bool

    def take(self, number: int, alter: int = 0) -> bool:
        """Take out an added degree that the head already says; tell whether it was there."""
        degree = Degree("add", number, alter)
        if degree not in self.degrees:
            return False
        self.degrees.remove(degree)
        return True

    def text(self) -> str:
        altered = [degree_text(*each, ascii=self.ascii) for each in sorted(self.altered)]
        bare = self.head[-1:].isdigit() or self.head.endswith(")")
        if not (bare and len(altered) <= 2):
            altered, self.changed = [], altered + self.changed
        if not self.changed:
            return self.head + "".join(altered)
        if not self.head and not altered and len(self.changed) == 1:
            only = self.changed[0]
            return only if only.startswith("add") else f"({only})"
        return f"{self.head}{''.join(altered)}({','.join(self.changed)})"


@lru_cache(maxsize=2048)
def _suffix(kind: str, degrees: tuple[Degree, ...], ascii: bool) -> str:
    if kind in SPECIAL:
        return f"({kind})"
    if kind == "dominant" and degrees == _ALTERED_DEGREES:
        return "7alt"
    parts = _Parts(*_HEADS[kind], [], [], list(degrees), ascii)
    if not ascii and kind in _SIGNS:
        parts.head = _SIGNS[kind]
    elif kind in {"half-diminished", "augmented-seventh"}:
        parts.altered.append((5, -1 if kind == "half-diminished" else 1))
    natural = frozenset(d.number for d in degrees if d.action == "add" and added_alter(d) == 0)
    _widen_head(kind, parts)
    _rest(kind, parts, natural)
    return parts.text()


def _widen_head(kind: str, parts: _Parts) -> None:
    """Draw into the head what players write there: 69, m(maj9), 13sus4, dim(maj7)."""
    if kind in {"major-sixth", "minor-sixth"} and parts.take(9):
        parts.head, parts.number = parts.head + "9", 9
    elif kind == "major-minor":
        parts.number = _stacked(parts, (9, 11, 13))
        parts.head = f"m(maj{parts.number})"
    elif kind == "diminished" and parts.take(7, 1):
        parts.head, parts.number = parts.head + "(maj7)", 7
    elif kind in {"suspended-second", "suspended-fourth"}:
        seventh = "" if parts.take(7) else "maj" if parts.take(7, 1) else None
        if seventh is not None:
            parts.number = _stacked(parts, (9, 13) if kind == "suspended-fourth" else ())
            parts.head = f"{seventh}{parts.number}{parts.head}"
        elif kind == "suspended-fourth" and parts.take(6):
            parts.head, parts.number = "6sus4", 6


def _stacked(parts: _Parts, numbers: tuple[int, ...]) -> int:
    """Take the natural ninth and what follows it without a gap; return the highest number."""
    highest = 7
    for number in numbers:
        if not parts.take(number):
            break
        highest = number
    return highest


def _rest(kind: str, parts: _Parts, natural: frozenset[int]) -> None:
    """Write every degree that the head doesn't say, omissions before additions."""
    own = dict(KINDS[kind])
    added: list[str] = []
    replaced: set[int] = set()
    for degree in parts.degrees:
        number = degree.number
        alter = added_alter(degree) if degree.action == "add" else own[number] + degree.alter
        if degree.action == "subtract":
            parts.changed.append(f"no{number}")
        elif degree.action == "alter" and number != parts.number:
            replaced.add(number)
            parts.altered.append((number, alter))
        elif number in replaced or (
            degree.action == "add"
            and number in {9, 11, 13} - own.keys() - natural - {parts.number}
            and parts.number >= 6
        ):
            parts.altered.append((number, alter))
        else:
            if degree.action == "alter":
                parts.changed.append(f"no{number}")
            major_seventh = (number, alter) == (7, 0)
            name = "maj7" if major_seventh else degree_text(number, alter, ascii=parts.ascii)
            added.append(f"add{name}")
    parts.changed += added
