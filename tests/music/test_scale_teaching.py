"""Scales as a strict teacher would name them: by where a dominant goes and what stands before it.

Cases of our own. Common practice throughout, but for the pairings of V and of V/ii that
Nettles & Graf, The Chord Scale Theory and Jazz Harmony, 1997, state.
"""

from __future__ import annotations

from drillbox.music.analysis.whole import analyse, scale_text
from tests.rows import every_row

from .worked import phrase

DARK = "Mixolydian b9 b13"  # the fifth mode of harmonic minor
# Key, chart, place of the chord, its first scale.
FIRST = [
    # V to a minor chord, and V after a borrowed ii or iv.
    ("C", "| Dm7 | G7 | Cm6 | Fmaj7 |", 1, DARK),
    ("C", "| Dm7b5 | G7 | Cmaj7 | C6 |", 1, DARK),
    ("C", "| Cmaj7 | Fm6 | G7 | C6 |", 2, DARK),
    ("C", "| Cmaj7 | Fm7 | G7 | Em7 |", 2, DARK),
    ("F", "| Gm7b5 | C7 | Fmaj7 | F6 |", 1, DARK),
    ("F", "| Bbm6 | C7 | F6 | F6 |", 1, DARK),
    ("Bb", "| Cm7b5 | F7 | Bbmaj7 | Gm7 |", 1, DARK),
    ("C", "| Em7b5 | A7 | Dm7 | G7 |", 1, DARK),
    ("C", "| Am7b5 | D7 | G7 | C6 |", 1, DARK),
    ("C", "| Cm7 | D7 | G7 | C6 |", 1, DARK),
    ("Eb", "| Fm7b5 Bb7 | Ebmaj7 |", 1, DARK),
    ("Cm", "| Dm7b5 | G7 | Cm6 |", 1, DARK),
    # ... but not after a ii of the key.
    ("C", "| Dm7 | G7 | Cmaj7 | Fm6 |", 1, "Mixolydian"),
    ("C", "| F6 | G7 | C6 | C6 |", 1, "Mixolydian"),
    ("C", "| A7 | Dm7 | G7 | C6 |", 0, "Mixolydian b13"),
    # A flat ninth on the way to a major chord, and to a minor one.
    ("C", "| Dm7 | G7b9 | Cmaj7 | Am7 |", 1, "half-whole diminished"),
    ("C", "| F6 | G7b9 | C6 | C6 |", 1, "half-whole diminished"),
    ("G", "| Am7 | D7b9 | Gmaj7 | G6 |", 1, "half-whole diminished"),
    ("C", "| D7b9 | G7 | C6 | C6 |", 0, "half-whole diminished"),
    ("C", "| C7b9 | Fmaj7 | G7 | C6 |", 0, "half-whole diminished"),
    ("C", "| Dm7b5 | G7b9 | Cmaj7 | C6 |", 1, DARK),
    ("C", "| A7b9 | Dm7 | G7 | C6 |", 0, DARK),
    ("Cm", "| Dm7b5 | G7b9 | Cm |", 1, DARK),
    # The half-diminished chord on the raised fourth.
    ("C", "| F#m7b5 | Fm6 | C6 | G7 |", 0, "Locrian"),
    ("C", "| C6 | F#m7b5 | Fmaj7 | Em7 |", 1, "Locrian"),
    ("Eb", "| Am7b5 | Abm6 | Gm7 | Bb7 |", 0, "Locrian"),
    ("G", "| C#m7b5 | Cmaj7 | Bm7 | D7 |", 0, "Locrian"),
    # The borrowed iv with a sixth, and with a seventh.
    ("C", "| Fmaj7 | Fm6 | C6 | C6 |", 1, "melodic minor"),
    ("F", "| Bbmaj7 | Bbm6 | Fmaj7 | F6 |", 1, "melodic minor"),
    ("D", "| Gm6 | D6 | A7 | D6 |", 0, "melodic minor"),
    ("C", "| Fm7 | C6 | Dm7 | G7 |", 0, "Dorian"),
    ("Cm", "| Cm7 | Fm6 | Cm7 | G7 |", 1, "Dorian"),
    # The IV7 of a Dorian vamp.
    ("Cm", "| Cm7 | F7 | Cm7 | F7 |", 1, "Mixolydian"),
    ("Dm", "| Dm7 | G7 | Dm7 | G9 |", 3, "Mixolydian"),
    ("Am", "| Am7 D7 | Am7 D7 |", 1, "Mixolydian"),
    # A dominant seventh on the tonic before the tonic itself.
    ("F", "| Fmaj7 | Em7b5 A7 | Dm7 G7 | Cm7 F7 |", 6, "Mixolydian"),
    # Suspended triads on degrees of the key.
    ("C", "| Csus2 | Fsus2 | Cmaj7 | G7 |", 0, "Ionian"),
    ("C", "| Csus4 | Cmaj7 | Dm7 | G7 |", 0, "Ionian"),
    ("C", "| Csus2 | Fsus2 | Cmaj7 | G7 |", 1, "Lydian"),
    ("C", "| Cmaj7 | Fsus4 | Fmaj7 | G7 |", 1, "Ionian"),
    ("C", "| Cmaj7 | Dsus4 | Dm7 | G7 |", 1, "Dorian"),
    ("Cm", "| Csus4 | Cm | Fsus2 | G7 |", 0, "Dorian"),
    ("Cm", "| Csus4 | Cm | Fsus2 | G7 |", 2, "Dorian"),
    ("C", "| Dm7 | Gsus4 | C6 | C6 |", 1, "Mixolydian"),
    ("C", "| Dm7 | G7sus4 | C6 | C6 |", 1, "Mixolydian"),
    # The triad on the flat seventh of a minor key.
    ("Am", "| Am | G | F | E7 |", 1, "Mixolydian"),
    ("Cm", "| Cm7 | Bb | Abmaj7 | G7 |", 1, "Mixolydian"),
    ("Am", "| Am | Gmaj7 | F | E7 |", 1, "Lydian"),
    # A dominant that becomes a minor seventh on its own root.
    ("C", "| D7 | Dm7 | G7 | C6 |", 0, "Lydian b7"),
    ("F", "| G7 | Gm7 | C7 | F6 |", 0, "Lydian b7"),
    ("Bb", "| C9 | Cm7 | F7 | Bb6 |", 0, "Lydian b7"),
    ("C", "| A7 | Am7 | D7 | G7 |", 0, "Lydian b7"),
    ("C", "| Cmaj7 | G7 | Gm7 C7 | Fmaj7 |", 1, "Lydian b7"),
    # ... but for the V of the key after its ii.
    ("Bb", "| Bb6 | Cm7 F7 | Fm7 Bb7 | Ebmaj7 |", 2, "Mixolydian"),
    ("C", "| Cmaj7 | Dm7b5 G7 | Gm7 C7 | Fmaj7 |", 2, DARK),
    # The ii and the V of a passage in another key.
    ("C", "| Am7 D7 | Gmaj7 | Dm7 G7 | Cmaj7 |", 0, "Dorian"),
    ("C", "| Am7 D7 | Gmaj7 | Dm7 G7 | Cmaj7 |", 2, "Ionian"),
    ("C", "| Em7 A7 | Dmaj7 | G7 | C6 |", 0, "Dorian"),
    ("C", "| Am7 D7 | G7 | C6 |", 0, "Aeolian"),
]
# Key, chart, line, the note that isn't outside: place in the line.
GOOD = [
    ("C", "| Dm7b5 | G7 | Cmaj7 |", "2.1 B4 1, 2.2 Ab4 1, 2.3 Eb5 1, 2.4 D5 1, 3.1 E5 2", (1, 2)),
    ("C", "| Fm6 | G7 | C6 |", "2.1 F5 1, 2.2 Ab4 1, 2.3 Eb5 1, 2.4 G4 1, 3.1 E4 2", (1, 2)),
    ("C", "| Dm7 | G7 | Cm6 |", "2.1 F5 1, 2.2 Ab4 1, 2.3 Eb5 1, 2.4 G4 1, 3.1 Eb4 2", (1, 2)),
    ("C", "| G7b9 | Cmaj7 |", "1.1 B4 1, 1.2 E5 1, 1.3 C#5 1, 1.4 Ab4 1, 2.1 G4 2", (1, 2, 3)),
    ("C", "| D7b9 | G7 | C6 |", "1.1 F#4 1, 1.2 B4 1, 1.3 Eb5 1, 1.4 G#4 1, 2.1 G4 2", (1, 2, 3)),
    ("C", "| F#m7b5 | Fm6 | C6 |", "1.1 A4 1, 1.2 G4 1, 1.3 D5 1, 1.4 B4 1, 2.1 Ab4 2", (1, 2, 3)),
    ("C", "| Fm6 | C6 |", "1.1 Ab4 1, 1.2 E5 1, 1.3 G4 1, 1.4 D5 1, 2.1 E5 2", (1, 2)),
    ("Cm", "| Cm7 | F7 |", "2.1 A4 1, 2.2 Bb4 1, 2.3 D5 1, 2.4 G4 1", (1, 2)),
    ("C", "| D7 | Dm7 | G7 |", "1.1 F#4 1, 1.2 G#4 1, 1.3 B4 1, 1.4 E5 1, 2.1 F5 2", (1, 2)),
    # The notes of the signature over the tonic of a minor key, and the sixth of Dorian.
    ("Am", "| Am | E7 |", "1.1 A5 1/2, 1.1& G5 1/2, 1.2 F5 1/2, 1.2& E5 1/2, 1.3 F#5 1", (1, 2, 4)),
    ("Am", "| Am7 | E7 |", "1.1 E5 1, 1.2 F5 1, 1.3 F#5 1, 1.4 E5 1", (1, 2)),
    ("Am", "| Am6 | E7 |", "1.1 A5 1, 1.2 G5 1, 1.3 F5 1, 1.4 E5 1", (1, 2)),
    ("F", "| Gm7b5 | C7 | F6 |", "2.1 E4 1, 2.2 Db5 1, 2.3 Ab4 1, 2.4 G4 1, 3.1 A4 2", (1, 2)),
]


@every_row(("key", "chart", "index", "scale"), FIRST)
def test_the_first_scale_is_the_one_that_a_teacher_names(
    key: str, chart: str, index: int, scale: str
) -> None:
    """A chord's first scale follows where it goes, what it follows, and its symbol."""
    facts = analyse(phrase(chart, key=key)).chords[index]
    assert scale_text(facts).split(" (")[0] == scale


@every_row(("key", "chart", "line", "good"), GOOD)
def test_a_good_note_is_neither_outside_nor_chromatic(
    key: str, chart: str, line: str, good: tuple[int, ...]
) -> None:
    """The notes of those scales belong to their chords."""
    notes = analyse(phrase(chart, line, key=key)).notes
    assert all(not notes[each].chromatic for each in good)
