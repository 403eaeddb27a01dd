"""Spelling in other keys as a careful copyist would have it; cases of our own, common practice."""

from __future__ import annotations

from itertools import pairwise

import pytest

from drillbox.music.chords import is_written
from drillbox.music.keys import Spelling, parse_key, twelve
from drillbox.music.moving.transposition import phrase_to
from drillbox.music.phrases import Phrase
from drillbox.music.symbols.printed import symbol_text
from tests.rows import every_row

from .shorthand import line
from .worked import phrase

# Written key, chart, key, as it is to read there: a bass doesn't move its root.
SLASH = [
    ("Cm", "Cm Cm/B | Cm/Bb Am7b5 | Dm7b5 G7/B", "F#m",
     "F#m F#m/E# F#m/E D#m7b5 G#m7b5 C#7/E#"),
    ("Cm", "Cm Cm/B | Cm/Bb Am7b5 | Dm7b5 G7/B", "C#m",
     "C#m C#m/B# C#m/B A#m7b5 D#m7b5 G#7/B#"),
    ("Cm", "Cm Cm/B | Cm/Bb Ab", "Bm", "Bm Bm/A# Bm/A G"),
    ("Cm", "Cm Cm/B | Cm/Bb Fm/Ab", "Ebm", "Ebm Ebm/D Ebm/Db Abm/Cb"),
    ("C", "C/Bb F/A", "Db", "Db/Cb Gb/Bb"),
    ("C", "C/Bb G/B", "Gb", "Gb/Fb Db/F"),
    ("C", "F/Eb", "Db", "Gb/Fb"),
    ("C", "G7/B C", "F#", "C#7/E# F#"),
    ("C", "D7/F# G7", "B", "C#7/E# F#7"),
    ("C", "A7/C# Dm7", "B", "G#7/B# C#m7"),
    ("C", "E7/G# Am7", "E", "G#7/B# C#m7"),
    ("C", "Am Am/G#", "A", "F#m F#m/E#"),
    ("C", "Am/G# Am/G", "E", "C#m/B# C#m/B"),
    ("C", "C/E G/B", "C#", "C#/E# G#/B#"),
    ("C", "E7/G# Am7", "B", "D#7/G G#m7"),  # no double sharp for a bass
    ("C", "Ab/Gb Db", "Eb", "B/A E"),  # a root that isn't written takes its bass along
    # A pedal keeps its name from chord to chord: that of its root, or else the key's.
    ("C", "C F/C | Bb/C F/C | Fm/C C", "Gb", "Gb B/Gb E/Gb B/Gb Bm/Gb Gb"),
    ("C", "C F/C | Bb/C F/C | Fm/C C", "Db", "Db Gb/Db B/Db Gb/Db Gbm/Db Db"),
    ("C", "C F/C | Bb/C F/C | Fm/C C", "B", "B E/B A/B E/B Em/B B"),
    ("C", "Dm7/G | F/G | Ab/G G7 | C", "Eb", "Fm7/Bb Ab/Bb B/Bb Bb7 Eb"),
    ("C", "Dm7/G | F/G | Ab/G G7 | C", "Ab", "Bbm7/Eb Db/Eb E/Eb Eb7 Ab"),
    ("C", "Dm7/G | F/G | Ab/G G7 | C", "Db", "Ebm7/Ab Gb/Ab A/Ab Ab7 Db"),
    ("C", "F/G | Ab/G | F/G", "Db", "Gb/Ab A/Ab Gb/Ab"),
    ("C", "Abmaj7/G | G7", "Eb", "Bmaj7/Bb Bb7"),
    ("C", "Ab/G | N.C. | G7", "Eb", "B/A# Bb7"),  # not across a silence
    # What stands under a suspended dominant is its root, and written as one.
    ("C", "Fm7/Bb | Cmaj7", "Db", "F#m7/B Dbmaj7"),
    ("C", "Fm7/Bb Bb7 | Cmaj7", "Db", "F#m7/B B7 Dbmaj7"),
    ("C", "Cmaj7 | Db/Eb | Dbmaj7/Eb | Abmaj7", "Db", "Dbmaj7 D/E Dmaj7/E Amaj7"),
    # A third in the bass keeps the letter of its chord, and two names stay two.
    ("C", "Cmaj7 | Ab/C | Cmaj7", "Eb", "Ebmaj7 B/D# Ebmaj7"),
    ("C", "Dbmaj7 | A7/C# | Dm7", "F", "Gbmaj7 D7/F# Gm7"),
    ("C", "Abmaj7 | Bbm/G# | G7", "F", "Dbmaj7 Ebm/C# C7"),
]  # fmt: skip
ROOTS = [
    # Sharp roots that nobody writes, with the ii and V that lead there.
    ("C", "Cmaj7 | B7 | Emaj7 | G7", "B", "Bmaj7 Bb7 Ebmaj7 F#7"),
    ("C", "Fmaj7 | F#m7 B7 | Emaj7 | Dm7 G7", "B", "Emaj7 Fm7 Bb7 Ebmaj7 C#m7 F#7"),
    ("C", "Cmaj7 | Bm7 E7 | Amaj7", "B", "Bmaj7 Bbm7 Eb7 Abmaj7"),
    ("C", "Cmaj7 | C#m7 F#7 | Bmaj7", "E", "Emaj7 Fm7 Bb7 Ebmaj7"),
    ("C", "E7 | A6 | Dm7 | G7", "B", "Eb7 Ab6 C#m7 F#7"),
    ("C", "Emaj7 | Dm7 | G7", "E", "Abmaj7 F#m7 B7"),
    ("C", "Bm7 E7 | Am7 D7", "B", "A#m7 D#7 G#m7 C#7"),
    ("C", "B7 | Em7 | A7 | D7", "B", "A#7 D#m7 G#7 C#7"),
    ("C", "E7 | Am | G7", "B", "D#7 G#m F#7"),
    # A substitute a semitone above its goal has the letter above.
    ("C", "B7 | Bbmaj7", "B", "Bb7 Amaj7"),
    ("C", "E7 | Ebmaj7", "B", "Eb7 Dmaj7"),
    # A diminished chord is spelled by where it goes.
    ("C", "Ebdim7 Em7", "Bb", "C#dim7 Dm7"),
    ("C", "Ebdim7 Em7", "F", "G#dim7 Am7"),
    ("C", "D#dim7 Em7", "Eb", "F#dim7 Gm7"),
    ("C", "Abdim7 Am7", "F", "C#dim7 Dm7"),
    ("C", "Gbdim7 G7", "F", "Bdim7 C7"),
    ("C", "Gbdim7 G7", "D", "G#dim7 A7"),
    ("C", "Bbdim7 Bm7b5", "D", "Cdim7 C#m7b5"),
    ("C", "D#dim7 Dm7", "G", "Bbdim7 Am7"),
    ("C", "D#dim7 Dm7", "D", "Fdim7 Em7"),
    ("C", "Ebdim7 Dm7", "A", "Cdim7 Bm7"),
    ("C", "Dbdim7 Dm7", "Eb", "Edim7 Fm7"),
    ("C", "Dbdim7 Dm7", "G", "G#dim7 Am7"),
    ("C", "Cmaj7 Cdim7 | Cmaj7 C#dim7 | Dm7 G7", "Bb", "Bbmaj7 Bbdim7 Bbmaj7 Bdim7 Cm7 F7"),
    ("C", "C#dim7 | C#dim7 | Dm7 G7", "B", "Cdim7 Cdim7 C#m7 F#7"),
    # So is one that passes to the bass of an inversion; to a root a semitone up before that.
    ("Ab", "Bbm7 Bdim7 | Ab/C F7", "C", "Dm7 D#dim7 C/E A7"),
    ("Ab", "Bbm7 Bdim7 | Ab/C F7", "F", "Gm7 G#dim7 F/A D7"),
    ("Ab", "Bbm7 Bdim7 | Ab/C F7", "Eb", "Fm7 F#dim7 Eb/G C7"),
    ("C", "F6 Abdim7 | C/G", "D", "G6 Bbdim7 D/A"),
    ("C", "Dbdim7 G7/D", "G", "G#dim7 D7/A"),
    ("C", "Dm7 Bdim7 | Cm/Bb", "G", "Am7 F#dim7 Gm/F"),
    # IV7 and iv7 on one letter, before a ii and V as well.
    ("C", "F7 Fm7 | Bb7 C6", "Db", "F#7 F#m7 B7 Db6"),
    ("C", "F7 Fm7 | C6", "Db", "Gb7 Gbm7 Db6"),
    ("C", "F6 Fm6 | C6", "Gb", "B6 Bm6 Gb6"),
    # But the key's own IV at rest keeps its letter, as nobody writes F#maj7 in D flat.
    ("C", "Fmaj7 | Fm7 Bb7 | Cmaj7", "Db", "Gbmaj7 F#m7 B7 Dbmaj7"),
    ("C", "F6 Fm7 | Bb7 C6", "Db", "Gb6 F#m7 B7 Db6"),
    ("C", "Fmaj7 | Fm7 Bb7 | Cmaj7", "Ab", "Dbmaj7 Dbm7 Gb7 Abmaj7"),
    ("F", "Fmaj7 F7 | Bbmaj7 Bbm7 | Fmaj7", "Gb", "Gbmaj7 Gb7 Bmaj7 Bm7 Gbmaj7"),
    ("F", "F F7 | Bb6 Bbm6 | F/C C7", "Gb", "Gb Gb7 B6 Bm6 Gb/Db Db7"),
    ("C", "Ab7 Abm7 | Db7 C6", "Bb", "F#7 F#m7 B7 Bb6"),
    ("C", "Ebmaj7 Ebm7 | Ab7 G7", "Ab", "Bmaj7 Bm7 E7 Eb7"),
]  # fmt: skip
RHYTHM = "Bb6 G7 | Cm7 F7 | Dm7 G7 | Cm7 F7 | Fm7 Bb7 | Ebmaj7 Ebm7 | Dm7 G7 | Cm7 F7"
MINOR_BLUES = "Cm7 | Fm7 | Cm7 | Cm7 | Fm7 | Fm7 | Cm7 | Cm7 | Ab7 | G7 | Cm7 | Cm7 (G7)"
OWN = [
    # The key's own iii, vi, ii and V keep its letters, whatever stands beside them.
    ("Bb", RHYTHM, "Gb", "Gb6 Eb7 Abm7 Db7 Bbm7 Eb7 Abm7 Db7 C#m7 F#7 Bmaj7 Bm7 Bbm7 Eb7 Abm7 Db7"),
    ("A", "Am7 D7 | Gmaj7 Bb7 | Ebmaj7 F#7 | Bm7 E7", "Db",
     "C#m7 F#7 Bmaj7 D7 Gmaj7 Bb7 Ebm7 Ab7"),
    ("A", "Am7 D7 | Gmaj7 Bb7 | Ebmaj7 F#7 | Bm7 E7", "Gb",
     "F#m7 B7 Emaj7 G7 Cmaj7 Eb7 Abm7 Db7"),
    ("C", "C6 A7 | Dm7 G7 | Cm7 F7 | Bbmaj7", "Gb", "Gb6 Eb7 Abm7 Db7 F#m7 B7 Emaj7"),
    ("C", "C6 A7 | Dm7 G7 | Cm7 F7 | Bbmaj7", "Db", "Db6 Bb7 Ebm7 Ab7 C#m7 F#7 Bmaj7"),
    ("C", "Em7 A7 | Dm7 G7 | Cm7 F7 | Bbmaj7", "Gb", "Bbm7 Eb7 Abm7 Db7 F#m7 B7 Emaj7"),
    ("C", "A7 | D7 | G7 | Dm7b5 G7 | F#m7b5 B7 | Em7", "B",
     "G#7 C#7 F#7 C#m7b5 F#7 Fm7b5 Bb7 Ebm7"),
    ("C", "Bm7 E7 | Amaj7 | Am7 Am7/G | Dm7 G7", "B", "Bbm7 Eb7 Abmaj7 G#m7 G#m7/F# C#m7 F#7"),
    ("C", "Cmaj7 | Bm7b5 E7 | Am7", "F#", "F#maj7 Fm7b5 Bb7 Ebm7"),
    ("Cm", "Cm6 | Em7b5 A7 | Dm7b5 G7", "C#m", "C#m6 E#m7b5 A#7 D#m7b5 G#7"),
    # Many of them outweigh a root that isn't written.
    ("C", "Fmaj7 F#m7b5 | B7 | Em7 A7 | Dm7 G7", "B", "Emaj7 E#m7b5 A#7 D#m7 G#7 C#m7 F#7"),
    # A ii of the fourth begins anew, as one on the tonic does.
    ("C", "C6 | Bm7b5 E7 | Am7 D7 | Gm7 C7 | Fmaj7 | Fm7 Bb7 | Em7 A7", "Gb",
     "Gb6 Fm7b5 Bb7 Ebm7 Ab7 C#m7 F#7 Bmaj7 Bm7 E7 Bbm7 Eb7"),
    ("Cm", "Am7b5 D7 | Gm7 C7 | Fm7 | Dm7b5 G7", "G#m", "Fm7b5 Bb7 D#m7 G#7 C#m7 A#m7b5 D#7"),
    # No Gbm7.
    ("C", "C6 | A7 | G7sus4 G7 | Cm7 F7", "Gb", "Gb6 Eb7 Db7sus4 Db7 F#m7 B7"),
    ("C", "Cm7 F7 | Bm7 E7 | Am7 D7 | (G7)", "Gb", "F#m7 B7 Fm7 Bb7 Ebm7 Ab7 Db7"),
    # A suspended dominant and what it resolves to.
    ("C", "Cmaj7 | Bm7 E7 | Am7 D7 | G7sus4 G7", "F#", "F#maj7 E#m7 A#7 D#m7 G#7 C#7sus4 C#7"),
    # The way back spoils no spelling.
    ("C", "Fm7 Bb7 | Cmaj7 (C7)", "Db", "F#m7 B7 Dbmaj7 Db7"),
    ("C", "Fm7 Bb7 | Cmaj7 (C7)", "Gb", "Bm7 E7 Gbmaj7 Gb7"),
    ("Eb", "Abm7 Db7 | Ebmaj7 (Eb7)", "Gb", "Bm7 E7 Gbmaj7 Gb7"),
    ("C", "Fmaj7 Fm7 | Em7 A7 | Dm7 G7 | C6 (C7)", "Gb",
     "Bmaj7 Bm7 Bbm7 Eb7 Abm7 Db7 Gb6 Gb7"),
    ("C", "F#m7b5 B7 | Em7 A7 | Dm7 G7 | Cmaj7 (C#7)", "B",
     "E#m7b5 A#7 D#m7 G#7 C#m7 F#7 Bmaj7 C7"),
    ("C", "F#m7b5 B7 | Em7 A7 | Dm7 G7 | Cmaj7 (C#7)", "E",
     "A#m7b5 D#7 G#m7 C#7 F#m7 B7 Emaj7 F7"),
    ("Cm", "Dm7b5 G7b9 | Cm6 (A7)", "G#m", "A#m7b5 D#7b9 G#m6 F7"),
    # A tonic that is minor all along has one name, though its key was given as major.
    ("C", MINOR_BLUES, "Gb", "F#m7 Bm7 F#m7 F#m7 Bm7 Bm7 F#m7 F#m7 D7 C#7 F#m7 F#m7 C#7"),
    ("C", MINOR_BLUES, "Db", "Dbm7 Gbm7 Dbm7 Dbm7 Gbm7 Gbm7 Dbm7 Dbm7 A7 Ab7 Dbm7 Dbm7 Ab7"),
    ("C", "Cm Cm(maj7) | Cm7 Cm6 | (G7)", "Gb", "F#m F#m(maj7) F#m7 F#m6 C#7"),
    # No C# major seventh, but on the tonic.
    ("C", "Cmaj7 Eb7 | Abmaj7 B7 | Emaj7 G7 | Cmaj7", "A", "Amaj7 C7 Fmaj7 Ab7 Dbmaj7 E7 Amaj7"),
    ("C", "Cmaj7 | Bm7 E7 | Amaj7", "E", "Emaj7 Ebm7 Ab7 Dbmaj7"),
    ("C", "Dm7 G7 | Cmaj7", "C#", "D#m7 G#7 C#maj7"),
]  # fmt: skip
# Written key, chart, line of eighths, key, chart and line there.
LINES = [
    ("C", "Fmaj7 C6", "F4 A4 C5 E5 E5 D5 C5 G4", "Gb",
     "Cbmaj7 Gb6", "Cb5 Eb5 Gb5 Bb5 Bb5 Ab5 Gb5 Db5"),
    ("C", "Bm7b5 E7", "B4 D5 F5 A5 G#5 - - -", "F#", "E#m7b5 A#7", "E#5 G#5 B5 D#6 C##6"),
    ("Cm", "Abmaj7 G7", "Ab4 C5 Eb5 G5 F5 - - -", "Ebm", "Cbmaj7 Bb7", "Cb5 Eb5 Gb5 Bb5 Ab5"),
    ("Cm", "G7/B Cm", "B4 D5 F5 G5 Eb5 - - -", "F#m", "C#7/E# F#m", "E#5 G#5 B5 C#6 A5"),
    ("C", "B7 Emaj7", "D#5 F#5 A5 C5 B4 - - -", "B", "Bb7 Ebmaj7", "D5 F5 Ab5 Cb5 Bb4"),
    # Double accidentals: an altered degree of the key that leads on, or a tone of the chord.
    ("Cm", "G7 Cm", "B4 C5 D5 B4 C5 - - -", "G#m", "D#7 G#m", "F##4 G#4 A#4 F##4 G#4"),
    ("Cm", "Cm", "F4 F#4 G4 Eb4", "G#m", "G#m", "C#4 C##4 D#4 B3"),
    ("Cm", "Cm", "G4 F#4 F4 Eb4", "G#m", "G#m", "D#4 D4 C#4 B3"),
    ("C", "Fm7 Bb7 | Cmaj7 (C7)", "F4 Ab4 C5 Eb5 D5 C5 Bb4 Ab4 G4", "Gb",
     "Bm7 E7 Gbmaj7 Gb7", "B4 D5 F#5 A5 G#5 F#5 E5 D5 Db5"),
    ("C", "Dm7 G7 | Gm7 C7 | Fmaj7 Fm7 | Em7 A7 | Dm7 G7 | C6", "D4 F4 A4 C5", "Gb",
     "Abm7 Db7 C#m7 F#7 Bmaj7 Bm7 Bbm7 Eb7 Abm7 Db7 Gb6", "Ab4 Cb5 Eb5 Gb5"),
    ("C", "C6", "Ab4 G4 E4 C4", "Db", "Db6", "Bbb4 Ab4 F4 Db4"),
    ("C", "C6", "Ab4 C5 E4 C4", "Db", "Db6", "A4 Db5 F4 Db4"),
    ("C", "C7", "Eb4 D4 C4 E4", "Gb", "Gb7", "Bbb4 Ab4 Gb4 Bb4"),
    ("C", "C7", "Eb4 E4 G4 C5", "Gb", "Gb7", "A4 Bb4 Db5 Gb5"),
    ("C", "Cmaj7", "G#4 A4 B4 C5", "B", "Bmaj7", "F##4 G#4 A#4 B4"),
    ("C", "Cmaj7", "G#4 E4 G4 C5", "B", "Bmaj7", "G4 D#4 F#4 B4"),
    ("C", "Cmaj7", "D#4 E4 G4 C5", "B", "Bmaj7", "C##4 D#4 F#4 B4"),
    ("C", "G7 C6", "Ab4 G4 F4 D4 E4 - - -", "Db", "Ab7 Db6", "Bbb4 Ab4 Gb4 Eb4 F4"),
    # Altered fifths and diminished chords: plain names, those of the key where it has them.
    ("C", "G7alt C6", "Eb5 Db5 Bb4 Ab4 G4 - - -", "Gb", "Db7alt Gb6", "A5 G5 Fb5 Ebb5 Db5"),
    ("C", "C#dim7 Dm7", "Bb4 G4 E4 C#4 D4 - - -", "B", "Cdim7 C#m7", "A4 F#4 D#4 C4 C#4"),
    ("C", "C#dim7 Dm7", "Bb4 G4 E4 C#4 D4 - - -", "E", "Fdim7 F#m7", "D5 B4 G#4 F4 F#4"),
    ("C", "Cdim7 C6", "A4 Gb4 Eb4 C4 E4 - - -", "Gb", "Gbdim7 Gb6", "Eb5 C5 A4 Gb4 Bb4"),
    ("Cm", "Bdim7 Cm6", "Ab4 F4 D4 B3 C4 - - -", "G#m", "Gdim7 G#m6", "E4 C#4 A#3 G3 G#3"),
    ("C", "C#dim7 Dm7", "Bb4 G4 E4 C#4 D4 - - -", "F#", "Gdim7 G#m7", "E5 C#5 A#4 G4 G#4"),
]  # fmt: skip

