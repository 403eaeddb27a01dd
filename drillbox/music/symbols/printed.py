"""One way to write each chord, and its one printed form and a chart's, in ASCII and Unicode.

The way to write a chord is that of the fewest MusicXML degrees that give the same tones.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from math import lcm

from drillbox.music.charts import Bar, Chart
from drillbox.music.chords import KINDS, Chord, Degree, Tones, added_alter, degree_text, intervals
from drillbox.music.pitch import Name

# Of kinds that need equally many degrees the first wins: C7b9 is a seventh chord with an
# added b9, not a ninth chord with an altered one; C9#5 is a ninth chord with an altered fifth.
# The kind dominant-11th isn't among them: players read C11 without its third.
_ORDER = (
    "major", "minor", "suspended-fourth", "suspended-second",
    "dominant", "major-seventh", "minor-seventh", "major-sixth", "minor-sixth",
    "dominant-ninth", "major-ninth", "minor-ninth",
    "major-11th", "minor-11th",
    "dominant-13th", "major-13th", "minor-13th",
    "augmented", "diminished", "augmented-seventh", "half-diminished",
    "diminished-seventh", "major-minor", "power",
)  # fmt: skip
# These stand for exactly their own tones, never for a chord with degrees.
_EXACT = ("pedal", "Neapolitan", "Italian", "French", "German", "Tristan", "none")
_ALTERABLE = frozenset({5, 9, 11, 13})


def simplest_form(chord: Chord) -> Chord | None:
    """Return the chord's one form: same root, tones and bass, fewest degrees.

    Symbols are read to this form, and two chords with the same root, tones and bass have
    the same one. None where nothing sounds (kind ``none``). A bass that is the root is
    dropped. Kind ``other`` that states no tones beside its root stays as it is.
    """
    if chord.kind == "other" and intervals(chord) == KINDS["other"]:
        return Chord(chord.root, "other", (), _bass(chord.root, chord.bass))
    return chord_of(chord.root, intervals(chord), chord.bass)


def chord_of(root: Name, found: Tones, bass: Name | None = None) -> Chord | None:
    """Return the chord with these tones in its one form; None where there are none."""
    kind, degrees = _kind_of(tuple(sorted(found)))
    return None if kind == "none" else Chord(root, kind, degrees, _bass(root, bass))


def _bass(root: Name, bass: Name | None) -> Name | None:
    return None if bass == root else bass


@lru_cache(maxsize=1024)
def _kind_of(found: Tones) -> tuple[str, tuple[Degree, ...]]:
    for kind in _EXACT:
        if found == KINDS[kind]:
            return kind, ()
    wanted: dict[int, list[int]] = {}
    for number, alter in found:
        wanted.setdefault(number, []).append(alter)
    best: tuple[str, tuple[Degree, ...]] | None = None
    for kind in _ORDER:
        degrees = _degrees_over(dict(KINDS[kind]), wanted)
        if degrees is not None and (best is None or len(degrees) < len(best[1])):
            best = kind, degrees
    assert best is not None, "power has no third, sixth or seventh to be in the way"
    return best


def _degrees_over(own: dict[int, int], wanted: dict[int, list[int]]) -> tuple[Degree, ...] | None:
    """Return the degrees that turn a kind's tones into the ones asked for; None if it misleads.

    A kind misleads if its third, sixth, seventh or suspended tone isn't the one that sounds,
    or if its altered fifth isn't the only fifth (C7b5#5 isn't an augmented seventh).
    """
    degrees: list[Degree] = []
    for number in sorted(own.keys() | wanted.keys()):
        sounding = wanted.get(number, [])
        if number not in own:
            degrees += _additions(number, sounding)
        elif number == 5 and own[5] != 0 and sounding not in ([], [own[5]]):
            return None
        elif own[number] in sounding:
            degrees += _additions(number, [each for each in sounding if each != own[number]])
        elif not sounding:
            degrees.append(Degree("subtract", number))
        elif number in _ALTERABLE:
            degrees.append(Degree("alter", number, sounding[0] - own[number]))
            degrees += _additions(number, sounding[1:])
        elif number == 1:
            degrees += [Degree("subtract", 1), *_additions(1, sounding)]
        else:
            return None
    return tuple(degrees)


def _additions(number: int, alters: list[int]) -> list[Degree]:
    # An added seventh counts from the minor one: MusicXML 4.0, degree-alter.
    return [Degree("add", number, alter + (number == 7)) for alter in alters]


NO_CHORD = "N.C."
SPECIAL = ("pedal", "Neapolitan", "Italian", "French", "German", "Tristan", "other")
# What a chord called "alt" sounds over its root: both fifths and both ninths of the altered
# scale, 1 b9 #9 3 b5 #5 b7 (M. Levine, The Jazz Theory Book, 1995).
ALTERED = ((1, 0), (3, 0), (5, -1), (5, 1), (7, -1), (9, -1), (9, 1))
_ALTERED_DEGREES = (
    Degree("alter", 5, -1), Degree("add", 5, 1), Degree("add", 9, -1), Degree("add", 9, 1)
)  # fmt: skip

# Natural tensions that stand among altered ones without "add": C7(b9,13).
_BESIDE_ALTERED = ((11, 0), (13, 0))

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

    None (no chord) is ``N.C.``. Reading the text again gives ``simplest_form(chord)``: the same
    root, tones and bass. Up to two alterations stand bare (``C7#9b13``), more of them, any
    with a natural tension beside it and any on a triad in parentheses (``C7(b9,#11,b13)``,
    ``C7(b9,13)``, ``C(b5)``), as do added and omitted degrees save one alone on a major triad
    (``Cadd9``). The MusicXML kinds that have no symbol are named: ``C(pedal)``, ``C(German)``.
    ValueError on an unknown kind.
    """
    plain = None if chord is None else simplest_form(chord)
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
        if not (bare and len(altered) <= 2 and all(alter for _, alter in self.altered)):
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
    """Take the natural ninth and what follows it without a gap; return the highest number.

    An altered one leaves no gap, as the head is read with it in the place of the natural one.
    """
    highest = 7
    for number in numbers:
        if parts.take(number):
            highest = number
        elif not any(each.number == number for each in parts.degrees):
            break
    return highest


