"""Charts and lines moved by interval, spelled as players write them: see ``spelling``.

A degree may be hidden by its written key: in Bb the substitute of F7 stands on the flat second,
Cb, which nobody writes: players write B7. Moved by its letters it would read C#7 in C, where they
write Db7. So before a phrase moves, a chord on such a root gets back the root that its degree
asks for, and the notes over it too. Chords that fall by fifths get theirs back together or not at
all. A root that the player chose between two that are written stays as it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from drillbox.music.charts import Chart
from drillbox.music.chords import (
    Chord,
    chord_up,
    is_diminished,
    is_half_diminished,
    is_minor_quality,
    is_written_under,
)
from drillbox.music.heard import heard_chart, heard_with
from drillbox.music.keys import Key, conventional_key, is_signed
from drillbox.music.moving.roots import falls, least_of
from drillbox.music.moving.spelling import (
    as_it_reads,
    chord_moved,
    chords_moved,
    is_octave,
    ways_of,
)
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import (
    FOURTH,
    LETTER_DOWN,
    LETTER_UP,
    LETTERS,
    UNISON,
    Interval,
    Name,
    Pitch,
)

# Semitones above the tonic → steps, as players name degrees (common practice): the flat side,
# but raised where a diminished chord leads upward. None: either.
_STEPS = (0, 1, 1, 2, 2, 3, 4, 4, 5, 5, 6, 6)
_STEPS_OF_HALF_DIMINISHED = (0, 0, 1, 2, 2, 3, 3, 4, 4, 5, 6, 6)
_STEPS_OF_DIMINISHED = (0, 0, 1, 2, 2, 3, 3, 4, 4, 5, None, 6)
_STEPS_OF_MINOR = (0, None, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)


def as_meant(phrase: Phrase) -> Phrase:
    """Return the phrase with each chord, and the notes over it, on the degree it was meant on."""
    return _over(phrase, chart_as_meant(phrase.chart, phrase.key))


def strictly_moved(phrase: Phrase, interval: Interval) -> Phrase:
    """Return the phrase an interval away, its key and every letter moved alike."""
    chords = (chord_up(chord, interval) if chord else None for chord in phrase.chart.chords())
    return replace(
        phrase,
        key=replace(phrase.key, tonic=phrase.key.tonic.up(interval)),
        chart=phrase.chart.with_chords(chords),
        line=tuple(replace(note, pitch=note.pitch.up(interval)) for note in phrase.line),
    )


def under_key(phrase: Phrase, key: Key) -> Phrase:
    """Return what sounds as the phrase does under another key.

    All letters move with a tonic that goes by another letter (Db to C#m), else they stay.
    """
    interval = phrase.key.interval_to(key).spanning(0)
    return replace(phrase if interval.semitones else strictly_moved(phrase, interval), key=key)


def in_signed_key(phrase: Phrase) -> Phrase:
    """Return the phrase, moved by a diminished second where no signature holds its key."""
    return phrase if is_signed(phrase.key) else under_key(phrase, conventional_key(phrase.key))


def as_players_write(phrase: Phrase, read: Phrase) -> Phrase:
    """Return the phrase as players write it in its key, as far as that brings back what is read.

    ``read`` is the same phrase in another key. A Cb7 in Bb becomes B7, with the notes over it; a
    root that would be lost so stays.
    """
    tried = _written(phrase)
    if respelled_in(_over(phrase, tried), read.key).chart == read.chart:
        return _over(phrase, tried)
    strict = chart_as_meant(phrase.chart, phrase.key)
    again = chart_as_meant(tried, phrase.key).chords()
    kept: list[Chord | None] = []
    for chain in _chains(phrase.chart):
        here = slice(len(kept), len(kept) + len(chain))
        kept += tried.chords()[here] if again[here] == strict.chords()[here] else chain
    chart = phrase.chart.with_chords(kept)
    return _over(phrase, chart) if chart_as_meant(chart, phrase.key) == strict else phrase


def chart_as_meant(chart: Chart, key: Key) -> Chart:
    """Return the chart of a key with each chord on the degree that it was meant on.

    Chords that fall by fifths move together, if the degrees of all ask for it.
    """
    return chart.with_chords([each for chain in _chains(chart) for each in _meant(chain, key)])


_Chain = list[Chord | None]


def _chains(chart: Chart) -> list[_Chain]:
    """Return the chords in runs that fall by fifths, as spelled: Fm7 Bb7 Ebmaj7."""
    chains: list[_Chain] = []
    for before, chord in pairwise([None, *chart.chords()]):
        if before and chord and falls(before, chord) and before.root.up(FOURTH) == chord.root:
            chains[-1].append(chord)
        else:
            chains.append([chord])
    return chains


def _written(phrase: Phrase) -> Chart:
    chords, letters = phrase.chart.chords(), (UNISON, LETTER_UP, LETTER_DOWN)
    ways = least_of(chords, letters, phrase.key, lined=bool(phrase.line))
    return phrase.chart.with_chords(
        chord and chord_up(chord, way) for chord, way in zip(chords, ways, strict=True)
    )


def _meant(chain: _Chain, key: Key) -> _Chain:
    chords = [chord for chord in chain if chord]
    letters = {_letters(chord.root, _asked_root(chord, key)) for chord in chords}
    if letters not in ({1}, {-1}):
        return chain
    meant = _shifted(chain, letters.pop())
    return chain if all(chord and is_written_under(chord) for chord in meant) else meant


def _shifted(chain: _Chain, letter: int) -> _Chain:
    return [chord and chord_up(chord, Interval(letter, 0)) for chord in chain]


def _asked_root(chord: Chord, key: Key) -> Name:
    """Return the root that the chord's degree asks for, its own where that leaves a choice."""
    semitones = (chord.root.pitch_class - key.tonic.pitch_class) % 12
    steps = _steps_of(chord)[semitones]
    return chord.root if steps is None else key.tonic.up(Interval(steps, semitones))


def _steps_of(chord: Chord) -> tuple[int | None, ...]:
    if is_diminished(chord):
        return _STEPS_OF_DIMINISHED
    if is_half_diminished(chord):
        return _STEPS_OF_HALF_DIMINISHED
    return _STEPS_OF_MINOR if is_minor_quality(chord) else _STEPS


def _over(phrase: Phrase, chart: Chart) -> Phrase:
    """Return the phrase over a chart that may differ by letters, its notes moved along."""
    if chart == phrase.chart:
        return phrase
    letters = [
        Interval(_letters(here.root, there.root), 0) if here and there else UNISON
        for here, there in zip(phrase.chart.chords(), chart.chords(), strict=True)
    ]
    heard, _ = heard_with(phrase.line, heard_chart(phrase.chart))
    line = tuple(
        replace(note, pitch=note.pitch.up(letters[span]))
        for note, span in zip(phrase.line, heard, strict=True)
    )
    return replace(phrase, chart=chart, line=line)


def _letters(root: Name, other: Name) -> int:
    """Return how many letters lie between two names, from -3 to 3."""
    return (LETTERS.index(other.letter) - LETTERS.index(root.letter) + 3) % 7 - 3


Range = tuple[Pitch, Pitch]

OCTAVE = Interval(7, 12)


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


def chart_to(
    chart: Chart, interval: Interval, key: Key | None = None, *, lined: bool = False
) -> Chart:
    """Return the chart an interval away, spelled as players write it.

    ``key`` is the key that it moves to, ``lined`` whether a line goes with it.
    """
    ways = ways_of(chart, interval, key, lined=lined)
    return chart.with_chords(chords_moved(chart.chords(), ways, interval))


def line_to(
    line: Sequence[LineNote], interval: Interval, chart: Chart, key: Key | None = None
) -> tuple[LineNote, ...]:
    """Return the line an interval away, each note spelled with the chord that it is heard with.

    ``chart`` is the chart under the line before it moves. ``key`` is the key that it moves to;
    without it double accidentals stay over chords.
    """
    if not line:
        return ()
    ways, chords = ways_of(chart, interval, key, lined=key is not None), chart.chords()
    heard, _ = heard_with(line, heard_chart(chart))
    notes, over = [], []
    for note, span in zip(line, heard, strict=True):
        chord = chords[span] if chords else None
        way = ways[span] if chord else _note_interval(note, interval)
        notes.append(replace(note, pitch=note.pitch.up(way)))
        over.append(chord_moved(chord, way) if chord else None)
    return as_it_reads(notes, over, key) if key and not is_octave(interval) else tuple(notes)


def octave_that_fits(
    line: Sequence[LineNote], interval: Interval, sounding_range: Range | None = None
) -> Fit:
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
    return octave_that_fits(phrase.line, phrase.key.interval_to(key), sounding_range)


def phrase_to(phrase: Phrase, key: Key, *, sounding_range: Range | None = None) -> Phrase:
    """Return the phrase in another key, its line in the octave that ``octave_that_fits`` chooses.

    Give it the phrase as written, since respelling forgets the strict spelling. In its own
    key the phrase comes back as it is, but for the octave where a range asks for another.
    """
    octaves = phrase_fit(phrase, key, sounding_range).octaves
    return respelled_in(phrase, key, Interval(OCTAVE.steps * octaves, OCTAVE.semitones * octaves))


def respelled_in(phrase: Phrase, key: Key, shift: Interval = UNISON) -> Phrase:
    """Return the phrase in another key, its line shifted from where the interval lays it."""
    interval = phrase.key.interval_to(key)
    source = phrase if key == phrase.key else as_meant(phrase)
    return replace(
        phrase,
        key=key,
        chart=chart_to(source.chart, interval, key, lined=bool(source.line)),
        line=line_to(source.line, interval + shift, source.chart, key),
    )


def read_in(phrase: Phrase, key: Key) -> Phrase:
    """Return the phrase as it reads in a key: the written one, wherever it sounds.

    The names of the line's notes count, not their octaves. Give it the phrase as it came in,
    since respelling forgets the strict spelling.
    """
    if key == phrase.key:
        return phrase
    return respelled_in(phrase, key)


def _note_interval(note: LineNote, interval: Interval) -> Interval:
    alter = note.pitch.up(interval).name.alter
    if abs(alter) < 2:
        return interval
    return interval + (LETTER_UP if alter > 0 else LETTER_DOWN)
