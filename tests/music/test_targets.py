"""The notes that a line aims at, and how early or late they are."""

from __future__ import annotations

from fractions import Fraction

import pytest

from drillbox.music.analysis.line_in_chart import Line, line_over
from drillbox.music.analysis.targets import arrival_text, arrivals, targets
from tests.rows import every_row

from .worked import phrase


def laid(chart: str, line: str) -> Line:
    read = phrase(chart, line)
    return line_over(read.line, read.chart)


@pytest.mark.parametrize(
    ("line", "target", "why"),
    [
        ("1.1 F4 1/2, 1.1& A4 1/2, 1.2 C5 1/2, 1.2& D5 1/2", 0, "a guide tone on the change"),
        ("1.1 D4 1/2, 1.1& E4 1/2, 1.2 F4 1/2, 1.2& G4 1/2", 2, "a guide tone a beat later"),
        ("1.1 D4 1/2, 1.1& F4 1/2, 1.2 A4 1/2, 1.2& C5 1/2", 1, "a guide tone an eighth late"),
        ("1.1 D4 1/2, 1.1& E4 1/2, 1.2 A4 1/2, 1.2& F4 1/2", 0, "a guide tone off the pulse"),
        ("1.1 A4 1, 1.2 G4 1, 1.3 F4 1", 0, "a guide tone only two beats later"),
        ("1.1 E4 1, 1.2 G4 1, 1.3 F4 1", 2, "no chord tone before that"),
        ("1.1 E4 1, 1.2 A4 1, 1.3 G4 1", 1, "a chord tone on a pulse"),
        ("1.1& D4 1/2, 1.2 E4 1/2, 1.2& F4 1/2", 0, "no chord tone on a pulse: the first one"),
        ("1.1 F4 0, 1.1 E4 1, 1.2 D4 1", 2, "a grace note isn't aimed at"),
    ],
)
def test_the_target_is_the_chord_tone_at_the_change_guide_tones_first(
    line: str, target: int, why: str
) -> None:
    """One target over Dm7, by the ranks of the rule."""
    assert targets(laid("| Dm7 | G7 |", line)) == {target}, why


def test_nothing_is_aimed_at_past_the_middle_of_a_chord() -> None:
    """A D on beat 4 of a bar of Dm7 leads on; on beat 3 it's still aimed at."""
    assert targets(laid("| Dm7 |", "1.4 F4 1")) == frozenset()
    assert targets(laid("| Dm7 |", "1.3 F4 1")) == {0}


def test_notes_that_fit_no_chord_are_no_targets() -> None:
    """E over Dm7 and any note over N.C. aren't aimed at."""
    assert targets(laid("| Dm7 | NC |", "1.1 E4 1, 2.1 F4 1")) == frozenset()


def test_marks_are_the_players_word() -> None:
    """Under a chord with a marked note no other is a target, whatever it is and wherever."""
    assert targets(laid("| Dm7 | G7 |", "1.1 F4 1, 1.2& E4! 1, 2.1 B4! 1")) == {1, 2}


def test_a_chord_without_a_mark_gets_its_target_from_the_rule() -> None:
    """Marked over Dm7 alone, the line still aims at the B on the change to G7."""
    assert targets(laid("| Dm7 | G7 |", "1.1 F4 1, 1.2& E4! 1, 2.1 B4 1")) == {1, 2}


def test_a_mark_counts_for_a_chord_that_is_held_over_a_bar_line() -> None:
    """Marked in the first bar of Dm7, nothing is inferred in the second one of the same chord."""
    assert targets(laid("| Dm7 | Dm7 |", "1.1 A4! 1, 2.1 F4 1")) == {0}


def test_arrivals_are_counted_in_subdivisions_against_the_change() -> None:
    """Eighths: B on the and of 4 is one early for G7, C on beat 2 two late for Dm7."""
    line = laid(
        "| Dm7 | G7 |",
        "1.1 E4 1/2, 1.1& D4 1/2, 1.2 C5 1/2, 1.2& A4 1/2, 1.3 G4 1/2, 1.4& B4 1, 2.2 D5 1",
    )
    assert targets(line) == {2, 5}
    assert arrivals(line, targets(line)) == {2: 2, 5: -1}


def test_in_sixteenths_the_same_beat_is_twice_as_many_subdivisions_late() -> None:
    """A beat after the change is four sixteenths."""
    line = laid("| Dm7 |", "1.1 E4 1/4, 1.1e G4 1/4, 1.1& B4 1/4, 1.1a E4 1/4, 1.2 F4 1/4")
    assert arrivals(line, targets(line)) == {4: 4}


def test_only_the_first_target_of_a_chord_arrives() -> None:
    """A second mark over the same chord, and the target of a bar that only holds it, don't."""
    line = laid("| Dm7 | Dm7 |", "1.1 F4! 1, 1.3 C5! 1, 2.1 A4! 1")
    assert arrivals(line, targets(line)) == {0: 0}


def test_a_note_early_for_the_loop_arrives_early() -> None:
    """F on the last and of 4, tied over the loop's end, is the target of the first bar."""
    line = laid("| Dm7 | G7 |", "1.2 A4 1/2, 1.2& G4 1/2, 2.1 B4 1/2, 2.1& D4 1/2, 2.4& F4 1")
    assert arrivals(line, targets(line)) == {4: -1, 2: 0}


def test_of_two_marked_notes_the_one_heard_first_arrives() -> None:
    """F tied over the loop's end comes before the A on beat 2 of the first bar: it's one early."""
    line = laid("| Dm7 | G7 |", "1.2 A4! 1, 2.1 B4 1/2, 2.1& D4 1/2, 2.2 G4 1/2, 2.4& F4! 1")
    assert arrivals(line, targets(line)) == {4: -1, 1: 0}


@every_row(
    ("arrival", "subdivision", "text"),
    [
        ("-1", "1/2", "1 eighth early"),
        ("2", "1/2", "2 eighths late"),
        ("4", "1/4", "4 sixteenths late"),
        ("1", "3/2", "1 dotted quarter late"),
        ("1/2", "1", "1 eighth late"),
        ("3/2", "1/3", "1 eighth late"),
        ("1", "1/3", "1 triplet eighth late"),
        ("-2", "1/3", "2 triplet eighths early"),
        ("3", "1/3", "1 quarter late"),
        ("4", "1/3", "4 triplet eighths late"),
        ("5/3", "1/5", "1 triplet eighth late"),
        ("5/2", "1/5", "1 eighth late"),
        ("1", "1/6", "1 triplet sixteenth late"),
        ("3", "2/5", "6/5 of a quarter late"),
        ("-1", "1/5", "1/5 of a quarter early"),
    ],
)
def test_early_and_late_are_told_in_the_simplest_unit(
    arrival: str, subdivision: str, text: str
) -> None:
    """An eighth is an eighth in a line of triplets or quintuplets, too."""
    assert arrival_text(Fraction(arrival), Fraction(subdivision)) == text
