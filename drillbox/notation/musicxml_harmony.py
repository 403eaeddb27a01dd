"""The meaning of MusicXML's ``<harmony>``, by the standard and not by its display text."""

from __future__ import annotations

import re
from typing import get_args
from xml.etree.ElementTree import Element

from drillbox.errors import BadInput
from drillbox.music.chords import KINDS, Action, Chord, Degree
from drillbox.music.degrees import chord_up
from drillbox.music.pitch import Interval, Name
from drillbox.music.symbols.parsing import parse_symbol
from drillbox.music.symbols.printed import simplest
from drillbox.notation.musicxml_tree import text_of

_ACTIONS: tuple[Action, ...] = get_args(Action)
_KINDS = {kind.lower(): kind for kind in KINDS}  # files don't agree on the case of "Tristan"
_REMEDY = "Write it as a chord symbol with root and kind."


def read_harmony(harmony: Element, interval: Interval) -> Chord | None:
    """Return the chord of a harmony element, moved by the part's transposition; None is N.C.

    Kinds and degrees mean what the W3C MusicXML 4.0 schema says: an added seventh is a minor
    one, unless altered. Kind ``other`` without degrees is read from its display text, if that
    is a symbol. Raises BadInput where the element has no one meaning.
    """
    written = text_of(harmony, "kind")
    kind = _KINDS.get(written.lower(), written)
    if kind == "none":
        return None
    if len(harmony.findall("root")) != 1:
        raise BadInput("a harmony without exactly one root is not read", _REMEDY)
    if kind not in KINDS:
        raise BadInput(f"the chord kind {kind[:40]!r} is not one of MusicXML's", _REMEDY)
    root = _name(harmony, "root")
    bass = _name(harmony, "bass") if harmony.find("bass") is not None else None
    degrees = tuple(_degree(each) for each in harmony.findall("degree"))
    chord: Chord | None = Chord(root, kind, degrees, bass)
    if kind == "other" and not degrees:
        chord = _displayed(harmony, root, bass)
    chord = simplest(chord) if chord else None
    return chord_up(chord, interval) if chord else None


def _displayed(harmony: Element, root: Name, bass: Name | None) -> Chord | None:
    kind = harmony.find("kind")
    shown = (kind.get("text") or "").strip() if kind is not None else ""
    if not shown:
        raise BadInput("a chord of kind 'other' states no tones", _REMEDY)
    read = parse_symbol(root.text() + shown)
    return Chord(read.root, read.kind, read.degrees, bass or read.bass) if read else None


def _name(harmony: Element, which: str) -> Name:
    step = text_of(harmony, f"{which}/{which}-step")
    if not re.fullmatch("[A-G]", step):
        raise BadInput(f"a chord's {which} has no step A to G", _REMEDY)
    return Name(step, whole(text_of(harmony, f"{which}/{which}-alter") or "0", 3))


def _degree(degree: Element) -> Degree:
    said = text_of(degree, "degree-type")
    action = next((each for each in _ACTIONS if each == said), None)
    number = whole(text_of(degree, "degree-value"), 15)
    if action is None or number < 1:
        raise BadInput("a chord's degree is not read", _REMEDY)
    return Degree(action, number, whole(text_of(degree, "degree-alter") or "0", 3))


def whole(text: str, most: int) -> int:
    """Read a whole number from -``most`` to ``most``; raise BadInput where it is none."""
    match = re.fullmatch(r"([+-]?\d{1,9})(?:\.0{1,9})?", text)
    if not match or abs(int(match[1])) > most:
        raise BadInput(f"{text[:20]!r} isn't a whole number up to {most}")
    return int(match[1])
