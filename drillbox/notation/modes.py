"""Keys from signatures and modes, and transposition, the same for both formats."""

from __future__ import annotations

from drillbox.music.chords import Chord
from drillbox.music.keys import Mode
from drillbox.music.pitch import Interval, Name

# First three letters: how many fifths the mode's signature lies from its tonic's major one,
# and the mode that the phrase is taken to be in.
MODES: dict[str, tuple[int, Mode]] = {
    "maj": (0, "major"), "ion": (0, "major"), "lyd": (1, "major"), "mix": (-1, "major"),
    "min": (-3, "minor"), "aeo": (-3, "minor"), "dor": (-2, "minor"),
    "phr": (-4, "minor"), "loc": (-5, "minor"),
}  # fmt: skip
FULL = {"ion": "Ionian", "lyd": "Lydian", "mix": "Mixolydian", "aeo": "Aeolian",
        "dor": "Dorian", "phr": "Phrygian", "loc": "Locrian"}  # fmt: skip
_BY_FIFTHS = "FCGDAEB"
# Steps that go with 0 to 11 semitones, as players name the interval.
_STEPS = (0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)


def name_at(fifths: int) -> Name:
    """Return the name so many fifths above C (below: negative)."""
    return Name(_BY_FIFTHS[(fifths + 1) % 7], (fifths + 1) // 7)


def fifths_of(name: Name) -> int:
    """Return how many fifths a name lies above C."""
    return _BY_FIFTHS.index(name.letter) - 1 + 7 * name.alter


def signature_of(fifths: int) -> dict[str, int]:
    """Return the alterations of a signature of so many sharps (flats: below 0), by letter."""
    counts = {letter: (fifths - 1 - i) // 7 + 1 for i, letter in enumerate(_BY_FIFTHS)}
    return {letter: count for letter, count in counts.items() if count}


def spelled(semitones: int) -> Interval:
    """Return a transposition by semitones as the interval that players call it by."""
    octaves, rest = divmod(abs(semitones), 12)
    sign = -1 if semitones < 0 else 1
    return Interval(sign * (7 * octaves + _STEPS[rest]), semitones)


def moved(chord: Chord, interval: Interval) -> Chord:
    """Return the chord an interval away."""
    bass = chord.bass.up(interval) if chord.bass else None
    return Chord(chord.root.up(interval), chord.kind, chord.degrees, bass)