# Written key, chart, line, key, line there: a note is spelled with the chord it's heard with.
HEARD = [
    # A pickup leads to the first chord, whatever turns round to it.
    ("C", "| Cmaj7 | Fm7 Bb7 |", "0.4 E4 1/2, 0.4& G4 1/2, 1.1 C5 1", "Db", "F4 Ab4 Db5"),
    ("C", "| Cmaj7 | Fm7 Bb7 |", "0.4 E4 1/2, 0.4& G4 1/2, 1.1 C5 1", "Gb", "Bb4 Db5 Gb5"),
    ("C", "| Fm7 Bb7 | Cmaj7 |", "0.4 D4 1/2, 0.4& Eb4 1/2, 1.1 F4 1", "Db", "D#4 E4 F#4"),
    # So does an early arrival to its own chord, held into it or struck before it.
    ("C", "| Fm7 | Bb7 | Cmaj7 |", "2.3 F4 1, 2.4& E4 1, 3.2 G4 1", "Db", "F#4 F4 Ab4"),
    ("C", "| Cmaj7 | Fm7 Bb7 |", "1.4& Ab4 1, 2.2 F4 1, 2.4& E4 1/2", "Db", "A4 F#4 F4"),
    # A grace note goes with the note that it leads to.
    ("C", "| Cmaj7 | Fm7 Bb7 |", "1.4& G4 0, 1.4& Ab4 1, 2.2 F4 1", "Db", "G#4 A4 F#4"),
    # From B7, the substitute of F7, its own notes alone move to the degree that it stands for.
    ("Bb", "| Cm7 | B7 | Bbmaj7 |", "2.1 D#4 1, 2.4& D4 1, 3.2 F4 1", "C", "F4 E4 G4"),
]


