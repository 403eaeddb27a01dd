"""How long things last in MusicXML: divisions, durations, and the lengths as drawn."""

from __future__ import annotations

import re
from fractions import Fraction
from xml.etree.ElementTree import Element

from drillbox.errors import BadInput
from drillbox.music.charts import Meter
from drillbox.notation.musicxml_harmony import whole
from drillbox.notation.musicxml_tree import text_of

# The type element, in quarter notes.
_TYPES = {
    name: Fraction(4) / 2**power
    for power, name in enumerate(
        ("whole", "half", "quarter", "eighth", "16th", "32nd", "64th", "128th", "256th")
    )
} | {"breve": Fraction(8)}
_NEAR = Fraction(1, 64)


def decimal(text: str, *, signed: bool = False) -> Fraction:
    """Read a decimal number; raise BadInput where it is none (NaN, a sign, an exponent)."""
    sign = r"[+-]?" if signed else r"\+?"
    if not re.fullmatch(rf"{sign}\d{{1,9}}(?:\.\d{{0,6}})?", text):
        raise BadInput(f"{text[:20]!r} isn't a duration", "Durations are positive numbers.")
    return Fraction(text)


def length_of(note: Element, divisions: Fraction) -> Fraction:
    """Return a note's, backup's or forward's duration in quarter notes.

    Where the duration differs from the length as drawn by no more than rounding to whole
    divisions does (a triplet's 341 of 1024), the drawn length is meant.
    """
    length = decimal(text_of(note, "duration")) / divisions
    drawn = _drawn(note)
    if drawn is not None and abs(drawn - length) < min(_NEAR, 1 / divisions):
        return drawn
    return length


def _drawn(note: Element) -> Fraction | None:
    base = _TYPES.get(text_of(note, "type"))
    if base is None:
        return None
    dots = len(note.findall("dot"))
    length: Fraction = base * (2 - Fraction(1, 1 << min(dots, 4)))
    tuplet = note.find("time-modification")
    if tuplet is not None:
        normal = whole(text_of(tuplet, "normal-notes"), 999)
        actual = whole(text_of(tuplet, "actual-notes"), 999)
        if normal < 1 or actual < 1:
            raise BadInput("a tuplet has no sound numbers")
        length = length * normal / actual
    return length


def read_time(time: Element) -> Meter | None:
    """Read a time element; None for music without meter. Additive meters are added up."""
    if time.find("senza-misura") is not None:
        return None
    beats = [text.text or "" for text in time.findall("beats")]
    units = {(text.text or "").strip() for text in time.findall("beat-type")}
    parts = [part.strip() for text in beats for part in text.split("+")]
    if len(units) != 1 or not all(re.fullmatch(r"\d{1,2}", part) for part in parts):
        raise BadInput("the time signature is not read", "Use one such as 4/4.")
    total, unit = sum(int(part) for part in parts), whole(next(iter(units)), 64)
    if not 1 <= total <= 64 or unit not in (1, 2, 4, 8, 16, 32, 64):
        raise BadInput("the time signature is not read", "Use one such as 4/4.")
    return Meter(total, unit)
