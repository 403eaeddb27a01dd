"""What MusicXML's ``<harmony>`` means by the standard, and where the chord symbols stand.

Their places are settled once a part's measures are known. Choices, where a page leaves them open;
each is told as doubtful:

* A symbol on the bar line, behind its measure's last note, belongs to the next downbeat.
* Symbols over one note, none of them moved by an offset, share its length evenly.

An offset that leads beside a note by no more than rounding to whole divisions does (341 of 1024
for a triplet's second note) leads to that note.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import groupby, pairwise
from typing import get_args
from xml.etree.ElementTree import Element

from drillbox.errors import BadInput
from drillbox.music.chords import (
    KINDS,
    Action,
    Chord,
    Degree,
    intervals,
    tone_above,
)
from drillbox.music.pitch import Name
from drillbox.music.symbols.parsing import parse_symbol
from drillbox.music.symbols.printed import simplest_form, symbol_text
from drillbox.notation.musicxml_tree import text_of
from drillbox.notation.sheet import (
    MOST_SHARING,
    TOO_MANY_SHARE,
    Findings,
    Place,
    Symbol,
    share_length,
)

_ACTIONS: tuple[Action, ...] = get_args(Action)
_KINDS = {kind.lower(): kind for kind in KINDS}  # files don't agree on the case of "Tristan"
LONGEST_SHOWN = 40
_REMEDY = "Write it as a chord symbol with root and kind."


def read_harmony(harmony: Element) -> Chord | None:
    """Return the chord of a harmony element as the page has it; None is N.C.

    Kinds and degrees mean what the W3C MusicXML 4.0 schema says: an added seventh is a minor
    one, unless altered. Kind ``other`` without degrees is read from its display text, if that
    is a symbol. An inversion is a bass where none is stated. Raises BadInput where the element
    has no one meaning.
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
    chord = simplest_form(chord) if chord else None
    if chord and bass is None and (inverted := _inverted_bass(harmony, chord)):
        chord = simplest_form(replace(chord, bass=inverted))
    return chord


def _inverted_bass(harmony: Element, chord: Chord) -> Name | None:
    """Return the tone of a chord that its inversion puts in the bass, None if there is none."""
    said = text_of(harmony, "inversion")
    heard = intervals(chord)
    if not re.fullmatch("[0-9]{1,2}", said) or int(said) >= len(heard):
        return None
    return tone_above(chord.root, *heard[int(said)])


def harmony_doubt(harmony: Element, chord: Chord | None) -> str:
    """Return what of a harmony that was read as ``chord`` may be meant otherwise, else nothing.

    That is an inversion without a tone for it, and a display text that is another chord than
    kind and degrees say. The text may stand for the kind alone, since degrees have their own,
    and where harmony signs are used, a part of it isn't in the text.
    """
    if chord is None:
        return ""
    read = symbol_text(chord)
    said = text_of(harmony, "inversion")
    if said not in {"", "0"} and not harmony.findall("bass") and chord.bass is None:
        return f"the inversion {said[:10]} of {read} is left out"
    stated = _stated_by_text(harmony, chord)
    bare = simplest_form(Chord(chord.root, _KINDS.get(text_of(harmony, "kind").lower(), "other")))
    if stated is None or stated in (replace(chord, bass=None), bare):
        return ""
    return f"the page shows {symbol_text(stated)}, but its kind and degrees say {read}: read so"


def _stated_by_text(harmony: Element, chord: Chord) -> Chord | None:
    """Return the chord that the kind's display text states, bass aside; None where it can't tell.

    A text such as ``b5`` would join the root's letter.
    """
    kind = harmony.find("kind")
    shown = (kind.get("text") or "").strip() if kind is not None else ""
    if kind is None or not shown or kind.get("use-symbols") == "yes":
        return None
    try:
        stated = parse_symbol(f"{chord.root.text()}{shown[:LONGEST_SHOWN]}")
    except BadInput:
        return None
    return replace(stated, bass=None) if stated and stated.root == chord.root else None


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
    return Name(step, read_whole_number(text_of(harmony, f"{which}/{which}-alter") or "0", 3))


def _degree(degree: Element) -> Degree:
    said = text_of(degree, "degree-type")
    action = next((each for each in _ACTIONS if each == said), None)
    number = read_whole_number(text_of(degree, "degree-value"), 15)
    if action is None or number < 1:
        raise BadInput("a chord's degree is not read", _REMEDY)
    return Degree(action, number, read_whole_number(text_of(degree, "degree-alter") or "0", 3))


def read_whole_number(text: str, most: int) -> int:
    """Read a whole number from -``most`` to ``most``; raise BadInput where it is none."""
    match = re.fullmatch(r"([+-]?\d{1,9})(?:\.0{1,9})?", text)
    if not match or abs(int(match[1])) > most:
        raise BadInput(f"{text[:20]!r} isn't a whole number up to {most}")
    return int(match[1])


ZERO = Fraction(0)
NEAR = Fraction(1, 64)
"""Quarter notes by which rounding to whole divisions may move what a file writes."""


