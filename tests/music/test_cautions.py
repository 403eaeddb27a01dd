"""What a player is warned of: missing guide tones, an open loop, speed, range."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from drillbox.music.analysis.cautions import (
    Caution,
    CautionKind,
    leads_into_next_pass,
    notes_a_second,
)
from drillbox.music.analysis.line_in_chart import line_over
from drillbox.music.analysis.whole import analyse
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import parse_pitch

from .worked import phrase


def warned(read: Phrase, kind: CautionKind) -> list[Caution]:
    return [caution for caution in analyse(read).cautions if caution.kind is kind]


def test_a_chord_aimed_at_without_a_guide_tone_is_named_by_place() -> None:
    """Over G7 the line aims at its root: bar 1, beat 3, and no other chord."""
    read = phrase("| Dm7 G7 | Cmaj7 |", "1.1 F4 1, 1.2 A4 1, 1.3 G4 1, 2.1 E4 1")
    assert warned(read, CautionKind.NO_GUIDE_TONE) == [
        Caution(
            CautionKind.NO_GUIDE_TONE,
            "Bar 1, beat 3: no 3rd or 7th among the chord's targets.",
            1,
        )
    ]


@pytest.mark.parametrize(
    ("chart", "line", "why"),
    [
        ("| Dm7 | Dm7 |", "1.1 D4 2, 2.1 F4 2", "held: the second bar's target counts for both"),
        ("| Dm7 | G7 |", "1.1 F4 2", "nothing is played over G7"),
        ("| Dm7 | G7 |", "0.4 D4 1, 1.1 F4 2", "only the pickup lies over G7"),
        ("| C5 | Dm7 |", "1.1 C4 1, 2.1 F4 1", "C5 has none"),
        ("| NC | Dm7 |", "1.1 C4 1, 2.1 F4 1", "no chord"),
        ("| Dm7 | G7 |", "1.1 D4 1, 1.2 F4! 1, 2.1 G4 1, 2.2 B4! 1", "marked on beat 2"),
        ("| Dm7 | G7 |", "1.1 F4! 2, 2.1 F4 1", "unmarked over G7, where it begins on the b7"),
        ("| G7 |", "1.1& B4 1/2, 1.2 D5 1", "unmarked, the 3 off the pulse but near the change"),
    ],
)
def test_chords_that_are_aimed_at_or_not_played_are_not_blamed(
    chart: str, line: str, why: str
) -> None:
    """No warning."""
    assert warned(phrase(chart, line), CautionKind.NO_GUIDE_TONE) == [], why


def test_a_guide_tone_that_comes_late_or_beside_the_players_marks_does_not_count() -> None:
    """Two beats after the change, or near it where the player marked another note."""
    for line in ("1.1 D4 1, 1.2 G4 1, 1.3& B4 1/2", "1.1 G4! 1, 1.2 B4 1"):
        assert len(warned(phrase("| G7 |", line), CautionKind.NO_GUIDE_TONE)) == 1, line


@pytest.mark.parametrize(
    ("line", "closed", "why"),
    [
        ("1.1 E4 1, 2.3 D4 1", True, "D to E is a step"),
        ("1.1 E4 1, 2.3 E4 1", True, "it repeats"),
        ("1.1 E4 1, 2.3 B3 1", True, "chord tone of G7 to chord tone of C"),
        ("1.1 E4 1, 2.3 C#5 1", False, "no chord tone of G7, a sixth away"),
        ("1.1 A4 1, 2.3 D4 1", False, "from a chord tone to none"),
        ("1.1 E4 1, 2.3 D4 0", True, "a grace note at the end isn't the end"),
    ],
)
def test_a_line_closes_by_step_or_from_chord_tone_to_chord_tone(
    line: str, closed: bool, why: str
) -> None:
    """From the last note over G7 to the first over Cmaj7."""
    read = phrase("| Cmaj7 | G7 |", line)
    assert leads_into_next_pass(line_over(read.line, read.chart)) is closed, why
    assert bool(warned(read, CautionKind.OPEN_LOOP)) is not closed


def test_a_line_of_nothing_but_grace_notes_has_nothing_to_close() -> None:
    """It is analysed, and not blamed for its loop or its speed."""
    read = phrase("| Cmaj7 |", "1.1 D#4 0, 1.1 F4 0")
    assert [caution.kind for caution in analyse(read).cautions] == [CautionKind.NO_GUIDE_TONE]


def steps(count: int, value: Fraction, tempo: int) -> Phrase:
    """Notes of one value over two bars of Cmaj7."""
    struck = tuple(
        LineNote(index * value, value, parse_pitch("EFGA"[index % 4] + "4"))
        for index in range(count)
    )
    return replace(phrase("| Cmaj7 | Cmaj7 |", tempo=tempo), line=struck)


def test_sixteenths_at_120_are_eight_a_second() -> None:
    """Arithmetic: subdivision times tempo over 60; eighths at 200 are 6 2/3."""
    sixteenths, eighths = steps(8, Fraction(1, 4), 120), steps(8, Fraction(1, 2), 200)
    assert notes_a_second(sixteenths.line, 120) == 8
    assert notes_a_second(eighths.line, 200) == Fraction(20, 3)


def test_ten_notes_a_second_are_let_pass_and_more_are_warned_of() -> None:
    """Sixteenths at 150 are the limit (Repp 2003); at 151 the warning says how many they are."""
    assert warned(steps(8, Fraction(1, 4), 150), CautionKind.TOO_FAST) == []
    (caution,) = warned(steps(8, Fraction(1, 4), 160), CautionKind.TOO_FAST)
    assert caution.text == (
        "At 160 the line has 10.7 notes a second: above 10 a second, time is hard to hear."
    )
    assert warned(steps(8, Fraction(1, 4), 151), CautionKind.TOO_FAST)


def line_of(*lengths: str) -> tuple[LineNote, ...]:
    """Notes of these lengths in quarters, one after the other."""
    found: list[LineNote] = []
    at = Fraction(0)
    for text in lengths:
        found.append(LineNote(at, Fraction(text), parse_pitch("E4")))
        at += Fraction(text)
    return tuple(found)


def test_one_short_note_is_no_fast_run() -> None:
    """Speed is counted over four notes in a row: here 3 steps in 5/4 quarters, 6.4 a second."""
    dotted = line_of("3/4", "1/4", *["1/2"] * 6, "4")
    assert notes_a_second(dotted, 160) == Fraction(32, 5)
    pairs = replace(phrase("| Cmaj7 | Cmaj7 |", tempo=160), line=line_of(*["3/4", "1/4"] * 8))
    assert warned(pairs, CautionKind.TOO_FAST) == []


def test_a_beat_of_sixteenths_is_a_run() -> None:
    """Wherever it stands in a slow line; a triplet in an eighth with the note it leads to, too."""
    burst = line_of("2", *["1/4"] * 4, "1", "2")
    assert notes_a_second(burst, 160) == Fraction(32, 3)
    turn = line_of("1", *["1/6"] * 3, "1/2", "2")
    assert notes_a_second(turn, 120) == 12


def test_a_line_of_two_or_three_notes_is_counted_over_a_quarter_at_least() -> None:
    """Two steps in half a quarter are two a quarter."""
    assert notes_a_second(line_of("1/4", "1/4", "3"), 180) == 6
    assert notes_a_second(line_of("3/4", "1/4"), 160) == Fraction(8, 3)
    assert notes_a_second(line_of("1", "1", "2"), 60) == 1


def test_speed_is_the_time_to_the_next_note_and_grace_notes_have_none() -> None:
    """A short note before a rest isn't fast; a grace note isn't one of a pair; one note is none."""
    read = phrase("| Cmaj7 |", "1.1 E4 1/16, 1.2 F4 0, 1.2 E4 1")
    assert notes_a_second(read.line, 60) == 1
    assert notes_a_second(read.line[:1], 60) == 0
