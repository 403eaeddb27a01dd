"""What both readers take from a page: measures of sounds and symbols, keys, what is doubtful."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

from drillbox.music.chords import Chord
from drillbox.music.keys import MODE_WORDS, Key
from drillbox.music.pitch import FIFTHS, Pitch
from drillbox.music.symbols.printed import symbol_text
from drillbox.notation.result import Problem

# By the first three letters, which alone count in ABC 2.1 (section 4.6); MusicXML 4.0 has the
# same names in full.
MODES = {word: mode for word, mode in MODE_WORDS.items() if len(word) == 3}


def signature_of(fifths: int) -> dict[str, int]:
    """Return the alterations of a signature of so many sharps (flats: below 0), by letter."""
    counts = {letter: (fifths - 1 - i) // 7 + 1 for i, letter in enumerate(FIFTHS)}
    return {letter: count for letter, count in counts.items() if count}


def named(names: Mapping[str, str], wanted: str) -> str | None:
    """Return the id of the part or voice that is ``wanted``, None where there is none.

    ``names`` are their names by id. An id spelled just so comes first: ABC tells T from t.
    """
    if wanted in names:
        return wanted
    folded, known = wanted.casefold(), names.items()
    return next(
        (each for each, name in known if folded in (each.casefold(), name.casefold())), None
    )


MOST_FINDINGS = 50
LONGEST_TEXT = 300
MOST_SHARING = 8
DOUBLE_TIME = re.compile(r"\bdouble[ -]time\b", re.IGNORECASE)
KEY_CHANGES = "the key changes here; the first one is kept"
LOOSE_GRACE = "a grace note leads to no note: left out"
TOO_MANY_SHARE = f"more than {MOST_SHARING} chord symbols stand over one note; keep those meant"


@dataclass(frozen=True, slots=True)
class Place:
    """Where something stands: line and column, or ``where`` in words (a measure of a part)."""

    line: int | None = None
    column: int | None = None
    where: str = ""


@dataclass(frozen=True, slots=True)
class Sound:
    """A written note; onset from its bar line and length in quarter notes, a grace note 0 long."""

    onset: Fraction
    length: Fraction
    pitch: Pitch
    place: Place
    tied: bool = False
    target: bool = False


@dataclass(frozen=True, slots=True)
class Symbol:
    """A chord symbol where it stands in its bar, in quarter notes; chord None is N.C."""

    onset: Fraction
    chord: Chord | None
    turnaround: bool
    place: Place


@dataclass(frozen=True, slots=True)
class Measure:
    """What stands between two bar lines.

    ``length`` is what notes and rests add up to; ``end`` is the place of the bar line after
    them. ``splittable``: that bar line is none of the meter's (a repeat, a double or a dotted
    one), so that a bar may begin before it and end behind it. ``key`` is the sounding one in
    force at its beginning, None for the tune's first.
    """

    length: Fraction
    sounds: tuple[Sound, ...]
    symbols: tuple[Symbol, ...]
    end: Place
    splittable: bool = False
    key: Key | None = None


@dataclass(slots=True)
class Findings:
    """Collects what is wrong and what is doubtful in one tune, the first fifty of each."""

    problems: list[Problem] = field(default_factory=list)
    doubts: list[Problem] = field(default_factory=list)
    no_tempo: bool = False

    def problem(self, place: Place, text: str) -> None:
        """Note what makes the tune unusable."""
        self._note(self.problems, place, text)

    def doubt(self, place: Place, text: str) -> None:
        """Note what was understood that may have been meant otherwise."""
        self._note(self.doubts, place, text)

    def doubt_once(self, place: Place, text: str) -> None:
        """Note what holds for the whole tune, at the first place where it comes up."""
        if not any(each.text.endswith(text) for each in self.doubts):
            self.doubt(place, text)

    def needs_tempo(self) -> bool:
        """Return whether a tempo is lacking and nothing else is wrong."""
        return self.no_tempo and len(self.problems) == 1

    def full(self) -> bool:
        """Return whether there is so much wrong that reading on tells nothing more."""
        return len(self.problems) >= MOST_FINDINGS

    def _note(self, kept: list[Problem], place: Place, text: str) -> None:
        full = f"{place.where}: {text}" if place.where else text
        full = full if len(full) <= LONGEST_TEXT else full[: LONGEST_TEXT - 3] + "..."
        found = Problem(place.line, place.column, full)
        if len(kept) < MOST_FINDINGS and found not in kept:
            kept.append(found)


def share_length(symbols: Sequence[Symbol], length: Fraction, findings: Findings) -> list[Symbol]:
    """Return the symbols that stand over one note spread evenly over its length; say so."""
    part = length / len(symbols)
    names = " ".join(symbol_text(each.chord) for each in symbols)
    findings.doubt(symbols[0].place, f"{names} share the length of one note evenly")
    return [replace(each, onset=each.onset + part * index) for index, each in enumerate(symbols)]
