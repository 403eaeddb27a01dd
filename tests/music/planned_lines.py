"""Twenty lines of our own, each written to hold what stands beside it: 53 planned features.

Notes are eighths from the first beat on; ``F4*4`` lasts four of them, ``-`` is a rest and ``!``
marks a target. Features name notes by their place in the line, from 0, rests not counted:

``target 1``, ``no target 0``, ``passing 5``, ``no passing 1``
    whether the note is one;
``enclosure 1 2 > 3``
    these notes enclose that one;
``arpeggio from the 3rd 0``
    an arpeggio begins there, on that degree;
``implied 8 9 10 11: V7b9``
    these notes state that harmony over the chart's own.

Common practice.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Planned:
    """A line with the features that it was written for, one to a line of text."""

    key: str
    chart: str
    line: str
    features: str


LINES = (
    # A guide tone an eighth late, at the head of an arpeggio.
    Planned("C", "| Dm7 | G7 | Cmaj7 |",
            "D4 F4 A4 C5 E5 D5 C5 A4 | G4 B4 D5 F5 A5 G5 F5 D5 | E5*4",
            "target 1; target 9; enclosure 14 15 > 16"),
    Planned("Cm", "| Dm7b5 | G7 | Cm6 |",
            "F4 Ab4 C5 Eb5 D5 C5 Ab4 F4 | B4 D5 F5 Ab5 G5 F5 Eb5 D5 | Eb5*4",
            "arpeggio from the 3rd 0; arpeggio from the 3rd 8; target 16"),
    # Enclosures that land off the beat: diatonic, then chromatic.
    Planned("C", "| Cmaj7 | C6 |",
            "G4 D4 F4 E4 G4 C5 - - | C5 Ab4 F#4 G4 E4 - - -",
            "enclosure 1 2 > 3; enclosure 7 8 > 9"),
    # C# turns back to B; F and F# go on to G.
    Planned("C", "| Cmaj7 | Fmaj7 |",
            "C5 C#5 B4 G4 E4 F4 F#4 G4 | A4 C5 E5 G5 F5 - - -",
            "no passing 1; passing 5; passing 6; arpeggio from the 3rd 8"),
    # The dominant over the chord that it leads to: V7, V7b9, altered, the substitute.
    Planned("C", "| G7 | Cmaj7 |",
            "B4 G4 D5 F5 E5 D5 C5 A4 | B4 D5 F5 A5 G5 E5 C5 -",
            "implied 8 9 10 11: V7; target 12; no target 8"),
    Planned("Cm", "| Dm7b5 G7 | Cm6 |",
            "F4 Ab4 C5 D5 B4 G4 F4 D4 | Ab4 F4 D4 B3 C4 G4 Eb4 -",
            "target 4; implied 8 9 10 11: V7b9; target 12"),
    Planned("C", "| Dm7 G7 | Cmaj7 |",
            "F4 E4 D4 C4 B3 D4 F4 G4 | Ab4 Bb4 B4 Db5 Eb5 E5*3",
            "implied 8 9 10 11 12: V7alt; target 13; no target 10"),
    Planned("C", "| G7 | Cmaj7 |",
            "F4 G4 B4 D5 E5 D5 B4 G4 | Db4 F4 Ab4 B4 C5 G4 E4 -",
            "target 0; implied 8 9 10 11: sub V7; target 12"),
    # Triads of the upper structure: on the 13, then on the flat fifth.
    Planned("C", "| Dm7 | G7 | Cmaj7 |",
            "F4 E4 D4 F4 A4 C5 E5 G4 | F4 B4 E5 G#5 G5 D5 B4 F4 | E4*4",
            "arpeggio from the root 2; target 8; implied 9 10 11: upper-structure triad"),
    Planned("F", "| Gm7 C7 | Fmaj7 |",
            "Bb4 A4 G4 D4 E4 Gb4 Bb4 Db5 | C5 A4 F4*4",
            "target 4; implied 5 6 7: upper-structure triad; target 9"),
    # A minor line over its dominant, which resolves to the third.
    Planned("Bb", "| F7 | F7 | Bb6 |",
            "C4 Eb4 G4 Bb4 A4 F4 Eb4 C4 | A3 C4 Eb4 F4 A4 C5 Eb5 C5 | D5*4",
            "implied 0 1 2 3: minor line; target 4; target 8"),
    # The dominant of the next chord over the one before it.
    Planned("C", "| Cmaj7 | Dm7 |",
            "E4 D4 C4 E4 C#4 E4 G4 Bb4 | A4 F4 D4*4",
            "target 0; implied 4 5 6 7: V7b9; target 8"),
    Planned("G", "| Am7 | D7 | Gmaj7 |",
            "E5 C5 A4 C5 D5 C5 B4 A4 | G4 E4 F#4 A4 C5 E5 D5 C5 | B4*4",
            "target 1; enclosure 8 9 > 10; target 10"),
    Planned("Ab", "| Bbm7 | Eb7 | Abmaj7 |",
            "Db5 Bb4 F4 Ab4 C5 Bb4 Ab4 F4 | Bb4 Db5 F5 Ab5 G5 Eb5 Db5 Bb4"
            "| Db5 Bb4 G4 E4 Eb4 C4 Ab3*2",
            "implied 8 9 10 11: minor line; target 12; implied 16 17 18 19: V7b9"),
    Planned("Eb", "| Fm7 | Bb7 | Ebmaj7 |",
            "Ab4 G4 F4 Ab4 C5 Eb5 G5 F5 | D5 C5 B4 Bb4 Ab4 F4 D4 F4 | G4*4",
            "passing 9; passing 10"),
    # Three notes around one, and a third that comes an eighth late.
    Planned("F", "| Fmaj7 | Bb7 |",
            "F4 B4 Bb4 G#4 A4 C5 E5 F5 | F5 D5 Bb4 C5 Ab4 - - -",
            "enclosure 1 2 3 > 4; target 9"),
    Planned("Cm", "| G7 | Cm6 |",
            "B4 D5 F5 D5 G5 F5 D5 F5 | Eb5 Db5 B4 Bb4 Ab4 G4 - -",
            "implied 8 9 10 11 12: V7alt; target 13"),
    # A mark is the player's word; the chord without one goes by the rule.
    Planned("D", "| Em7 | A7 |",
            "E4 G4 B4! D5 C#5 B4 A4 F#4 | A4 C#5 E5 G5 F#5 E5 - -",
            "target 2; target 9"),
    Planned("Eb", "| Ebmaj7 | Cm7 |",
            "Bb4 D5 F5 Eb5 D5 C5 Bb4 G4 | Bb4 G4 Eb4 C4 D4 - - -",
            "arpeggio from the 5th 0; arpeggio from the 7th 8"),
    Planned("Cm", "| G7 | Cm6 |",
            "F4 G4 Ab4 B4 Eb5 D5 B4 G4 | Eb4*4",
            "implied 2 3 4: upper-structure triad"),
)  # fmt: skip
