"""A phrase over the chords of a place: whether they are its own, and which of its notes rub."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from drillbox.music.chords import Chord
from drillbox.music.fits.clashes import Clash, Leaning, Sound, clash, leanings, sound_of
from drillbox.music.fits.kinds import Kind
from drillbox.music.fits.shapes import Change, Shape, Time, int_where_whole, shape_of
from drillbox.music.fits.variants import Variant
from drillbox.music.phrases import Phrase

Verdict = tuple[Kind, tuple[Clash, ...]]


@dataclass(frozen=True, slots=True)
class Window:
    """The chords of a place (None: no chord), their starts counted from its beginning.

    ``key`` is equal for two places that sound alike, and are as long, but for the key.
    """

    length: Time
    starts: tuple[Time, ...]
    chords: tuple[Chord | None, ...]
    sounds: tuple[Sound | None, ...]
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
    return Window(length, starts, chords, sounds, (length, *key))


class Heard:
    """A phrase with what is looked at only where a place is found for it."""

    def __init__(self, number: int, phrase: Phrase) -> None:
        self.number, self.phrase = number, phrase
        self.shape = shape_of(phrase.chart.bars, phrase.chart.meter, turnaround=False)
        self.sounding = _sounding(self.shape)
        self.root = self.sounding[0].root if self.sounding else 0

    @cached_property
    def spare(self) -> Time:
        """Return how much of the last chord the line leaves: nothing where there is no line.

        A last note has been heard after a beat.
        """
        if not self.phrase.line:
            return 0
        last, note = self.sounding[-1], self.phrase.line[-1]
        beat = self.phrase.chart.meter.beat
        heard = max(beat, note.onset + min(note.length, beat) - last.start)
        return max(0, int_where_whole(last.length - heard))

    @cached_property
    def _leanings(self) -> tuple[Leaning, ...]:
        beat = int_where_whole(self.phrase.chart.meter.beat)
        return tuple(leanings(self.phrase.line, self.shape, beat))

    def verdict(self, variant: Variant, window: Window, length: Time, up: int) -> Verdict | None:
        """Return the kind of the fit and its clashes; None where more rubs than doesn't.

        ``length`` is that of the place, in the tune's quarter notes; ``up`` the semitones from
        the written key to the one there.
        """
        if variant.kind is Kind.EXACT and self._same(variant, window, length, up):
            return Kind.EXACT, ()
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
            rubs = (note.above + note.sound.root + up - there.root) % 12 in there.rubs
            if rubs and note.above not in note.sound.rubs:  # what rubbed at home was meant so
                at = int_where_whole(Fraction(note.at - begins) / variant.pace)
                clashes.append(clash(note, up, chord, at))
        if len(clashes) * 2 > other:
            return None
        kind = Kind.TENSIONS if variant.kind is Kind.EXACT else variant.kind
        return kind, tuple(clashes)

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


def _sounding(shape: Shape) -> tuple[Change, ...]:
    """Return the changes without silence at either end."""
    changes = list(shape.changes)
    while changes and changes[-1].quality == "none":
        changes.pop()
    while changes and changes[0].quality == "none":
        changes.pop(0)
    return tuple(changes)
