"""Charts that keep to a mode: D Dorian isn't D minor, though some write it in its key."""

from __future__ import annotations

from itertools import pairwise

from drillbox.music.analysis.scales import PRACTICE, SCALES, Pairing, fits
from drillbox.music.charts import Chart
from drillbox.music.chords import Chord
from drillbox.music.degrees import chord_semitones, family
from drillbox.music.keys import Key

_MODES = {"major": ("Mixolydian", "Lydian"), "minor": ("Dorian", "Phrygian")}
# A minor key lends itself the leading note.
_PLAIN = {"major": {*SCALES["Ionian"]}, "minor": {*SCALES["Aeolian"], 11}}
_ROTATIONS = ("Ionian", "Dorian", "Phrygian", "Lydian", "Mixolydian", "Aeolian", "Locrian")


def mode_of(chart: Chart, key: Key) -> str | None:
    """Return the mode of the key, or else that a chart keeps to; None for major and minor.

    It begins on its tonic chord and has another one; all tones of all chords belong to the
    mode, and some to neither the major nor the minor scale (with its leading note): a tone of
    the tonic chord counts in Mixolydian alone, so that Cm6 in C minor isn't Dorian. A dominant
    other than the tonic that falls a fifth makes it a key (common practice).
    """
    if key.church:
        return key.mode
    chords = chart.sounding()
    roots = {(each.root.pitch_class - key.tonic.pitch_class) % 12 for each in chords}
    if len(roots) < 2 or chords[0].root.pitch_class != key.tonic.pitch_class:
        return None
    if any(_falls(one, two, key) for one, two in pairwise((*chords, chords[0]))):
        return None
    everything = {at for chord in chords for at in _in_key(chord, key)}
    for mode in _MODES[key.third]:
        told = {
            at
            for chord in chords
            for at in _in_key(chord, key)
            if mode == "Mixolydian" or chord.root.pitch_class != key.tonic.pitch_class
        }
        if everything <= {*SCALES[mode]} and told - _PLAIN[key.third]:
            return mode
    return None


def modal_pairing(chord: Chord, mode: str, key: Key) -> Pairing | None:
    """Return the mode begun on a chord's root as its scale, None where it doesn't fit."""
    root = (chord.root.pitch_class - key.tonic.pitch_class) % 12
    notes = tuple(sorted((each - root) % 12 for each in SCALES[mode]))
    name = next((each for each in _ROTATIONS if SCALES[each] == notes), None)
    return Pairing(name, (), PRACTICE) if name and fits(name, chord) else None


def belongs(chord: Chord, mode: str, key: Key) -> bool:
    """Return whether all tones of a chord lie in a mode on the key's tonic."""
    return _in_key(chord, key) <= {*SCALES[mode]}


def _in_key(chord: Chord, key: Key) -> set[int]:
    above = chord.root.pitch_class - key.tonic.pitch_class
    return {(above + each) % 12 for each in chord_semitones(chord)}


def _falls(chord: Chord, after: Chord, key: Key) -> bool:
    fifth = (after.root.pitch_class - chord.root.pitch_class) % 12 == 5
    tonic = chord.root.pitch_class == key.tonic.pitch_class
    return fifth and not tonic and family(chord) == "dominant"