def shown(moved: Phrase) -> str:
    return " ".join(symbol_text(chord) for chord in moved.chart.sounding())


@every_row(("home", "chart", "key", "expected"), SLASH + ROOTS + OWN)
def test_a_chart_reads_as_a_copyist_writes_it(
    home: str, chart: str, key: str, expected: str
) -> None:
    """Roots, basses, pairs and diminished chords in another key."""
    assert shown(phrase_to(phrase(chart, key=home), parse_key(key))) == expected


@every_row(("home", "chart", "notes", "key", "expected", "line_there"), LINES)
def test_a_line_reads_as_a_copyist_writes_it(
    home: str, chart: str, notes: str, key: str, expected: str, line_there: str
) -> None:
    """The notes follow their root, don't flip, and take a double sign only where it reads best."""
    base = phrase(chart, key=home)
    moved = phrase_to(Phrase("invented", base.key, 120, base.chart, line(notes)), parse_key(key))
    assert shown(moved) == expected
    assert " ".join(note.pitch.text() for note in moved.line) == line_there


@pytest.mark.parametrize(("home", "chart", "notes", "key", "expected"), HEARD)
def test_a_note_is_spelled_with_the_chord_that_it_is_heard_with(
    home: str, chart: str, notes: str, key: str, expected: str
) -> None:
    """Pickups and early arrivals: F Ab before Db, not E# G# as over the B7 that turns round."""
    moved = phrase_to(phrase(chart, notes, key=home), parse_key(key))
    assert " ".join(note.pitch.text() for note in moved.line) == expected


