"""Walks through one MusicXML part: the length, symbols and repeat signs of each measure.

The notes are only counted and cleaned here; music21 reads them (``musicxml_notes``).
"""

from __future__ import annotations

import re
from contextlib import suppress
from dataclasses import dataclass, field, replace
from fractions import Fraction
from xml.etree.ElementTree import Element

from drillbox.errors import BadInput
from drillbox.music.charts import Meter
from drillbox.music.chords import Chord, chord_up
from drillbox.music.pitch import UNISON, Interval, interval_of
from drillbox.music.symbols.printed import symbol_text
from drillbox.notation.musicxml_score import length_of, read_decimal, read_time, written_key
from drillbox.notation.musicxml_symbols import (
    Symbols,
    Written,
    harmony_doubt,
    place_symbols,
    read_harmony,
    read_whole_number,
)
from drillbox.notation.musicxml_tree import text_of
from drillbox.notation.repeats import Mark
from drillbox.notation.result import Given
from drillbox.notation.sheet import DOUBLE_TIME, KEY_CHANGES, Findings, Place, Symbol
from drillbox.tick import Tick, silent

ZERO = Fraction(0)
_SPLIT_STYLES = frozenset(
    {"light-light", "light-heavy", "heavy-light", "heavy-heavy", "dotted", "dashed", "none"}
)
_JUMPS = ("dacapo", "dalsegno", "tocoda", "fine")
_MOST_TIMES = 16
_ONLY_ONE = "There can only be one: split it."


def _voice_of(note: Element) -> str:
    return text_of(note, "voice") or "1"


def _is_unpitched(note: Element) -> bool:
    """Return whether a note shows no pitch; a slash says beat or rhythm, whatever its pitch."""
    return note.find("unpitched") is not None or text_of(note, "notehead") == "slash"


def _first_voice(part: Element) -> str | None:
    """Return the first voice of a part that has notes; a line may begin with a bar's rest."""
    upper = [e for e in part.findall("measure/note") if (text_of(e, "staff") or "1") == "1"]
    # One without pitch that is none of these is a fault.
    heard = (e for e in upper if e.find("rest") is None and e.find("cue") is None)
    pitched = {_voice_of(e) for e in heard if not _is_unpitched(e)}
    return next((voice for e in upper if (voice := _voice_of(e)) in pitched), None)


@dataclass(frozen=True, slots=True)
class CleanNote:
    """A note element that is kept, with its onset in the measure; ``length`` 0: a grace note."""

    element: Element
    onset: Fraction
    length: Fraction
    stacked: bool


@dataclass(slots=True)
class WalkedMeasure:
    """One measure of the page; lengths and onsets in quarter notes.

    ``key`` is the one in force at its beginning.
    """

    place: Place
    symbols: Symbols
    length: Fraction = ZERO
    notes: list[CleanNote] = field(default_factory=list)
    begins: bool = False
    plays: int = 1
    endings: frozenset[int] = frozenset()
    closes: bool = False
    splittable: bool = False
    key: Element | None = None

    def mark(self) -> Mark:
        """Return the measure's repeat signs."""
        return Mark(self.begins, self.plays, self.endings, self.closes)


