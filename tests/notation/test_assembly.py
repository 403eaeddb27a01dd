"""From measures to a phrase: pickups, split bars, repeats, held chords."""

from __future__ import annotations

import pytest

from tests.notation.pages import chords, doubts, notes, phrase, problems, tune


def test_pickup_notes_lie_before_beat_0_and_the_last_bar_is_filled() -> None:
    """A pickup of one beat and a last bar of three give full bars and a negative onset."""
    read = tune('G2|"C"C8|"F7"D6|]')
    assert (problems(read), doubts(read)) == ([], [])
    assert read.phrase is not None
    assert chords(read.phrase.chart) == "C:4 | F7:4"
    assert notes(read.phrase.line) == "-1 G4 1, 0 C4 4, 4 D4 3"


def test_a_pickup_before_a_full_last_bar_is_a_pickup_too() -> None:
    """The line may loop with its pickup over the last beat."""
    read = phrase('{f}G|"C"C8|D8|]')
    assert notes(read.line) == "-1/2 F5 0, -1/2 G4 1/2, 0 C4 4, 4 D4 4"
    assert len(read.chart.bars) == 2


def test_a_tie_leads_from_the_pickup_into_the_first_bar() -> None:
    """The note begins before the bar."""
    assert notes(phrase('G2-|"C"G4C4|').line) == "-1 G4 3, 2 C4 2"


def test_a_last_bar_short_by_something_else_is_a_problem() -> None:
    """With a pickup of one beat the last bar has four beats or three."""
    assert problems(tune('G2|"C"C8|D5|]')) == [
        "line 7, column 12: bar 2 adds up to 2 1/2 quarter notes; 4/4 takes 4 (3 beside the pickup)"
    ]


@pytest.mark.parametrize(
    ("music", "chart", "doubt"),
    [
        ('"G7"G2|"C"C8|D6|', "C:4 | C:3 G7:1", "stands at the end of the last bar"),
        ('"(G7)"G2|"C"C8|D6|', "C:4 | C:3 (G7):1", "stands at the end of the last bar"),
        ('"G7"G2|"C"C8|D8|', "C:4 | C:4", "has no bar in the chart"),
        ('"C"G2|C8|"G7"D6|', "C:4 | G7:3 C:1", "stands at the end of the last bar"),
    ],
)
def test_a_chord_over_the_pickup_is_told(music: str, chart: str, doubt: str) -> None:
    """It goes to the end of a last bar that is filled up, for there it sounds in the loop."""
    read = tune(music)
    assert read.phrase is not None
    assert chords(read.phrase.chart) == chart
    column = music.index('"') + 2
    assert doubts(read) == [f"line 7, column {column}: the chord over the pickup {doubt}"]


@pytest.mark.parametrize(
    ("music", "chart"),
    [
        ('|:"C"C8|"F"F8:|', "C:4 | F:4 | C:4 | F:4"),
        ('|:"C"C8|1"F"F8:|2"G"G8|]', "C:4 | F:4 | C:4 | G:4"),
        ('|:"C"C8|[1"F"F8:|[2"G"G8||"A"A8|]', "C:4 | F:4 | C:4 | G:4 | A:4"),
        ('|:"C"C8::"F"F8:|', "C:4 | C:4 | F:4 | F:4"),
        ('"C"C4||"F"F4|"G"G8|', "C:2 F:2 | G:4"),  # a double bar within a bar
        ('|:"C"C8|D4[1"F"F4:|[2"G"G4|]', "C:4 | C:2 F:2 | C:4 | C:2 G:2"),  # mid-bar endings
        ('G2|"C"C8|"F"F6:|', "C:4 | F:4 | C:4 | F:4"),  # the pickup fits the repeat
        ('G2|"C"C8|"F"F8:|', "C:4 | F:4 | C:4 | F:4"),  # and here it isn't repeated
        ('|:"C"C8|D8:|', "C:4 | C:4 | C:4 | C:4"),  # the chord holds into the repeat
        ('|::"C"C8::|', "C:4 | C:4 | C:4"),
    ],
)
def test_repeats_give_a_chart_as_played(music: str, chart: str) -> None:
    """Every bar is full, written out in play order."""
    read = tune(music)
    assert read.phrase is not None, problems(read)
    assert chords(read.phrase.chart) == chart


def test_notes_repeat_with_their_pickup() -> None:
    """The second time the pickup lies over the end of the first."""
    assert notes(phrase('G2|"C"C8|F6:|').line) == (
        "-1 G4 1, 0 C4 4, 4 F4 3, 7 G4 1, 8 C4 4, 12 F4 3"
    )


def test_two_short_bars_with_a_plain_bar_line_are_both_wrong() -> None:
    """Only repeat and double bar lines may stand within a bar."""
    assert len(problems(tune('"C"C8|C4|C4|C8|'))) == 2


def test_no_chord_sounds_before_the_first_symbol() -> None:
    """The stretch before it is N.C., which is doubted."""
    read = tune('C8|C4"G7"D4|')
    assert read.phrase is not None
    assert chords(read.phrase.chart) == "N.C.:4 | N.C.:2 G7:2"
    assert doubts(read) == [
        "line 7, column 7: no chord symbol stands at the beginning: N.C. until the first one"
    ]


@pytest.mark.parametrize(
    ("music", "chart", "doubted"),
    [
        ('"Dm7"d4 "(G7)"B4|"C"c8|', "Dm7:2 G7:2 | C:4", "G7"),
        ('"(Dm7)"d4 "(G7)"B4|', "Dm7:2 G7:2", "Dm7 G7"),
        ('"(C)"c8|', "C:4", "C"),
        ('"C"c4 "(A7)"A4|"Dm7"d4 "(G7)"B4|', "C:2 A7:2 | Dm7:2 (G7):2", "A7"),
        ('"C"c4 "(A7)"A4|"(D7)"d8|', "C:2 (A7):2 | (D7):4", ""),
        ('|:"C"c4 "(A7)"A4:|', "C:2 A7:2 | C:2 (A7):2", ""),
    ],
)
def test_only_what_ends_the_chart_is_its_turnaround(music: str, chart: str, doubted: str) -> None:
    """Any other chord in parentheses is a plain chord, and that is said; a repeat's is neither."""
    read = tune(music)
    assert read.phrase is not None
    assert chords(read.phrase.chart) == chart
    told = [each.split(" isn't")[0].split(": ")[1] for each in doubts(read)]
    assert told == [f"({each})" for each in doubted.split()]
