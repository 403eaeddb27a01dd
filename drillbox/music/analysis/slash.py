"""Slash chords that are heard from their bass: suspended dominants written as another chord.

A major chord over the note a whole tone above its root (F/G, Fmaj7/G), a minor one over the note
a fourth above (Dm7/G), and a half-diminished one likewise (Dm7b5/G) sound as a dominant on the
bass with its fourth for its third: G9sus4, G13sus4, G7sus4 with a flat ninth (common practice).
Other slash chords are inversions or stand over a pedal; they are heard from their root.
"""

from __future__ import annotations

from functools import lru_cache

from drillbox.music.charts import Chart
from drillbox.music.chords import Chord
from drillbox.music.degrees import Family, family, own_degrees
from drillbox.music.symbols.simplest import chord_of

_BASS_ABOVE: dict[Family, int] = {"major": 2, "minor": 5, "half-diminished": 5}
_SUSPENDED = frozenset({(1, 0), (4, 0), (5, 0), (7, -1)})
# Semitones above the bass → what the other chord's tones are there.
_ROLES = {0: (1, 0), 1: (9, -1), 2: (9, 0), 5: (4, 0), 7: (5, 0), 9: (13, 0), 10: (7, -1)}


@lru_cache(maxsize=1024)
def heard_as(chord: Chord) -> Chord:
    """Return the suspended dominant that a slash chord is heard as; any other chord as it is."""
    if chord.bass is None:
        return chord
    above = (chord.bass.pitch_class - chord.root.pitch_class) % 12
    if _BASS_ABOVE.get(family(chord)) != above:
        return chord
    tones = {_ROLES.get((each - above) % 12) for each in own_degrees(chord)}
    held = _SUSPENDED | {each for each in tones if each}
    return chord if None in tones else chord_of(chord.bass, tuple(held)) or chord


def heard_chart(chart: Chart) -> Chart:
    """Return a chart with each chord as it is heard."""
    return chart.with_chords(heard_as(chord) if chord else None for chord in chart.chords())
