"""Reads the music lines of one ABC tune, one voice of it, into measures of sounding notes."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import islice

from drillbox.errors import BadInput
from drillbox.music.charts import is_compound
from drillbox.music.chords import Chord, chord_up
from drillbox.music.keys import Key
from drillbox.music.pitch import Interval, Name, Pitch
from drillbox.music.symbols.parsing import parse_symbol, reading
from drillbox.notation.abc_fields import Clef, accidental_of, symbol_of, without_alternative
from drillbox.notation.abc_header import Header, chosen_voice
from drillbox.notation.abc_measures import MeasureBuilder
from drillbox.notation.abc_tokens import (
    Token,
    WrittenNote,
    in_parentheses,
    passes_of_ending,
    read_length,
    read_note,
    read_tuplet,
    signs_inside,
    tokens,
)
from drillbox.notation.result import Given, Limits
from drillbox.notation.sheet import Place


@dataclass(slots=True)
class Accidentals:
    """Remembers the accidentals of the bar, and a tie that carries one over its line."""

    header: Header
    _carried: dict[tuple[str, int | None], int] = field(default_factory=dict)
    _tied: Pitch | None = None
    _last: Pitch | None = None

    def written(self, note: WrittenNote) -> Pitch:
        """Return the pitch as written.

        Accidentals carry to the end of the bar, in all octaves unless the file says otherwise
        (ABC 2.1, section 11.3); over a tie also beyond it.
        """
        octave = None if self.header.propagate == "pitch" else note.octave
        if note.sign:
            alter = accidental_of(note.sign)
            if self.header.propagate != "not":
                self._carried[(note.letter, octave)] = alter
        elif self._tied and (self._tied.name.letter, self._tied.octave) == (
            note.letter,
            note.octave,
        ):
            alter = self._tied.name.alter
        else:
            signed = self.header.key.signature.get(note.letter, 0)
            alter = self._carried.get((note.letter, octave), signed)
        return Pitch(Name(note.letter, alter), note.octave)

    def passed(self, pitch: Pitch | None) -> None:
        """Go on behind a note, or a rest where ``pitch`` is None."""
        self._tied, self._last = None, pitch

    def tie(self) -> None:
        """Tie the last note to the next."""
        self._tied = self._last

    def end_bar(self) -> None:
        """Forget the accidentals of the bar."""
        self._carried.clear()


_BODY_FIELD = re.compile(r"([IKLMmNPQRrsTUVWw+]):(.*)", re.DOTALL)
_VOICE = re.compile(r"(?:^|\[)V:\s*(([^\s\]]+)[^\]]*)")
_TAKEN = frozenset("IKLMmQU")
_MOST_GRACES = 64
_JUMPS = re.compile(r"[!+](D\.?C\.?|D\.?S\.?|dacapo|dacoda|coda|segno|fine)\b", re.IGNORECASE)
_BAR = re.compile(r"(\.?)([\[\]|:]+?)\s*(\[?\d[\d,\-]*)?")


class MusicReader:
    """Takes the lines behind K: one after another; ``builder`` holds what they give.

    ``given`` has the key where K: names none.
    """

    def __init__(
        self,
        header: Header,
        builder: MeasureBuilder,
        limits: Limits,
        part: str | None,
        given: Given,
    ):
        self.header = header
        self.builder = builder
        self._findings = header.findings
        self._limits = limits
        self._part = part
        self._given = given
        self._accidentals = Accidentals(header)
        self._voice: str | None = None
        self._active, self._switched = True, False
        self._overlaid = False
        self._target = False
        self._read = 0
        # Slurs and spacers have no entry: they change nothing that a phrase keeps.
        self._takes = {
            "note": self._note, "rest": self._rest, "bars": self._bars, "stack": self._stack,
            "grace": self._grace, "text": self._text, "decoration": self._decoration,
            "letter": self._decoration, "tuplet": self._tuplet, "tie": self._tie,
            "broken": self._broken, "overlay": self._overlay, "bar": self._bar,
            "ending": self._ending, "unread": self._unread,
        }  # fmt: skip

    def begin(self, music: Iterable[str]) -> None:
        """Begin behind the header: until a V: field says otherwise, notes are of its first voice.

        Where it names none, of the first that the lines of ``music`` name. Other fields are of all
        voices until then.
        """
        for found in (each for line in music for each in _VOICE.finditer(line)):
            if found[2] not in self.header.voices:
                self.header.take_voice(found[1])
        self._voice = chosen_voice(self.header, self._part)
        self._active = self._voice == chosen_voice(self.header, None)

    def line(self, number: int, text: str) -> None:
        """Read one line: a field, or music."""
        field = _BODY_FIELD.match(text)
        if text.startswith("%%"):
            self.header.take_instruction(text[2:])
        elif field:
            self._field(field[1], field[2], Place(number, 1))
        else:
            for token in tokens(number, text):
                if self.too_much() or self._findings.full():
                    break
                self._token(token)

    def too_much(self) -> bool:
        """Return whether more was read than any tune within the limits can hold."""
        return self._read > 4 * self._limits.notes or len(self.builder.measures) > self._limits.bars

    def _token(self, token: Token) -> None:
        if token.kind == "field":
            self._field(token.text[1], token.text[3:].rstrip("]"), token.place)
            return
        if not self._active or (self._overlaid and token.kind != "bar"):
            return
        take = self._takes.get(token.kind)
        if take is None:
            return
        try:
            take(token)
        except BadInput as wrong:
            self._findings.problem(token.place, wrong.line())

    def _field(self, letter: str, text: str, place: Place) -> None:
        if letter == "V":
            self._switch_voice(self.header.take_voice(text))
        elif self._switched and not self._active:
            return
        elif letter == "s" and re.search(r'"[^\^_<>@"]|!(accent|emphasis|>)!', text):
            self._findings.problem(
                place, "symbol lines (s:) are not read; write the symbols before their notes"
            )
        elif letter in _TAKEN:
            self.header.take(letter, text, place)
            if present := self.header.present:
                self.builder.key = self.sounding_key(present)

    def _switch_voice(self, voice: str) -> None:
        if self._voice is None:
            self._voice = chosen_voice(self.header, self._part)
        self._active, self._switched = voice == self._voice, True
        if self._voice is not None and not self._active:
            self._findings.doubt(
                Place(), f"the tune has several voices; only voice {self._voice} is read"
            )

    def interval(self) -> Interval:
        """Return the interval from written to sounding pitch, to a tonic that players write."""
        return self._given.interval(self.header.key.key, self._clef().interval())

    def sounding_key(self, written: Key) -> Key:
        """Return the key that sounds where one of the tune's keys is written."""
        return written.up(self.interval())

    @property
    def concert(self) -> bool:
        """Return whether the tune itself says how it sounds."""
        clef = self._clef()
        return clef.semitones is not None or bool(clef.octaves)

    def _clef(self) -> Clef:
        return self.header.voice_clefs.get(self._voice or "", Clef()).over(self.header.key.clef)

    def _add(self, length: Fraction, written: Pitch | None, place: Place) -> None:
        sounding = written.up(self.interval()) if written else None
        self.builder.add(length * self.header.unit_length(), sounding, place, self._target)
        self._accidentals.passed(written)
        self._target = False
        self._read += 1

    def _note(self, token: Token) -> None:
        note = read_note(token.text)
        self._add(note.length, self._accidentals.written(note), token.place)

    def _rest(self, token: Token) -> None:
        self._add(read_length(token.text[1:]), None, token.place)

    def _bars(self, token: Token) -> None:
        """Take a rest of whole bars."""
        if self.header.meter is None:
            raise BadInput("a rest of whole bars needs a meter", "Add the meter, M:4/4.")
        for bar in range(min(int(token.text[1:] or 1), self._limits.bars + 1)):
            if bar:
                self.builder.bar_line(token.place, plain=True, closes=False, plays=1)
            self.builder.add(self.header.meter.bar, None, token.place, False)
        self._accidentals.passed(None)

    def _stack(self, token: Token) -> None:
        """Take stacked notes: the top one, as long as the first (4.17)."""
        parts = list(signs_inside(token))
        for each in parts:
            if each.kind in ("text", "decoration"):
                self._takes[each.kind](each)
        found = [at for at, each in enumerate(parts) if each.kind == "note"]
        if not found:
            raise BadInput(f"{token.text} holds no note")
        if len(found) > 1:
            self._findings.doubt_once(token.place, "of stacked notes only the top one is read")
        notes = {at: read_note(parts[at].text) for at in found}
        pitches = {at: self._accidentals.written(note) for at, note in notes.items()}
        top = max(found, key=lambda at: pitches[at].midi)
        outer = read_length(token.text.rpartition("]")[2])
        self._add(notes[found[0]].length * outer, pitches[top], token.place)
        if any(each.kind == "tie" for each in parts[top + 1 : top + 2]):
            self._tie(token)

    def _grace(self, token: Token) -> None:
        few = list(islice(signs_inside(token), _MOST_GRACES + 1))
        if len(few) > _MOST_GRACES:
            raise BadInput(f"more grace notes than {_MOST_GRACES} stand at one place")
        notes = [read_note(each.text) for each in few if each.kind == "note"]
        pitches = [self._accidentals.written(note).up(self.interval()) for note in notes]
        self.builder.add_graces(tuple(pitches))
        self._read += len(notes)

    def _text(self, token: Token) -> None:
        """Take a quoted string: a chord symbol, unless its first sign makes it a remark."""
        text = token.text[1:].removesuffix('"')
        if not token.text.endswith('"') or len(token.text) == 1:
            raise BadInput("this quotation mark is never closed")
        if not text.strip() or text.lstrip()[0] in "^_<>@":
            return
        at = Place(token.line, token.column + 1)
        try:
            chord = self._symbol(text, at)
        except BadInput as wrong:
            found = Place(token.line, getattr(wrong, "column", at.column))
            self._findings.problem(found, wrong.line())
            return
        chord = chord_up(chord, self.interval()) if chord else None
        self.builder.add_symbol(chord, in_parentheses(text.strip()), at)

    def _symbol(self, text: str, at: Place) -> Chord | None:
        """Read a chord string; an alternative in parentheses behind it is left out (4.18)."""
        if told := reading(symbol_of(text)):
            self._findings.doubt(at, told)
        try:
            return parse_symbol(symbol_of(text), column=at.column or 1)
        except BadInput:
            bare = text.strip()
            inner = bare[1:-1] if in_parentheses(bare) else bare
            regular, alternative = without_alternative(inner)
            if not (alternative and is_symbol(regular) and is_symbol(alternative)):
                raise
            self._findings.doubt(at, f"the alternative {alternative} is left out")
            return parse_symbol(symbol_of(regular))

    def _decoration(self, token: Token) -> None:
        if self.header.accents(token.text):
            self._target = True
        elif _JUMPS.match(token.text):
            self._findings.doubt(
                token.place, f"{token.text} is not followed; the bars are as written"
            )

    def _tuplet(self, token: Token) -> None:
        meter = self.header.meter
        compound = meter is not None and is_compound(meter)
        self.builder.begin_tuplet(*read_tuplet(token.text, compound=compound))

    def _tie(self, token: Token) -> None:
        self.builder.tie(token.place)
        self._accidentals.tie()

    def _broken(self, token: Token) -> None:
        self.builder.break_rhythm(token.text, token.place)

    def _overlay(self, token: Token) -> None:
        self._overlaid = True
        self._findings.doubt(token.place, "this bar has a second voice (&); only its first is read")

    def _unread(self, token: Token) -> None:
        self._findings.problem(token.place, f"{token.text!r} is not read here")

    def _ending(self, token: Token) -> None:
        self.builder.begin_ending(passes_of_ending(token.text))

    def _bar(self, token: Token) -> None:
        """Take a bar line with its repeat signs and the ending that may follow (4.8 to 4.10)."""
        match = _BAR.fullmatch(token.text)
        if not match:  # the token expression admits nothing else
            raise BadInput(f"the bar line {token.text} is not read")
        line = match[2]
        before, after = len(line) - len(line.lstrip(":")), len(line) - len(line.rstrip(":"))
        if set(line) == {":"}:
            before, after = len(line) // 2, len(line) - len(line) // 2
        plain = line == "|" and not match[1]
        closes = before > 0 or "||" in line or "]" in line or line.startswith("[")
        self.builder.bar_line(token.place, plain=plain, closes=closes, plays=before + 1)
        if after:
            self.builder.begin_repeat()
        if match[3]:
            self.builder.begin_ending(passes_of_ending(match[3]))
        self._accidentals.end_bar()
        self._overlaid = False


def is_symbol(text: str) -> bool:
    """Return whether a chord string is a symbol."""
    try:
        parse_symbol(symbol_of(text))
    except BadInput:
        return False
    return True
