"""Charts and lines moved by interval, spelled as players write them: see ``spelling``."""

from __future__ import annotations

from bisect import bisect
from collections.abc import Sequence
from dataclasses import dataclass, replace

from drillbox.music.charts import Chart
from drillbox.music.keys import Key
from drillbox.music.moving.meant import meant
from drillbox.music.moving.spelling import is_octave, moved, ways_of, without_double
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import Interval, Pitch

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


def chart_to(chart: Chart, interval: Interval, key: Key | None = None) -> Chart:
    """Return the chart an interval away, every chord in a written spelling.

    ``key`` is the key that it moves to, given where a line goes with it.
    """
    moves = zip(chart.chords(), ways_of(chart, interval, key), strict=True)
    return chart.with_chords(moved(chord, way) if chord else None for chord, way in moves)


def line_to(
    line: Sequence[LineNote], interval: Interval, chart: Chart, key: Key | None = None
) -> tuple[LineNote, ...]:
    """Return the line an interval away, each note spelled with the chord that it begins in.

    ``chart`` is the chart under the line before it moves. ``key`` is the key that it moves to;
    without it double accidentals stay over chords.
    """
    starts = [start for start, _ in chart.spans()]
    ways, chords = ways_of(chart, interval, key), chart.chords()
    notes, over = [], []
    for note in line:
        at = bisect(starts, note.onset % chart.length) - 1 if starts else 0
        chord = chords[at] if starts else None
        way = ways[at] if chord else _note_interval(note, interval)
        notes.append(replace(note, pitch=note.pitch.up(way)))
        over.append(moved(chord, way) if chord else None)
    return without_double(notes, over, key) if key and not is_octave(interval) else tuple(notes)


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
        chart=chart_to(source.chart, interval, key if source.line else None),
        line=line_to(source.line, interval + shift, source.chart, key),
    )


def _note_interval(note: LineNote, interval: Interval) -> Interval:
    alter = note.pitch.up(interval).name.alter
    if abs(alter) < 2:
        return interval
    return interval + (_LETTER_UP if alter > 0 else _LETTER_DOWN)
