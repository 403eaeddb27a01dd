"""What chords and notes are heard as: a slash chord from its bass, a note with its chord.

Slash chords may be heard from their bass, as suspended dominants written as another chord. A
major chord over the note a whole tone above its root (F/G, Fmaj7/G), a minor one over the note
a fourth above (Dm7/G), and a half-diminished one likewise (Dm7b5/G) sound as a dominant on the
bass with its fourth for its third: G9sus4, G13sus4, G7sus4 with a flat ninth (common practice).
Other slash chords are inversions or stand over a pedal; they are heard from their root.

A note is heard with the chord that sounds where it begins, a pickup with the first chord,
which it leads to (common practice). An early arrival, the last note within a beat before a
change, nothing being struck on the change itself, is heard with the coming chord

- if it sounds across the change and is a chord tone of the coming chord, or is none of
  either chord and sounds for longer after the change than before it;
- if it ends before the change and is a chord tone of the coming chord only;

but a chord tone that is struck on the change to its own chord, or a whole beat before the
coming one, belongs to its own. Of a pickup only a last note that sounds into the first bar is
such an arrival. A grace note is heard with the note that it leads to.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

from drillbox.music.charts import Chart, Span, counted_beat
from drillbox.music.chords import (
    Chord,
    Family,
    bass_above,
    chord_semitones,
    family_of,
    own_degrees,
    sound_alike,
)
from drillbox.music.degrees import above_root
from drillbox.music.phrases import LineNote
from drillbox.music.symbols.printed import chord_of

_BASS_ABOVE: dict[Family, int] = {"major": 2, "minor": 5, "half-diminished": 5}
_SUSPENDED = frozenset({(1, 0), (4, 0), (5, 0), (7, -1)})
# Semitones above the bass → what the other chord's tones are there.
_ROLES = {0: (1, 0), 1: (9, -1), 2: (9, 0), 5: (4, 0), 7: (5, 0), 9: (13, 0), 10: (7, -1)}


@lru_cache(maxsize=1024)
def heard_as(chord: Chord) -> Chord:
    """Return the suspended dominant that a slash chord is heard as; any other chord as it is."""
    if chord.bass is None:
        return chord
    above = bass_above(chord)
    if _BASS_ABOVE.get(family_of(chord)) != above:
        return chord
    tones = {_ROLES.get((each - above) % 12) for each in own_degrees(chord)}
    held = _SUSPENDED | {each for each in tones if each}
    return chord if None in tones else chord_of(chord.bass, tuple(held)) or chord


def heard_chart(chart: Chart) -> Chart:
    """Return a chart with each chord as it is heard."""
    return chart.with_chords(heard_as(chord) if chord else None for chord in chart.chords())


def chord_begins(chart: Chart) -> tuple[bool, ...]:
    """Return for each span whether a chord begins there (False: held from the span before)."""
    spans = [span for _, span in chart.spans()]
    held = (
        sound_alike(before.chord, span.chord) and before.turnaround == span.turnaround
        for before, span in pairwise(spans)
    )
    return (True, *(not each for each in held)) if spans else ()


def is_chord_tone(chord: Chord | None, note: LineNote) -> bool:
    """Return whether a note sounds one of the chord tones; see ``chords.chord_semitones``."""
    return chord is not None and above_root(chord, note.pitch.name) in chord_semitones(chord)


def heard_with(notes: Sequence[LineNote], chart: Chart) -> tuple[tuple[int, ...], frozenset[int]]:
    """Return for each note the index of the span that it is heard with, and which are a pickup.

    The notes are in order of onset; a pickup are those before the first bar that lead into it.
    The chart's chords are taken as they stand: give ``heard_chart`` where slash chords count.
    """
    placed = chart.spans()
    if not placed:
        return (0,) * len(notes), frozenset()
    begins = chord_begins(chart)
    heard: list[int] = []
    pickup: list[int] = []
    for index in range(len(notes)):
        main = _led_to(notes, index)
        note = notes[main]
        span, early = _heard_with(notes, main, chart, placed, begins)
        if note.onset < 0 and not (early and note.onset + note.length > 0):
            pickup.append(index)
        heard.append(0 if note.onset < 0 else span)
    return tuple(heard), frozenset(pickup)


def _led_to(notes: Sequence[LineNote], index: int) -> int:
    """Return the index of the note that a grace note leads to, of any other note its own."""
    for after in range(index, len(notes)):
        if notes[after].onset != notes[index].onset:
            break
        if notes[after].length > 0:
            return after
    return index


def _heard_with(
    notes: Sequence[LineNote],
    index: int,
    chart: Chart,
    placed: Sequence[tuple[Fraction, Span]],
    begins: Sequence[bool],
) -> tuple[int, bool]:
    """Return the span that a note is heard with, and whether it is early there."""
    note, within = notes[index], notes[index].onset % chart.length
    now = bisect_right(placed, within, key=lambda each: each[0]) - 1
    coming = (now + 1) % len(placed)
    start, span = placed[now]
    change = start + span.length - within
    here, there = span.chord, placed[coming][1].chord
    changing = begins[coming] and not sound_alike(there, here)
    last = changing and _until_next(notes, index, chart) > change
    beat = counted_beat(chart.meter)
    struck = (begins[now] and start == within) or change == beat
    own = struck and is_chord_tone(here, note)
    near = note.length > 0 and change <= beat
    early = last and near and not own and _belongs(note, change, here, there)
    return (coming if early else now), early


def _belongs(note: LineNote, change: Fraction, here: Chord | None, there: Chord | None) -> bool:
    """Return whether a note before a change, ``change`` quarter notes away, belongs behind it."""
    fits_now, fits_coming = is_chord_tone(here, note), is_chord_tone(there, note)
    if note.length <= change:
        return fits_coming and not fits_now
    return fits_coming or (not fits_now and note.length > 2 * change)


def _until_next(notes: Sequence[LineNote], index: int, chart: Chart) -> Fraction:
    """Return the time to the next onset, in the next pass for the last note."""
    onset = notes[index].onset
    for after in range(index + 1, len(notes)):
        if notes[after].onset > onset:
            return notes[after].onset - onset
    return notes[0].onset + chart.length - onset
