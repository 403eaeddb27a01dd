"""Charts and lines moved by interval, spelled as players write them.

Everything moves by the interval's steps and semitones, so that spelling follows the key.
Where that would give a chord a root or a bass that players don't write (Cb, Fb, E#, B# or a
double accidental), the whole span of that chord is respelled by one letter: root, bass and
the notes of the line that begin in the span, so that their degrees stay what they were. Notes
in a span without a chord are respelled singly, where they would need a double accidental.
"""

from __future__ import annotations

from bisect import bisect
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from drillbox.music.charts import Bar, Chart, Span
from drillbox.music.chords import Chord
from drillbox.music.keys import Key
from drillbox.music.meant import meant
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import Interval, Pitch
from drillbox.music.roots import chord_up, is_ii, is_written

Range = tuple[Pitch, Pitch]

UNISON = Interval(0, 0)
OCTAVE = Interval(7, 12)
_LETTER_UP = Interval(1, 0)  # a diminished second: E# to F
_LETTER_DOWN = Interval(-1, 0)


@dataclass(frozen=True, slots=True)
class Fit:
    """How a moved line lies: the octaves that it was shifted, and by how many semitones it
    still sticks out of the range, ``over`` its top and ``under`` its bottom."""

    octaves: int
    over: int = 0
    under: int = 0

    @property
    def fits(self) -> bool:
        """Return whether the whole line lies in the range."""
        return not (self.over or self.under)


def respelled(chord: Chord, interval: Interval) -> Interval:
    """Return the interval that moves the chord to a written spelling.

    It sounds like the one given and differs from it by a letter at most; where neither
    letter gives a written root and a written bass, a written root is preferred, then fewer
    accidentals. Octaves leave every chord as it was written.
    """
    if interval.steps * 12 == interval.semitones * 7:
        return interval
    ways = [interval, interval + _LETTER_UP, interval + _LETTER_DOWN]
    return min(ways, key=lambda way: _awkwardness(chord_up(chord, way)))


def chart_to(chart: Chart, interval: Interval) -> Chart:
    """Return the chart an interval away, each chord in a written spelling."""
    ways = iter(_ways(chart, interval))
    bars = tuple(Bar(tuple(_span_to(span, next(ways)) for span in bar.spans)) for bar in chart.bars)
    return replace(chart, bars=bars)


def line_to(line: Sequence[LineNote], interval: Interval, chart: Chart) -> tuple[LineNote, ...]:
    """Return the line an interval away, each note respelled with the chord that it begins in.

    ``chart`` is the chart under the line before it moves.
    """
    starts = [start for start, _ in chart.spans()]
    ways = _ways(chart, interval)

    def way(note: LineNote) -> Interval:
        span = chart.span_at(note.onset)
        if not (span and span.chord):
            return _note_interval(note, interval)
        return ways[bisect(starts, note.onset % chart.length) - 1]

    return tuple(replace(note, pitch=note.pitch.up(way(note))) for note in line)


def fit(line: Sequence[LineNote], interval: Interval, sounding_range: Range | None = None) -> Fit:
    """Choose the octave for a line that moves by an interval.

    The octave that sticks out of the range least, then the one nearest to where the line was
    written: without a range at most a tritone up or down (a tritone goes up). A line that is
    wider than the range sticks out at both ends.
    """
    midis = [note.pitch.midi + interval.semitones for note in line]
    if not midis:
        return Fit(0)
    low, high = (pitch.midi for pitch in sounding_range) if sounding_range else (-999, 999)

    def at(octaves: int) -> Fit:
        top, bottom = max(midis) + 12 * octaves, min(midis) + 12 * octaves
        return Fit(octaves, max(0, top - high), max(0, low - bottom))

    def cost(each: Fit) -> tuple[int, int, int]:
        moved = abs(interval.semitones + 12 * each.octaves)
        return each.over + each.under, moved, -each.octaves

    return min(map(at, range(-10, 11)), key=cost)


def phrase_fit(phrase: Phrase, key: Key, sounding_range: Range | None = None) -> Fit:
    """Return how the phrase's line lies in a key; ``octaves`` counts from the interval upward."""
    return fit(phrase.line, phrase.key.interval_to(key), sounding_range)


def phrase_to(phrase: Phrase, key: Key, *, sounding_range: Range | None = None) -> Phrase:
    """Return the phrase in another key, its line in the octave that ``fit`` chooses.

    Give it the phrase as written, since respelling forgets the strict spelling. In its own
    key the phrase comes back as it is, but for the octave where a range asks for another.
    """
    octaves = phrase_fit(phrase, key, sounding_range).octaves
    return respelled_in(phrase, key, Interval(OCTAVE.steps * octaves, OCTAVE.semitones * octaves))


def respelled_in(phrase: Phrase, key: Key, shift: Interval = UNISON) -> Phrase:
    """Return the phrase in another key, its line shifted from where the interval lays it."""
    interval = phrase.key.interval_to(key)
    source = phrase if key == phrase.key else meant(phrase)
    return replace(
        phrase,
        key=key,
        chart=chart_to(source.chart, interval),
        line=line_to(source.line, interval + shift, source.chart),
    )


def _awkwardness(chord: Chord) -> tuple[bool, bool, int]:
    names = [chord.root, chord.bass or chord.root]
    return (
        not is_written(chord.root),
        not is_written(names[1]),
        sum(abs(name.alter) for name in names),
    )


def _span_to(span: Span, way: Interval) -> Span:
    if span.chord is None:
        return span
    return replace(span, chord=chord_up(span.chord, way))


def _ways(chart: Chart, interval: Interval) -> list[Interval]:
    """Return how each span's chord moves; a ii and its V are respelled together or not at all."""
    chords = [span.chord for _, span in chart.spans()]
    ways = [respelled(chord, interval) if chord else interval for chord in chords]
    for index, (two, five) in enumerate(pairwise(chords)):
        if two and five and is_ii(two, five) and ways[index] != ways[index + 1]:
            ways[index : index + 2] = [_together(two, five, *ways[index : index + 2])] * 2
    return ways


def _together(two: Chord, five: Chord, *ways: Interval) -> Interval:
    def awkwardness(way: Interval) -> list[int]:
        pair = zip(_awkwardness(chord_up(two, way)), _awkwardness(chord_up(five, way)), strict=True)
        return [sum(each) for each in pair]

    return min(ways, key=awkwardness)


def _note_interval(note: LineNote, interval: Interval) -> Interval:
    alter = note.pitch.up(interval).name.alter
    if abs(alter) < 2:
        return interval
    return interval + (_LETTER_UP if alter > 0 else _LETTER_DOWN)