@dataclass(slots=True)
class PartWalk:
    """Walks a part; afterwards ``measures`` and what the first attributes said are there.

    ``given`` has the key where its page names none. What is wrong or doubtful about its
    chord symbols alone is in ``symbol_findings``: another part may borrow them.
    """

    name: str
    findings: Findings
    given: Given
    symbol_findings: Findings = field(default_factory=Findings)
    measures: list[WalkedMeasure] = field(default_factory=list)
    meter: Meter | None = None
    key: Element | None = None
    double_time: bool = False
    voice: str | None = None
    _transposition: Interval = UNISON
    _present: Element | None = None
    _divisions: Fraction = Fraction(1)
    _cursor: Fraction = ZERO
    _previous: Fraction = ZERO

    @property
    def interval(self) -> Interval:
        """Return the interval from written to sounding pitch, to a tonic that players write."""
        key = None
        if self.key is not None:
            with suppress(BadInput):  # of which key_of tells
                key = written_key(self.key)
        return self.given.interval(key, self._transposition)

    def walk(self, part: Element, tick: Tick = silent) -> None:
        """Read every measure; what is wrong in one becomes a problem that names it.

        ``tick`` hears of measures read.
        """
        measures = part.findall("measure")
        self.voice = _first_voice(part)
        for number, measure in enumerate(measures, start=1):
            tick(number - 1, len(measures))
            label = measure.get("number") or str(number)
            place = Place(where=f"measure {label[:20]} of part {self.name}")
            walked = WalkedMeasure(place, Symbols(place), key=self._present)
            if self.measures and measure.get("implicit") == "yes":
                self.measures[-1].splittable = True
            self.measures.append(walked)
            self._cursor = ZERO
            for element in measure:
                self._safely(element, walked)
            walked.symbols.length = walked.length
        symbols = [each.symbols for each in self.measures]
        place_symbols(symbols, self.symbol_findings)
        interval = self.interval  # what says so may stand behind the part's first symbol
        for each in symbols:
            each.settled = [_moved(symbol, interval) for symbol in each.settled]

    def _safely(self, element: Element, walked: WalkedMeasure) -> None:
        try:
            self._element(element, walked)
        except BadInput as wrong:
            self.findings.problem(walked.place, wrong.line())

    def _element(self, element: Element, walked: WalkedMeasure) -> None:
        match element.tag:
            case "note":
                self._note(element, walked)
            case "backup":
                self._cursor -= length_of(element, self._divisions)
                if self._cursor < 0:
                    raise BadInput("a backup goes beyond the beginning of the measure")
            case "forward":
                self._advance(length_of(element, self._divisions), walked)
            case "harmony":
                self._harmony(element, walked)
            case "direction":
                self._direction(element, walked)
            case "sound":
                self._sound(element, walked)
            case "barline":
                self._barline(element, walked)
            case "attributes":
                self._attributes(element, walked)

    def _advance(self, length: Fraction, walked: WalkedMeasure) -> None:
        if length:
            walked.symbols.lengths.setdefault(self._cursor, length)
        self._previous, self._cursor = self._cursor, self._cursor + length
        walked.length = max(walked.length, self._cursor)

    def _note(self, note: Element, walked: WalkedMeasure) -> None:
        stacked = note.find("chord") is not None
        grace = note.find("grace") is not None
        length = ZERO if grace else length_of(note, self._divisions)
        onset = self._previous if stacked and not grace else self._cursor
        if not stacked and not grace:
            self._advance(length, walked)
        if self._kept(note, walked.place):
            # Its base may not be kept: one on another staff, or without pitch.
            bases = [(each.onset, each.length > 0) for each in walked.notes[-1:]]
            on_base = stacked and bases == [(onset, length > 0)]
            walked.notes.append(CleanNote(note, onset, length, on_base))

    def _kept(self, note: Element, place: Place) -> bool:
        """Return whether a note belongs to the line: first staff, first voice, no cue."""
        if (text_of(note, "staff") or "1") != "1":
            self.findings.doubt(Place(), f"only the first staff of part {self.name} is read")
            return False
        if note.find("cue") is not None or note.find("rest") is not None:
            return False
        if _is_unpitched(note):
            self.findings.doubt_once(place, "notes without pitch are left out")
        elif _voice_of(note) != self.voice:
            self.findings.doubt(Place(), f"only voice {self.voice} of part {self.name} is read")
        else:
            return True
        return False

    def _harmony(self, harmony: Element, walked: WalkedMeasure) -> None:
        chord = read_harmony(harmony)
        if harmony.get("type") == "alternate":
            self.symbol_findings.doubt(
                walked.place, f"the alternative {symbol_text(chord)} is left out"
            )
            return
        if doubt := harmony_doubt(harmony, chord):
            self.symbol_findings.doubt(walked.place, doubt)
        offset = self._offset(harmony)
        symbol = self._symbol(chord, offset, walked)
        staff = text_of(harmony, "staff") or "1"
        walked.symbols.written.append(Written(symbol, offset != 0, staff))

    def _symbol(self, chord: Chord | None, offset: Fraction, walked: WalkedMeasure) -> Symbol:
        """Return a symbol that stands so far from the cursor."""
        if self._cursor + offset < 0:
            raise BadInput("a chord symbol's offset leads out of its measure")
        return Symbol(self._cursor + offset, chord, False, walked.place)

    def _direction(self, direction: Element, walked: WalkedMeasure) -> None:
        for words in direction.iter("words"):
            text = (words.text or "").strip()
            if DOUBLE_TIME.search(text):
                self.double_time = True
            elif text.lower().strip("()") == "turnaround":
                # Printed farther left, over or before its chord, it is still that chord's.
                walked.symbols.turnaround_at = self._cursor + max(ZERO, self._offset(direction))
            elif text in ("N.C.", "NC", "N.C"):
                symbol = self._symbol(None, self._offset(direction), walked)
                walked.symbols.written.append(Written(symbol, fixed=True))
        for sound in direction.findall("sound"):
            self._sound(sound, walked)

    def _offset(self, element: Element) -> Fraction:
        """Return how far from the cursor an element stands, in quarter notes."""
        return read_decimal(text_of(element, "offset") or "0", signed=True) / self._divisions

    def _sound(self, sound: Element, walked: WalkedMeasure) -> None:
        if any(sound.get(jump) for jump in _JUMPS):
            self.findings.doubt(walked.place, "jumps (D.C., D.S., coda) are not followed")

    def _barline(self, barline: Element, walked: WalkedMeasure) -> None:
        repeat, ending = barline.find("repeat"), barline.find("ending")
        forward = repeat is not None and repeat.get("direction") == "forward"
        backward = repeat is not None and not forward
        starts = ending is not None and ending.get("type") == "start"
        walked.begins = walked.begins or forward
        if ending is not None and starts:
            numbers = re.findall(r"\d{1,2}", ending.get("number") or "")
            walked.endings = frozenset(int(number) for number in numbers)
        # What a left bar line closes is the measure before it, where there is one.
        left = barline.get("location") == "left"
        for closed in self.measures[-2:-1] if left else [walked]:
            split = text_of(barline, "bar-style") in _SPLIT_STYLES or repeat is not None
            closed.splittable = closed.splittable or split
            closed.closes = closed.closes or backward or (ending is not None and not starts)
            if repeat is not None and backward:
                times = read_whole_number(repeat.get("times") or "2", _MOST_TIMES)
                closed.plays = max(closed.plays, times)  # two bar lines may both have the sign

    def _attributes(self, attributes: Element, walked: WalkedMeasure) -> None:
        if attributes.find("divisions") is not None:
            divisions = read_decimal(text_of(attributes, "divisions"))
            if divisions == 0:
                raise BadInput("the divisions are 0")
            self._divisions = divisions
        if attributes.find("measure-style/measure-repeat") is not None:
            self.findings.doubt(walked.place, "bar repeat signs are not read; write the bars out")
        for key in _of_first_staff(attributes, "key"):
            if self.key is not None and text_of(key, "fifths") != text_of(self.key, "fifths"):
                self.findings.doubt(walked.place, KEY_CHANGES)
            self.key = key if self.key is None else self.key
            self._present = key
            if not walked.length:
                walked.key = key
        later = len(self.measures) > 1
        for transpose in _of_first_staff(attributes, "transpose"):
            moved = _transposition(transpose)
            if later and moved != self._transposition:
                raise BadInput("the transposition changes here", _ONLY_ONE)
            self._transposition = moved
        for time in _of_first_staff(attributes, "time"):
            meter = read_time(time)
            if later and meter != self.meter:
                raise BadInput("the meter changes here", _ONLY_ONE)
            self.meter = meter


def _moved(symbol: Symbol, interval: Interval) -> Symbol:
    return replace(symbol, chord=chord_up(symbol.chord, interval)) if symbol.chord else symbol


def _of_first_staff(attributes: Element, tag: str) -> list[Element]:
    """Return the first of these elements that is about the first staff, or about all."""
    return [e for e in attributes.findall(tag) if e.get("number", "1") == "1"][:1]


def _transposition(transpose: Element) -> Interval:
    """Return the interval from written to sounding pitch."""
    octaves = read_whole_number(text_of(transpose, "octave-change") or "0", 4)
    semitones = read_whole_number(text_of(transpose, "chromatic") or "0", 48)
    steps = text_of(transpose, "diatonic")
    moved = Interval(read_whole_number(steps, 28), semitones) if steps else interval_of(semitones)
    return moved + Interval(7 * octaves, 12 * octaves)