CHARTS = (
    "Cmaj7 B7 | Emaj7 | Bm7 E7 | Amaj7 | Dm7 G7",
    "C6 Ebdim7 | Dm7 G7/B | F7 Fm7 | Bb7 | Em7 A7/C#",
    "Abmaj7 | Bbm7 Eb7 | Cm7 F7 | F#m7b5 B7 | Em7b5 A7 | Dm7",
    "C/Bb Am/G# | Fmaj7 Bb7 | Db7 C6 | Gbmaj7 G7",
)


@pytest.mark.parametrize("gb", ["Gb", "F#"])
@pytest.mark.parametrize("chart", CHARTS)
def test_in_every_key_roots_are_written_and_pairs_alike(chart: str, gb: str) -> None:
    """No Cb, E# or the like without a line, no D#maj7; a ii and V on neighbouring letters."""
    home = phrase(chart)
    for key in twelve("major", Spelling(gb=gb)):  # type: ignore[arg-type] # one of the two
        if key == home.key:
            continue
        chords = phrase_to(home, key).chart.sounding()
        for before, chord in zip(home.chart.sounding(), chords, strict=True):
            assert is_written(chord.root)
            assert not (chord.root.alter > 0 and chord.root.letter in "DGA"
                        and before.kind == "major-seventh")  # fmt: skip


@pytest.mark.parametrize(
    "chart",
    [
        "C F/C | Bb/C F/C | Fm/C C",
        "Dm7/G F/G | Ab/G G7 | C",
        "Cm Abm/Eb | Db/C Cm",
        "E7/B Bm7 | Bm7/E E7",
    ],
)
@pytest.mark.parametrize("gb", ["Gb", "F#"])
def test_in_every_key_a_pedal_keeps_its_name(chart: str, gb: str) -> None:
    """Whatever the letters of the chords above it."""
    home = phrase(chart)
    for key in twelve("major", Spelling(gb=gb)):  # type: ignore[arg-type] # one of the two
        bottoms = [each.bass or each.root for each in phrase_to(home, key).chart.sounding()]
        for one, two in pairwise(bottoms):
            assert one == two or one.pitch_class != two.pitch_class, key.text()
