"""Functions as a strict teacher would name them; charts of our own, common practice."""

from __future__ import annotations

import pytest

from drillbox.music.analysis.whole import analyse, function_text, scale_text
from tests.rows import every_row

from .worked import phrase

# Key, chart, place of the chord, its function.
NAMED = [
    # A secondary dominant that goes somewhere else, or nowhere.
    ("C", "| Cmaj7 | E7 | Fmaj7 | G7 |", 1, "V/vi (deceptive)"),
    ("C", "| C6 | B7 | Cmaj7 | Dm7 G7 |", 1, "V/iii (deceptive)"),
    ("C", "| Dm7 | D7 | Em7 | A7 |", 1, "V/V (deceptive)"),
    ("F", "| F6 | A7 | Bbmaj7 | C7 |", 1, "V/vi (deceptive)"),
    ("Bb", "| Bb6 | D7 | Ebmaj7 | F7 |", 1, "V/vi (deceptive)"),
    ("G", "| Gmaj7 | B7 | Cmaj7 | D7 |", 1, "V/vi (deceptive)"),
    ("C", "| Cmaj7 | Am7 | Dm7 | B7 |", 3, "V/iii (deceptive)"),
    ("C", "| Cmaj7 | Fmaj7 | Em7 | A7 |", 3, "V/ii (unresolved)"),
    ("C", "| Cmaj7 | D7 | Cmaj7 | G7 |", 1, "V/V (unresolved)"),
    ("Eb", "| Ebmaj7 | F7 | Ebmaj7 | Bb7 |", 1, "V/V (unresolved)"),
    ("D", "| Dmaj7 | F#7 | A7 | D6 |", 1, "V/vi (unresolved)"),
    ("Cm", "| Cm6 | D7 | Cm6 | G7 |", 1, "V/V (unresolved)"),
    # ii and V a semitone off, and back.
    ("C", "| Dm7 G7 | Ebm7 Ab7 | Dm7 G7 | C6 |", 2, "ii/bII (side-step)"),
    ("C", "| Dm7 G7 | Ebm7 Ab7 | Dm7 G7 | C6 |", 3, "V/bII (side-step)"),
    ("C", "| Dm7 | Ebm7 Ab7 | Dm7 G7 | C6 |", 2, "V/bII (side-step)"),
    ("F", "| Gm7 C7 | Abm7 Db7 | Gm7 C7 | F6 |", 2, "ii/bII (side-step)"),
    ("F", "| Gm7 C7 | Abm7 Db7 | Gm7 C7 | F6 |", 3, "V/bII (side-step)"),
    ("Bb", "| Cm7 F7 | C#m7 F#7 | Cm7 F7 | Bb6 |", 3, "V/bII (side-step)"),
    ("C", "| Fm7 Bb7 | Em7 A7 | Cmaj7 |", 3, "V/ii (side-step)"),
    ("C", "| Fm6 | Em7 A7 | Cmaj7 |", 2, "V/ii (unresolved)"),  # iv, no other ii
    ("C", "| Cmaj7 | Fm7 | Em7 A7 | Cmaj7 |", 3, "V/ii (unresolved)"),
    # Through its own substitute, or from it, a dominant goes on to its goal.
    ("C", "| D7 Ab7 | G7 | C6 |", 0, "V/V"),
    ("C", "| D7 Ab7 | G7 | C6 |", 1, "sub V/V (for D7)"),
    ("C", "| Ab7 D7 | G7 | C6 |", 0, "sub V/V (for D7)"),
    ("Eb", "| F7 B7 | Bb7 | Eb6 |", 0, "V/V"),
    ("C", "| Cmaj7 | D7 Ab7 | Cmaj7 |", 1, "V/V (unresolved)"),
    # So does a substitute through the ii of its goal; a backdoor dominant before iii is none.
    ("Cm", "| Cm6 Ab7 | Dm7b5 G7 | Cm6 |", 1, "sub V/V (for D7)"),
    ("C", "| Cmaj7 Ab7 | Dm7 G7 | C6 |", 1, "sub V/V (for D7)"),
    ("Am", "| Am7 | F7 | Bm7b5 E7 | Am6 |", 1, "sub V/V (for B7)"),
    ("C", "| Fm7 Bb7 | Em7 A7 | Dm7 G7 | C6 |", 1, "bVII7 (backdoor)"),
    ("C", "| Cmaj7 | Ab7 | Dm7 Bb7 | C6 |", 1, ""),
    # To the substitute of its goal: of dominants that fall by semitones every second one is own.
    ("C", "| Em7 A7 | D7 Db7 | C6 |", 2, "V/V"),
    ("F", "| Am7 D7 | G7 Gb7 | F6 |", 2, "V/V"),
    ("C", "| Em7 A7 | Ab7 G7 | C6 |", 1, "V/II"),
    ("C", "| Em7b5 A7b9 | Ab7 G7 | C6 |", 0, "ii/II"),
    ("C", "| C6 | B7 Bb7 | A7 Ab7 | G7 |", 1, "V/III"),
    ("C", "| C6 | B7 Bb7 | A7 Ab7 | G7 |", 2, "sub V/VI (for E7)"),
    ("C", "| C6 | B7 Bb7 | A7 Ab7 | G7 |", 3, "V/II"),
    ("C", "| C6 | B7 Bb7 | A7 Ab7 | G7 |", 4, "sub V/V (for D7)"),
    ("Cm", "| Cm6 | D7 | Dm7b5 Db7 | Cm6 |", 1, "V/V"),
    ("C", "| Cmaj7 | B7 | Bbmaj7 | G7 |", 1, "sub V/bVII (for F7)"),
    # A substitute to what stands for its goal.
    ("C", "| Em7 A7 | Dm7 Db7 |", 3, "sub V (for G7)"),
    ("F", "| Dm7 Gm7 | C7 Gb7 | Dm7 F6 |", 3, "sub V (for C7)"),
    # Or back to the ii that it came from.
    ("C", "| Dm7 | Db7 |", 1, "sub V (for G7)"),
    ("F", "| Gm7 C7 | Gm7 Gb7 |", 3, "sub V (for C7)"),
    ("Cm", "| Dm7b5 Db7 | Dm7b5 G7 | Cm6 |", 1, "sub V (for G7)"),
    ("C", "| Dm7 | Db7 Db7#11 | Dm7 | G7 |", 2, "sub V (for G7)"),
    ("C", "| Cmaj7 Db7 | Dm7 G7 |", 1, ""),
    ("C", "| Ddim7 Db7 | Ddim7 | Cmaj7 |", 1, ""),  # no ii
    # IV7 goes to iv7 and on, by the back door or not.
    ("C", "| F7 | Fm7 Bb7 | Cmaj7 | G7 |", 0, "IV7"),
    ("F", "| F7 | Bb7 | Bbm7 Eb7 | Am7 D7 | Gm7 C7 |", 1, "IV7"),
    ("F", "| F7 | Bb7 | Bbm7 Eb7 | Am7 D7 | Gm7 C7 |", 3, "bVII7 (backdoor)"),
    ("Cm", "| Cm7 | F7 | Fm7 Bb7 | Ebmaj7 G7 |", 1, "IV7"),
    ("C", "| C6 | F7sus4 F7 | Fm6 | C6 |", 1, "IV7"),
    # But after its ii, which in a major key isn't the tonic, it is a V, and F7sus4 Fm7 is all iv.
    ("C", "| Gm7 C7 | Cm7 F7 | Fm7 Bb7 | Ebmaj7 G7 |", 2, "ii/bVII"),
    ("C", "| Gm7 C7 | Cm7 F7 | Fm7 Bb7 | Ebmaj7 G7 |", 3, "V/bVII"),
    ("C", "| C6 | F7sus4 | Fm7 | C6 |", 1, "iv"),
    ("C", "| C6 | Faug | Fm6 | C6 |", 1, ""),
    ("C", "| Cmaj7 | F7 | Bb7 | Ebmaj7 G7 |", 1, "V/bVII"),
    # After its ii it is no substitute, either.
    ("Am", "| Am7 Abdim7 | Gm7 C7 | Fmaj7 | Em7b5 A7 |", 6, "V/iv (unresolved)"),
    # The tonic's own dominant seventh, where the tonic is major elsewhere; not in the blues.
    ("C", "| Cmaj7 | C7 | F7 | G7 |", 1, "V/IV"),
    ("C", "| C6 | C7 | F7 | Fm6 |", 2, "IV7"),
    ("G", "| Gmaj7 | G7 | C7 | D7 |", 1, "V/IV"),
    ("C", "| C7 | F7 | C7 | G7 |", 0, "I7"),
    ("Bb", "| Bb7 A7 | Ab7 G7 | C7 F7 |", 0, "I7"),
    ("C", "| Caug | B7 | Bb7 A7 | Dm7 G7 |", 0, "I"),
    ("C", "| Cmaj7 | C7 B7 | Em7 A7 | Dm7 G7 |", 1, "sub V/VII (for F#7)"),
    # Nor at home where the tonic is minor elsewhere.
    ("Cm", "| Cm6 | C7 | F7 | Bb7 | Ebmaj7 | G7 |", 1, "V/IV"),
    ("Am", "| Am7 A7 | Ab7 | Gm7 C7 | Fmaj7 |", 1, "V/IV"),
    ("Cm", "| C7 | F7 | C7 | G7 |", 0, "I7"),
    ("Cm", "| C7 | Cm7 F7 | Dm7b5 G7 |", 0, "I7"),
    # A dominant on the tonic at the end of the loop, the tonic itself coming next.
    ("F", "| Fmaj7 | Em7b5 A7 | Dm7 G7 | Cm7 F7 |", 5, "ii/IV"),
    ("F", "| Fmaj7 | Em7b5 A7 | Dm7 G7 | Cm7 F7 |", 6, "V/IV (unresolved)"),
    ("C", "| Cmaj7 | Am7 | Dm7 G7 | Gm7 C7 |", 5, "V/IV (unresolved)"),
    ("Cm", "| Cm6 | Abmaj7 | Dm7b5 G7 | Gm7b5 C7 |", 5, "V/iv (unresolved)"),
    ("C", "| Cmaj7 | Fmaj7 | Dm7 G7 | C7 |", 4, "I7"),
    ("C", "| G7sus4 G7 | Cmaj7 | D7 Dm7 | G7 |", 3, "V/V"),
    # Suspended triads: chords of the key on I and IV, else what they resolve to on their root.
    ("C", "| Csus2 | Fsus2 | Cmaj7 | G7 |", 0, "I"),
    ("C", "| Csus4 | Fsus2 | Cmaj7 | G7 |", 0, "I"),
    ("C", "| Cmaj7 | Fsus2 | Cmaj7 | G7 |", 1, "IV"),
    ("Cm", "| Csus4 | Cm | Fsus2 | G7 |", 0, "i"),
    ("Cm", "| Csus4 | Cm | Fsus2 | G7 |", 2, "iv"),
    ("C", "| Cmaj7 | Dsus4 | Dm7 | G7 |", 1, "ii"),
    ("C", "| Em7 | Asus4 | A7 | Dm7 |", 1, "V/ii"),
    ("C", "| Em7 | Asus4 | A | Dm7 |", 1, "V/ii"),
    ("C", "| Dm7 | Gsus4 | G | C6 |", 1, "V"),
    ("C", "| Dm7 | Gsus4 | C6 | C6 |", 1, "V"),
    ("C", "| C6 | Csus4 | C7 | Fmaj7 G7 |", 1, "V/IV"),
    ("C", "| C6 | C7sus4 | Fmaj7 | G7 |", 1, "V/IV"),
    # Slash chords that are suspended dominants.
    ("C", "| Dm7 | F/G | Cmaj7 | C6 |", 1, "V"),
    ("C", "| Dm7 | Dm7/G | Cmaj7 | C6 |", 1, "V"),
    ("F", "| Gm7 | Gm7/C | Fmaj7 | F6 |", 1, "V"),
    ("F", "| Fmaj7 | Bb/C | Fmaj7 | F6 |", 1, "V"),
    ("Eb", "| Fm7 | Abmaj7/Bb | Eb6 | Eb6 |", 1, "V"),
    ("C", "| Cmaj7 | G/A | Dm7 | G7 |", 1, "V/ii"),
    ("C", "| C6/G A7 | Dm7/G | C6 |", 1, "V/ii"),
    ("C", "| C6 A7 | F/G | C6 |", 1, "V/ii"),
    ("C", "| C6 A7 | Dm7b5/G | C6 |", 1, "V/ii"),
    ("C", "| C6 A7 | G7sus4 | C6 |", 1, "V/ii (unresolved)"),
    ("C", "| Cmaj7 | Bb/C | Fmaj7 | G7 |", 1, "V/IV"),
    ("C", "| Am7/D | D7 | Dm7 | G7 |", 0, "V/V"),
    ("Cm", "| Cm7 | Dm7b5/G | Cm6 | Cm6 |", 1, "V"),
    # A diminished chord that passes to the bass of an inversion.
    ("C", "| Dm7 D#dim7 | C/E | G7 |", 1, "#iidim (passing)"),
    ("C", "| C6 C#dim7 | G7/D | C6 |", 1, "#idim (passing)"),
    ("C", "| F6 Abdim7 | C/G | G7 |", 1, "bvidim (passing)"),
    ("C", "| Cmaj7 F#dim7 | Dm7/F | G7 |", 1, "#ivdim (passing)"),
    ("Ab", "| Bbm7 Bdim7 | Ab/C F7 | Bbm7 Eb7 |", 1, "#iidim (passing)"),
    ("C", "| Dm7 | Bdim7 | Cm/Bb | G7 |", 1, "viidim"),
    # The ii before a substitute of its own goal.
    ("C", "| Cmaj7 | Gm7 Gb7 | Fmaj7 | G7 |", 1, "ii/IV"),
    ("C", "| Cmaj7 | Gm7 Gb7 | Fmaj7 | G7 |", 2, "sub V/IV (for C7)"),
    ("C", "| Cmaj7 | Dbm7 Gb7 | Fmaj7 | G7 |", 1, "ii/sub V/IV"),
    # The tonic of a passage.
    ("C", "| F#m7 | B7 | Emaj7 | G7 |", 2, "III (ii-V-I in E)"),
    ("C", "| Bbm7 Eb7 | Abmaj7 | Dm7 G7 | C6 |", 2, "bVI (ii-V-I in Ab)"),
    ("C", "| Cmaj7 | Bm7 E7 | Amaj7 | G7 |", 3, "VI (ii-V-I in A)"),
    ("F", "| Abm7 | Db7 | Gbmaj7 | C7 |", 2, "bII (ii-V-I in Gb)"),
    ("Bb", "| Ebm7 Ab7 | Dbmaj7 | Cm7 F7 | Bb6 |", 2, "bIII (ii-V-I in Db)"),
    ("B", "| Em7 A7 | Dmaj7 | C#m7 F#7 | B6 |", 2, "bIII (ii-V-I in D)"),
    ("C", "| Dm7b5 G7 | Cm6 | Dm7 G7 | Cmaj7 |", 2, "i (ii-V-I in Cm)"),
    ("C", "| Abm7 Db7 | Gbmaj7 | Dm7 G7 | Cmaj7 |", 1, "V/bV"),
    ("C", "| Abm7 Db7 | Gbmaj7 | Dm7 G7 | Cmaj7 |", 2, "bV (ii-V-I in Gb)"),
    ("F", "| C#m7b5 F#7 | Bm7 E7 | Gm7 C7 | F6 |", 1, "V/#iv"),
    ("C", "| Gm7 C7 | Fmaj7 | G7 | C6 |", 2, "IV"),
    ("C", "| Am7 D7 | Gmaj7 | Dm7 G7 | Cmaj7 |", 0, "ii/V"),
    ("C", "| Am7 D7 | Gmaj7 | Dm7 G7 | Cmaj7 |", 1, "V/V"),
    ("C", "| Am7 D7 | Gmaj7 | Dm7 G7 | Cmaj7 |", 2, "V (ii-V-I in G)"),
    ("C", "| Am7 D7 | G7 | C6 |", 0, "vi"),
    ("C", "| D7 | Gmaj7 | G7 | C6 |", 1, "V"),
    ("C", "| Em7 A7 | Dmaj7 | G7 | C6 |", 0, "ii/II"),
    ("C", "| Em7 A7 | Dmaj7 | G7 | C6 |", 2, "II (ii-V-I in D)"),
    ("C", "| Em7 A7 | Dm7 | G7 | C6 |", 0, "iii"),
    # A mode is not the key that lends it its signature.
    ("Dm", "| Dm7 | G7 | Dm7 | G7 |", 0, "i (Dorian)"),
    ("Cm", "| Cm7 | F/C | Cm7 | Dm7 |", 0, "i (Dorian)"),
    ("C", "| C7 | Bbmaj7 | C7 | F6 |", 0, "I7 (Mixolydian)"),
    ("Em", "| Em7 | Fmaj7 | Em7 | Fmaj7 |", 0, "i (Phrygian)"),
    ("C", "| Cmaj7 | D | Cmaj7 | D |", 0, "I (Lydian)"),
    ("C", "| Cmaj7 | D | Cmaj7 | D |", 1, "II"),
    ("C", "| Cmaj7 | D/C |", 1, "II"),
    ("C", "| C6 | C7 | Fmaj7 |", 0, "I"),
    ("C", "| C6 | C7 | Fmaj7 |", 1, "V/IV"),
    ("C", "| C7 | Bbmaj7 | C7 | F6 |", 2, "I7 (Mixolydian)"),
    ("Dm", "| Dm7 | Em7 | Am7 |", 1, "ii"),
    ("Dm", "| Dm7 | Em7 | Am7 |", 2, "v"),
    ("Dm", "| Dm7 | Gm7 | A7 | Dm7 |", 0, "i"),
    ("C", "| Cmaj7 | Fmaj7 | G7 | Cmaj7 |", 0, "I"),
]
# Key, chart, line, its degrees: over a suspended dominant they count from the bass.
COUNTED = [
    ("C", "| F/G | C6 |", "1.1 G4 1, 1.2 A4 1, 1.3 C5 1, 1.4 F4 1, 2.1 E4 2", "1 9 4 b7 3"),
    ("F", "| Bb/C | F6 |", "1.1 F4 1, 1.2 Bb4 1, 1.3 D5 1, 1.4 A4 1, 2.1 A4 2", "4 b7 9 13 3"),
    ("C", "| Dm7/G | C6 |", "1.1 D4 1, 1.2 F4 1, 1.3 E4 1, 1.4 B3 1, 2.1 C4 2", "5 b7 13 3 1"),
    ("F", "| Gm7/C | F6 |", "1.1 Bb4 1, 1.2 Db5 1, 1.3 C5 1, 2.1 A4 2", "b7 b9 1 3"),
    ("C", "| C/E | F6 |", "1.1 E4 1, 1.2 G4 1, 2.1 A4 2", "3 5 3"),
]
# Key, chart, place, the first scale: a mode's chords share its notes.
MODAL = [
    ("Dm", "| Dm6 | G7 | Dm7 | Em7 |", 0, "Dorian"),
    ("Dm", "| Dm7 | G7 | Dm7 | Em7 |", 3, "Phrygian"),
    ("C", "| C7 | Bbmaj7 | Gm7 | C7 |", 1, "Lydian"),
    ("Em", "| Em7 | Fmaj7 | Em7 | Fmaj7 |", 0, "Phrygian"),
]


@every_row(("key", "chart", "index", "expected"), NAMED)
def test_a_function_is_the_one_that_a_teacher_names(
    key: str, chart: str, index: int, expected: str
) -> None:
    """Where a dominant goes, or doesn't; side-steps, slash chords, local tonics and modes."""
    read = phrase(chart, key=key)
    found = function_text(analyse(read).chords[index], read.key)
    assert found.removeprefix("turnaround, ") == expected


@pytest.mark.parametrize(("key", "chart", "line", "expected"), COUNTED)
def test_degrees_over_a_suspended_dominant_count_from_its_bass(
    key: str, chart: str, line: str, expected: str
) -> None:
    """A over F/G is the 9; over C/E, which is an inversion, degrees count from the root."""
    notes = analyse(phrase(chart, line, key=key)).notes
    assert " ".join(note.degree or "-" for note in notes) == expected


@pytest.mark.parametrize(("key", "chart", "index", "scale"), MODAL)
def test_the_chords_of_a_mode_take_its_notes(key: str, chart: str, index: int, scale: str) -> None:
    """Each chord's first scale is the mode, begun on its root."""
    assert scale_text(analyse(phrase(chart, key=key)).chords[index]).split(" (")[0] == scale
