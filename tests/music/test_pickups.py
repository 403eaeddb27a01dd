"""What a pickup is heard with: the chord that it leads to (common practice); cases of our own."""

from __future__ import annotations

from drillbox.music.analysis.whole import analyse
from tests.rows import every_row

from .worked import phrase

# Chart, line, the degrees of the pickup's notes against the first chord.
CASES = [
    ("C", "| Dm7 | G7 | Cmaj7 | (A7) |", "0.4 E4 1/2, 0.4& G4 1/2, 1.1 F4 1", "9 11"),
    ("C", "| Cmaj7 | Dm7 G7 |", "0.4& B3 1/2, 1.1 C4 1", "7"),
    ("C", "| Cmaj7 | Dm7 G7 |", "0.3 G3 1, 0.4 A3 1/2, 0.4& B3 1/2, 1.1 C4 1", "5 13 7"),
    ("C", "| Fm7 | Bb7 | C6 | C6 |", "0.4 G4 1/2, 0.4& Bb4 1/2, 1.1 Ab4 1", "9 11"),
    ("C", "| Em7b5 | A7b9 | Dm7 | G7 |", "0.4& F4 1/2, 1.1 G4 1", "b9"),
    ("C", "| A7 | Dm7 | G7 | C6 |", "0.4 Bb3 1/2, 0.4& B3 1/2, 1.1 C#4 1", "b9 9"),
    ("Cm", "| Cm6 | Dm7b5 G7 |", "0.4 D4 1/2, 0.4& B3 1/2, 1.1 C4 1", "9 7"),
    ("Cm", "| Cm7 | F7 |", "0.2 G3 1, 0.3 Bb3 1, 0.4 D4 1, 1.1 Eb4 1", "5 b7 9"),
    ("F", "| Gm7 C7 | Fmaj7 |", "0.4 C4 1/2, 0.4& A4 1/2, 1.1 Bb4 1", "11 9"),
    ("F", "| F7 | Bb7 | F7 | C7 |", "0.4& Ab4 1/2, 1.1 A4 1", "#9"),
    ("Bb", "| Bbmaj7 | G7 | Cm7 | F7 |", "0.4 A3 1/2, 0.4& C4 1/2, 1.1 Bb3 1", "7 9"),
    ("Eb", "| Abmaj7 | Db7 | Ebmaj7 | Ebmaj7 |", "0.4& D5 1/2, 1.1 C5 1", "#11"),
    ("G", "| Am7 | D7 | Gmaj7 | E7 |", "0.4 G4 1/2, 0.4& B4 1/2, 1.1 C5 1", "b7 9"),
    ("D", "| Em7 A7 | Dmaj7 |", "0.4& F#4 1/2, 1.1 G4 1", "9"),
    ("A", "| Amaj7 | Amaj7 |", "0.4 G#4 1/2, 0.4& B4 1/2, 1.1 A4 1", "7 9"),
    ("C", "| G7 | C6 |", "0.4& A4 1, 1.1& B4 1/2", "9"),
]


@every_row(("key", "chart", "line", "expected"), CASES)
def test_a_pickup_is_heard_with_the_coming_chord(
    key: str, chart: str, line: str, expected: str
) -> None:
    """Each note before the first bar has its degree against the first chord, and isn't aimed at."""
    read = phrase(chart, line, key=key)
    found = [
        note
        for note, struck in zip(analyse(read).notes, read.line, strict=True)
        if struck.onset < 0
    ]
    assert " ".join(note.degree or "-" for note in found) == expected
    assert {note.span for note in found} == {0}
    assert not any("target" in note.roles for note in found)