def _rest(kind: str, parts: _Parts, natural: frozenset[int]) -> None:
    """Write every degree that the head doesn't say, omissions before additions."""
    own = dict(KINDS[kind])
    added: list[tuple[int, int]] = []
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
            added.append((number, alter))
    if any(number > 8 for number, _ in parts.altered):
        parts.altered += [each for each in added if each in _BESIDE_ALTERED]
        added = [each for each in added if each not in _BESIDE_ALTERED]
    parts.changed += [f"add{_added_text(*each, ascii=parts.ascii)}" for each in added]


def _added_text(number: int, alter: int, *, ascii: bool) -> str:
    return "maj7" if (number, alter) == (7, 0) else degree_text(number, alter, ascii=ascii)


def chart_text(chart: Chart, *, ascii: bool = True) -> str:
    """Print a chart so that ``parse_chart`` reads an equal one.

    Each bar has the fewest equal parts that hold its chords. Where that number doesn't
    divide the beats (chords that change off the beat, from a file), only
    ``parse_chart(..., finer=True)`` reads it back. Symbols are in their simplest form.
    """
    return " | ".join(_bar_text(bar, chart.meter.bar, ascii) for bar in chart.bars)


def grouped(cells: Sequence[tuple[str, bool]]) -> str:
    """Join a bar's symbols and slashes, with parentheses round those that are the turnaround."""
    marked = sum(turnaround for _, turnaround in cells)
    words = [text for text, _ in cells]
    plain, inside = words[: len(words) - marked], words[len(words) - marked :]
    return " ".join(plain + ([f"({' '.join(inside)})"] if inside else []))


def _bar_text(bar: Bar, length: Fraction, ascii: bool) -> str:
    parts = lcm(*((span.start / length).denominator for span in bar.spans))
    cells: list[tuple[str, bool]] = []
    for span in bar.spans:
        holds = int(span.length / length * parts) - 1
        symbol = symbol_text(span.chord, ascii=ascii)
        cells += [(each, span.turnaround) for each in (symbol, *["/"] * holds)]
    return grouped(cells)
