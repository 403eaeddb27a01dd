"""Collects the notes and symbols of ABC music between bar lines into measures."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import groupby

from drillbox.music.chords import Chord
from drillbox.music.keys import Key
from drillbox.music.pitch import Pitch
from drillbox.notation.repeats import Mark
from drillbox.notation.sheet import (
    LOOSE_GRACE,
    MOST_SHARING,
    TOO_MANY_SHARE,
    Findings,
    Measure,
    Place,
    Sound,
    Symbol,
    share_length,
)

ZERO = Fraction(0)


@dataclass(slots=True)
class _Event:
    """A note or rest whose length a broken rhythm may still change."""

    length: Fraction
    pitch: Pitch | None
    place: Place
    tied: bool = False
    target: bool = False
    graces: tuple[Pitch, ...] = ()


@dataclass(frozen=True, slots=True)
class _Waiting:
    """A symbol and the event before which it stands."""

    event: int
    chord: Chord | None
    turnaround: bool
    place: Place


@dataclass(slots=True)
class MeasureBuilder:
    """Builds the measures of one tune; bar lines close them.

    ``key`` is the sounding key in force, None for the tune's first.
    """

    findings: Findings
    measures: list[Measure] = field(default_factory=list)
    marks: list[Mark] = field(default_factory=list)
    key: Key | None = None
    _key: Key | None = None
    _events: list[_Event] = field(default_factory=list)
    _symbols: list[_Waiting] = field(default_factory=list)
    _graces: tuple[Pitch, ...] = ()
    _broken: Fraction | None = None
    _tuplet: tuple[Fraction, int] = (Fraction(1), 0)
    _begins: bool = False
    _endings: frozenset[int] = frozenset()

    def add(self, length: Fraction, pitch: Pitch | None, place: Place, target: bool) -> None:
        """Add a note, or a rest where ``pitch`` is None; ``length`` in quarter notes."""
        if not self._events:
            self._key = self.key
        ratio, left = self._tuplet
        if left:
            length *= ratio
            self._tuplet = (ratio, left - 1)
        if self._broken is not None:
            length *= self._broken
            self._broken = None
        graces, self._graces = self._graces, ()
        self._events.append(_Event(length, pitch, place, target=target, graces=graces))

    def add_symbol(self, chord: Chord | None, turnaround: bool, place: Place) -> None:
        """Add a chord symbol before the next note or rest, whichever bar that is in."""
        if [each.event for each in self._symbols[-MOST_SHARING:]] == [
            len(self._events)
        ] * MOST_SHARING:
            self.findings.problem(place, TOO_MANY_SHARE)
            return
        self._symbols.append(_Waiting(len(self._events), chord, turnaround, place))

    def add_graces(self, pitches: tuple[Pitch, ...]) -> None:
        """Add grace notes before the next note."""
        self._graces = (*self._graces, *pitches)

    def begin_tuplet(self, ratio: Fraction, notes: int) -> None:
        """Multiply the lengths of the next ``notes`` notes by ``ratio``."""
        self._tuplet = (ratio, notes)

    def tie(self, place: Place) -> None:
        """Tie the last note to the next."""
        if self._events and self._events[-1].pitch:
            self._events[-1].tied = True
        elif not self._events and self.measures and self.measures[-1].sounds:
            last = self.measures[-1]
            sounds = (*last.sounds[:-1], replace(last.sounds[-1], tied=True))
            self.measures[-1] = replace(last, sounds=sounds)
        else:
            self.findings.doubt(place, "this tie has no note before it")

    def break_rhythm(self, signs: str, place: Place) -> None:
        """Lengthen one neighbour and shorten the other (ABC 2.1, section 4.4)."""
        if not self._events:
            self.findings.problem(place, f"{signs} has no note before it in its bar")
            return
        short = Fraction(1, 2 ** len(signs))
        first, second = (2 - short, short) if signs[0] == ">" else (short, 2 - short)
        self._events[-1].length *= first
        self._broken = second

    def begin_ending(self, numbers: frozenset[int]) -> None:
        """Mark what follows as the beginning of a numbered ending, even in mid-bar."""
        if self._events:
            self._close(self._events[-1].place)
            self.measures[-1] = replace(self.measures[-1], splittable=True)
        self._endings = numbers

    def begin_repeat(self) -> None:
        """Mark the measure that follows as the beginning of a repeat."""
        self._begins = True

    def bar_line(self, place: Place, *, plain: bool, closes: bool, plays: int) -> None:
        """Close the measure; a bar line without music before it only adds its signs."""
        if self._events:
            self._close(place)
        elif not self.measures:
            return
        mark, measure = self.marks[-1], self.measures[-1]
        self.marks[-1] = replace(mark, closes=mark.closes or closes, plays=max(mark.plays, plays))
        self.measures[-1] = replace(measure, splittable=measure.splittable or not plain)

    def finish(self, place: Place) -> None:
        """Close the last measure, which may lack its bar line."""
        if self._events:
            self._close(place)
        for symbol in self._symbols:
            self.findings.problem(symbol.place, "no note or rest follows this chord symbol")
        if self._graces:
            self.findings.doubt(place, LOOSE_GRACE)

    def _close(self, place: Place) -> None:
        if self._broken is not None:
            self.findings.problem(place, "a broken rhythm (> or <) has no second note in its bar")
            self._broken = None
        onsets = [ZERO]
        for event in self._events:
            onsets.append(onsets[-1] + event.length)
        here = [each for each in self._symbols if each.event < len(self._events)]
        later = [replace(each, event=0) for each in self._symbols[len(here) :]]
        symbols: list[Symbol] = []
        for event, group in groupby(here, key=lambda each: each.event):
            over = [
                Symbol(onsets[event], each.chord, each.turnaround, each.place) for each in group
            ]
            length = self._events[event].length
            symbols += share_length(over, length, self.findings) if len(over) > 1 else over
        sounds = tuple(
            sound for event, onset in zip(self._events, onsets, strict=False)
            for sound in _sounds(event, onset)
        )  # fmt: skip
        self.measures.append(Measure(onsets[-1], sounds, tuple(symbols), place, key=self._key))
        self.marks.append(Mark(begins=self._begins, endings=self._endings))
        self._events, self._symbols = [], later
        self._begins, self._endings = False, frozenset()


def _sounds(event: _Event, onset: Fraction) -> list[Sound]:
    sounds = [Sound(onset, ZERO, pitch, event.place) for pitch in event.graces]
    if event.pitch:
        sounds.append(
            Sound(onset, event.length, event.pitch, event.place, event.tied, event.target)
        )
    return sounds
