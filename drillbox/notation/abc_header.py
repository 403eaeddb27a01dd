"""The header of an ABC tune, and the fields that may change it inside the music."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from fractions import Fraction

from drillbox.errors import BadInput
from drillbox.music.charts import Meter
from drillbox.music.keys import Key
from drillbox.notation.abc_fields import (
    Clef,
    KeyField,
    read_clef,
    read_key,
    read_meter,
    read_tempo,
    read_text,
    read_unit,
)
from drillbox.notation.sheet import DOUBLE_TIME, KEY_CHANGES, Findings, Place, named

_ACCENTS = frozenset({"accent", ">", "emphasis"})
_NO_KEY = KeyField(None, {}, Clef())


@dataclass(slots=True)
class Header:
    """What the fields of a tune say so far. ``tempo`` is in quarter notes a minute, exact.

    ``key`` keeps the tune's first key, with the present signature; ``present`` is the key in
    force now, None as long as that is the first; ``key_unread``: one couldn't be read. With
    ``no_tempo`` its tempos aren't looked at.
    """

    findings: Findings
    no_tempo: bool = False
    title: str = ""
    key: KeyField = _NO_KEY
    key_place: Place | None = None
    key_unread: bool = False
    present: Key | None = None
    meter: Meter | None = None
    unit: Fraction | None = None
    tempo_text: tuple[str, Place] | None = None
    double_time: bool = False
    voices: dict[str, str] = field(default_factory=dict)
    voice_clefs: dict[str, Clef] = field(default_factory=dict)
    accent_letters: set[str] = field(default_factory=lambda: {"L"})
    propagate: str = "pitch"
    in_music: bool = False

    def unit_length(self) -> Fraction:
        """Return the unit length in quarter notes; without L: the meter sets it (3.1.7)."""
        if self.unit is None:
            narrow = self.meter is not None and self.meter.bar < 3
            self.unit = Fraction(1, 4) if narrow else Fraction(1, 2)
        return self.unit

    def take(self, letter: str, text: str, place: Place) -> None:
        """Take one field; what can't be read becomes a problem at its place."""
        try:
            self._take(letter, text, place)
        except BadInput as wrong:
            self.findings.problem(place, wrong.line())

    def _take(self, letter: str, text: str, place: Place) -> None:
        if letter == "T" and not self.title:
            self.title = read_text(text)
        elif letter == "R" and DOUBLE_TIME.search(text):
            self.double_time = True
        elif letter == "L":
            self.unit = read_unit(text)
        elif letter == "M":
            self._take_meter(text)
        elif letter == "K":
            self._take_key(text, place)
        elif letter == "Q" and not self.no_tempo:
            self._take_tempo(text, place)
        elif letter == "V":
            self.take_voice(text)
        elif letter == "U":
            self._take_letter(text)
        elif letter == "I":
            self.take_instruction(text)
        elif letter == "m":
            self.findings.problem(place, "macros (m:) are not read; write the notes out")
        elif letter == "P" and not self.in_music and len(text.strip()) > 1:
            self.findings.doubt(place, "the order of parts (P:) is not followed")

    def _take_meter(self, text: str) -> None:
        meter = read_meter(text)
        if self.in_music and self.meter is not None and meter != self.meter:
            raise BadInput("the meter changes here", "There can only be one: split the tune.")
        self.meter = meter

    def _take_key(self, text: str, place: Place) -> None:
        try:
            read = read_key(text)
        except BadInput:
            self.key_unread = True
            raise
        if self.in_music and read.key not in (None, self.key.key):
            self.findings.doubt(place, KEY_CHANGES)
        if not self.in_music:
            self.key_place = place
        elif read.key is not None:
            self.present = read.key
        kept = self.key.key if self.in_music else read.key
        signature = read.signature
        if self.in_music and read.key is None and not signature:
            signature = self.key.signature
        clef = read.clef.over(self.key.clef) if self.in_music else read.clef
        self.key = KeyField(kept, signature, clef, read.doubtful)

    def _take_tempo(self, text: str, place: Place) -> None:
        if self.in_music and self.tempo_text is not None:
            self.findings.doubt(place, "the tempo changes here; the phrase keeps its first tempo")
        elif self.tempo_text is None or read_tempo(self.tempo_text[0], Fraction(1))[0] is None:
            self.tempo_text = (text, place)

    def tempo(self) -> Fraction | None:
        """Return the tempo in quarter notes a minute, or None where the tune gives none."""
        if self.tempo_text is None:
            return None
        text, place = self.tempo_text
        try:
            tempo, doubt = read_tempo(text, self.unit_length())
        except BadInput as wrong:
            self.findings.problem(place, wrong.line())
            return Fraction(120)
        if doubt:
            self.findings.doubt(place, doubt)
        return tempo

    def take_voice(self, text: str) -> str:
        """Take a V: field; return the voice's id."""
        voice, _, rest = text.strip().partition(" ")
        name = re.search(r"\b(?:name|nm)=(?:\"([^\"]*)\"|(\S+))", rest)
        if name or voice not in self.voices:
            self.voices[voice] = (name[1] or name[2] or "") if name else ""
        if rest:
            self.voice_clefs[voice] = read_clef(rest)
        return voice

    def _take_letter(self, text: str) -> None:
        """Take a U: field: a letter that stands for a decoration (4.16)."""
        letter, _, meaning = (part.strip() for part in text.partition("="))
        if meaning.strip("!+") in _ACCENTS:
            self.accent_letters.add(letter)
        else:
            self.accent_letters.discard(letter)

    def take_instruction(self, text: str) -> None:
        """Take an I: field or a %% line: only how accidentals carry matters (11.3)."""
        match = re.match(r"\s*propagate-accidentals\s+(not|octave|pitch)\b", text)
        if match:
            self.propagate = match[1]

    def accents(self, decoration: str) -> bool:
        """Return whether a decoration, or a letter that stands for one, is an accent (4.14)."""
        return decoration in self.accent_letters or decoration.strip("!+") in _ACCENTS


def chosen_voice(header: Header, part: str | None) -> str | None:
    """Return the id of the voice to read: that of the id or name ``part``, else the first.

    None as long as no field has named it.
    """
    if part is None:
        return next(iter(header.voices), None)
    return named(header.voices, part)