@dataclass(frozen=True, slots=True)
class Written:
    """A chord symbol as the page has it; ``fixed``: it says itself where in time it stands."""

    symbol: Symbol
    fixed: bool
    staff: str = "1"


@dataclass(slots=True)
class Symbols:
    """The chord symbols of one measure: as written, and once settled.

    ``lengths`` are those of the notes and rests that begin at each onset, ``length`` that of
    the measure; ``turnaround_at`` is where the page says that word.
    """

    place: Place
    written: list[Written] = field(default_factory=list)
    lengths: dict[Fraction, Fraction] = field(default_factory=dict)
    length: Fraction = ZERO
    turnaround_at: Fraction | None = None
    settled: list[Symbol] = field(default_factory=list)


def place_symbols(measures: Sequence[Symbols], findings: Findings) -> None:
    """Give every symbol its place in time; note what is doubtful and what has no place."""
    for measure in measures:
        _put_on_notes(measure)
        measure.written.sort(key=_onset)
        _mark_turnaround(measure, findings)
    for index, measure in enumerate(measures):
        _take_late(measure, measures[index + 1 : index + 2], findings)
    for measure in measures:
        measure.settled = _spread(measure, findings)


def _onset(written: Written) -> Fraction:
    return written.symbol.onset


def _put_on_notes(measure: Symbols) -> None:
    """Move what rounding has put beside a note, or beside the measure's end, onto it."""
    places = sorted({*measure.lengths, measure.length})

    def moved(onset: Fraction) -> Fraction:
        behind = bisect_left(places, onset)
        beside = places[max(0, behind - 1) : behind + 1]
        near = min(beside, key=lambda each: abs(each - onset))
        return near if abs(near - onset) < NEAR else onset

    measure.written = [
        replace(each, symbol=replace(each.symbol, onset=moved(_onset(each))))
        for each in measure.written
    ]
    if measure.turnaround_at is not None:
        measure.turnaround_at = moved(measure.turnaround_at)


def _mark_turnaround(measure: Symbols, findings: Findings) -> None:
    """Make the last symbol at or before the word the turnaround."""
    at = measure.turnaround_at
    if at is None:
        return
    before = [index for index, each in enumerate(measure.written) if _onset(each) <= at]
    if not before:
        findings.problem(measure.place, "no chord symbol stands where it says turnaround")
        return
    old = measure.written[before[-1]]
    measure.written[before[-1]] = replace(old, symbol=replace(old.symbol, turnaround=True))


def _take_late(measure: Symbols, following: Sequence[Symbols], findings: Findings) -> None:
    """Take what stands on the bar line to the next downbeat; refuse what lies beyond it."""
    late = [each for each in measure.written if measure.length and _onset(each) >= measure.length]
    if not late:
        return
    measure.written = measure.written[: -len(late)]
    which = f"the chord symbol {symbol_text(late[0].symbol.chord)}"
    downbeat = [each for each in following[0].written if not _onset(each)] if following else []
    if _onset(late[-1]) > measure.length:
        findings.problem(measure.place, f"{which} stands beyond the end of its measure")
    elif not following:
        findings.problem(measure.place, f"{which} stands behind the last note; put it over a note")
    elif [each.symbol.chord for each in late] == [each.symbol.chord for each in downbeat]:
        return
    elif downbeat:
        findings.problem(
            measure.place,
            f"{which} stands behind its measure's last note, where the next measure's own begins; "
            "keep one",
        )
    else:
        findings.doubt(
            measure.place,
            f"{which} stands behind its measure's last note: taken to the next downbeat",
        )
        moved = [replace(each, symbol=replace(each.symbol, onset=ZERO)) for each in late]
        following[0].written = [*moved, *following[0].written]


def _spread(measure: Symbols, findings: Findings) -> list[Symbol]:
    """Return the symbols with those over one note spread over its length."""
    groups = [_without_doubles(group) for _, group in groupby(measure.written, key=_onset)]
    starts = [_onset(group[0]) for group in groups]
    settled: list[Symbol] = []
    for group, (start, end) in zip(groups, pairwise([*starts, measure.length]), strict=True):
        symbols = [each.symbol for each in group]
        length = min(measure.lengths.get(start, ZERO), end - start)
        if len(group) == 1:
            settled += symbols
        elif len(group) > MOST_SHARING:
            findings.problem(measure.place, TOO_MANY_SHARE)
        elif length and not any(each.fixed for each in group):
            settled += share_length(symbols, length, findings)
        else:
            findings.problem(measure.place, "two chord symbols stand at one place; keep one")
    return settled


def _without_doubles(group: Iterable[Written]) -> list[Written]:
    """Return the symbols of one place without those that are written over another staff too."""
    kept: list[Written] = []
    for each in group:
        if len(kept) > MOST_SHARING:
            break
        same = [other for other in kept if other.symbol.chord == each.symbol.chord]
        if not same or (same[-1] is not kept[-1] and same[-1].staff == each.staff):
            kept.append(each)
    return kept
