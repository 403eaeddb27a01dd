"""A phrase over the chords of a place: whether they are its own, and which of its notes rub."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from typing import NamedTuple

from drillbox.music.chords import Chord
from drillbox.music.fits.clashes import ChordSound, Clash, Leaning, clash, leanings, sound_of
from drillbox.music.fits.kinds import Kind
from drillbox.music.fits.shapes import Change, Shape, Time, int_where_whole, shape_of
from drillbox.music.fits.variants import Variant
from drillbox.music.phrases import LineNote, Phrase


class Verdict(NamedTuple):
    """How a phrase fits, which of its notes rub, and how many are over other chords than its own.

    Where more of those rub than don't there is none.
    """

    kind: Kind
    clashes: tuple[Clash, ...] = ()
    other: int = 0


@dataclass(frozen=True, slots=True)
class Window:
    """The chords of a place (None: no chord), their starts counted from its beginning.

    ``key`` is equal for two places that sound alike, and are as long, but for the key; ``root``
    is that of the first chord.
    """

    length: Time
    starts: tuple[Time, ...]
    chords: tuple[Chord | None, ...]
    sounds: tuple[ChordSound | None, ...]
    root: int
    key: tuple[object, ...]


def window_of(shape: Shape, start: Time, end: Time) -> Window:
    """Return what sounds from ``start`` to ``end`` of a tune."""
    first = bisect_right(shape.starts, start) - 1
    placed = [each for each in shape.chords[first:] if each.start < end]
    starts = tuple(max(0, int_where_whole(each.start - start)) for each in placed)
    chords = tuple(each.chord for each in placed)
    sounds = tuple(sound_of(each) if each else None for each in chords)
    root = next((each.root for each in sounds if each), 0)
    key = tuple(
        (at, (each.root - root) % 12, each.above, each.bass) if each else (at,)
        for at, each in zip(starts, sounds, strict=True)
    )
    length = int_where_whole(end - start)
    return Window(length, starts, chords, sounds, root, (length, *key))


class Sought:
    """A phrase that is looked for, with what matters only where a place is found for it."""

    def __init__(self, number: int, phrase: Phrase) -> None:
        self.number, self.phrase = number, phrase
        self.shape = shape_of(phrase.chart.bars, phrase.chart.meter, turnaround=False)
        self.sounding = _sounding(self.shape)
        self.root = self.sounding[0].root if self.sounding else 0
        self.end = self.sounding[-1].end if self.sounding else 0

    @cached_property
    def _past_end(self) -> tuple[LineNote, ...]:
        """Return the notes that begin after its chords are over: those over its turnaround."""
        return tuple(each for each in self.phrase.line if each.length and each.onset >= self.end)

    @property
    def tail(self) -> Time:
        """Return for how long the line goes on after its chords are over."""
        return self._heard_until - self.end if self._past_end else 0

    @property
    def _heard_until(self) -> Time:
        """Return when the line has had its say: a last note has been heard after a beat."""
        note, beat = self.phrase.line[-1], self.phrase.chart.meter.beat
        return int_where_whole(note.onset + min(note.length, beat))

    @property
    def spare(self) -> Time:
        """Return how much of the last chord the line leaves: nothing where there is no line."""
        if not self.phrase.line:
            return 0
        last, beat = self.sounding[-1], self.phrase.chart.meter.beat
        heard = max(beat, self._heard_until - last.start)
        return max(0, int_where_whole(last.length - heard))

    @cached_property
    def _leanings(self) -> tuple[Leaning, ...]:
        beat = int_where_whole(self.phrase.chart.meter.beat)
        return tuple(leanings(self.phrase.line, self.shape, beat))

    @cached_property
    def _past_leanings(self) -> tuple[Leaning, ...]:
        chart = self.phrase.chart
        shape = shape_of(chart.bars, chart.meter)
        return tuple(leanings(self._past_end, shape, int_where_whole(chart.meter.beat)))

    def verdict(self, variant: Variant, window: Window, length: Time, up: int) -> Verdict | None:
        """Return what is to be said of a place, up to the end of the phrase's chords.

        ``length`` is that of the place, in the tune's quarter notes; ``up`` the semitones from
        the written key to the one there.
        """
        if variant.kind is Kind.EXACT and self._same(variant, window, length, up):
            return Verdict(Kind.EXACT)
        begins, ends = variant.begins, variant.begins + length * variant.pace
        starts = [begins + start * variant.pace for start in window.starts]
        clashes, other = [], 0
        for note in self._leanings:
            if not begins <= note.at < ends:
                continue
            index = bisect_right(starts, note.at) - 1
            there, chord = window.sounds[index], window.chords[index]
            if there is None or chord is None or there.is_as(note.sound, up):
                continue
            other += 1
            if _rubs(note, up, there):
                at = int_where_whole(Fraction(note.at - begins) / variant.pace)
                clashes.append(clash(note, up, chord, at))
        if len(clashes) * 2 > other:
            return None
        kind = Kind.TENSIONS if variant.kind is Kind.EXACT else variant.kind
        return Verdict(kind, tuple(clashes), other)

    def with_past(
        self, so_far: Verdict, variant: Variant, window: Window, length: Time, up: int
    ) -> Verdict | None:
        """Return a verdict with the notes past its end, over what sounds in the tune from there.

        ``length`` is that of the place up to there. The last chord held on isn't another than
        its own, as its turnaround is left out: what rubs there is named, and no more.
        """
        clashes, other = list(so_far.clashes), so_far.other
        rubbing = len(clashes)
        for note in self._past_leanings:
            at = int_where_whole(Fraction(note.at - self.end) / variant.pace)
            index = bisect_right(window.starts, at) - 1
            there, chord = window.sounds[index], window.chords[index]
            if there is None or chord is None or there.is_as(note.sound, up):
                continue
            foreign = not self._is_last(there, up)
            other += foreign
            if _rubs(note, up, there):
                rubbing += foreign
                clashes.append(clash(note, up, chord, int_where_whole(length + at)))
        return None if rubbing * 2 > other else Verdict(so_far.kind, tuple(clashes), other)

    def _is_last(self, there: ChordSound, up: int) -> bool:
        """Return whether a sound is that of its last chord, moved to the key."""
        last = self.shape.chords[-1].chord
        return last is not None and there.is_as(sound_of(last), up)

    def _same(self, variant: Variant, window: Window, length: Time, up: int) -> bool:
        """Return whether every symbol under the phrase is its own, moved to the key."""
        begins, ends = variant.begins, variant.begins + length
        theirs = [begins + start for start in window.starts]
        own = self.shape.starts
        for onset in {*own, *theirs}:
            if not begins <= onset < ends:
                continue
            here = self.shape.chords[max(0, bisect_right(own, onset) - 1)].chord
            there = window.sounds[max(0, bisect_right(theirs, onset) - 1)]
            if here is None or there is None:
                if here is not None or there is not None:
                    return False
            elif not there.is_as(sound_of(here), up):
                return False
        return True


def _rubs(note: Leaning, up: int, there: ChordSound) -> bool:
    """Return whether a note, moved up by semitones, rubs; what rubbed at home was meant so."""
    above = (note.above + note.sound.root + up - there.root) % 12
    return above in there.rubs and note.above not in note.sound.rubs


def _sounding(shape: Shape) -> tuple[Change, ...]:
    """Return the changes without silence at either end."""
    changes = list(shape.changes)
    while changes and changes[-1].quality == "none":
        changes.pop()
    while changes and changes[0].quality == "none":
        changes.pop(0)
    return tuple(changes)
