"""How a line lies in its chart: places, subdivision, pulse, and the chord a note is heard with."""

from __future__ import annotations

from fractions import Fraction

import pytest

from drillbox.music.analysis.line_in_chart import Line, line_over, strong_distance, subdivision
from drillbox.music.charts import Meter
from tests.rows import every_row

from .worked import phrase


def laid(chart: str, line: str) -> Line:
    read = phrase(chart, line)
    return line_over(read.line, read.chart)


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("1.1 C4 1, 1.2 D4 1, 1.3 E4 2", "1"),
        ("1.1 C4 1/2, 1.1& D4 1/2, 1.2 E4 1, 1.3 F4 2", "1/2"),
        # One sixteenth pair among nine notes isn't common.
        ("1.1 C4 1/2, 1.1& D4 1/2, 1.2 E4 1/2, 1.2& F4 1/2, 1.3 G4 1/4, 1.3e A4 1/4,"
         "1.3& G4 1/2, 1.4 F4 1/2, 1.4& E4 1/2", "1/2"),
        # A staccato note counts for its own length, grace notes for nothing.
        ("1.1 C4 1/4, 1.2 D4 1/4, 1.3 E4 1", "1/4"),
        ("1.1 C4 0, 1.1 D4 1, 1.2 C4 0, 1.2 D4 1", "1"),
        ("", "1"),
    ],
)  # fmt: skip
def test_the_subdivision_is_the_smallest_common_note_value(line: str, expected: str) -> None:
    """The shortest value that at least a quarter of the notes have."""
    read = phrase("| C6 |", line)
    assert subdivision(read.line, read.chart.meter) == Fraction(expected)


def test_without_a_common_value_the_shortest_of_the_commonest_counts() -> None:
    """Five different values: each once, so the shortest."""
    read = phrase("| C6 | C6 |", "1.1 C4 1/4, 1.1e D4 1/2, 1.1a E4 3/4, 1.2& F4 1, 1.3& G4 2")
    assert subdivision(read.line, read.chart.meter) == Fraction(1, 4)


@pytest.mark.parametrize(
    ("meter", "smallest", "expected"),
    [
        (Meter(4, 4), "1", "1"),
        (Meter(4, 4), "1/2", "1"),
        (Meter(4, 4), "1/3", "1"),
        (Meter(4, 4), "1/4", "1/2"),
        (Meter(3, 4), "1/4", "1/2"),
        (Meter(6, 8), "1/2", "3/2"),
        (Meter(12, 8), "1/2", "3/2"),
        (Meter(2, 2), "1/2", "1"),
    ],
)
def test_the_pulse_is_the_beat_or_in_double_time_half_of_it(
    meter: Meter, smallest: str, expected: str
) -> None:
    """Sixteenths in 4/4 have their strong places on eighths; 6/8 on dotted quarters."""
    assert strong_distance(meter, Fraction(smallest)) == Fraction(expected)


@every_row(
    ("line", "span", "why"),
    [
        ("1.4& F4 1/2, 2.1 D4 1", 0, "the change itself is struck"),
        ("1.4& B4 1", 1, "held across, a chord tone of G7"),
        ("1.4& F4 1", 1, "held across, a chord tone of both: the one that sounds on"),
        ("1.4& A4 1", 0, "held across, a chord tone of Dm7 only"),
        ("1.4& E4 1", 0, "in neither chord, and no longer after the change than before"),
        ("1.4& E4 3/2", 1, "in neither chord, longer after the change"),
        ("1.4& B4 1/2", 1, "up to the change, in G7 only"),
        ("1.4& F4 1/2", 0, "up to the change, but in Dm7 too"),
        ("1.4& E4 1/2", 0, "up to the change, in neither"),
        ("1.4 B4 1/4", 1, "short of the change, silence on it, in G7 only"),
        ("1.4 B4 1/2, 1.4& A4 1/2", 0, "another note lies between it and the change"),
        ("1.3& B4 2", 0, "more than a beat before the change"),
        ("1.4& B4 0, 1.4& C5 1/2", 0, "a grace note belongs where it is"),
    ],
)
def test_an_early_arrival_is_heard_with_the_coming_chord(line: str, span: int, why: str) -> None:
    """The last note before a change, by where it ends and what it fits."""
    assert laid("| Dm7 | G7 |", line).heard[0] == span, why


def test_a_chord_tone_on_its_own_change_stays_with_its_chord() -> None:
    """E struck with C6 on beat 3 and held over A7 on beat 4 is the third of C6."""
    line = laid("| G7 / C6 A7 | Dm7 |", "1.3 E4 2")
    assert line.heard == (1,)


def test_a_chord_tone_a_whole_beat_before_a_change_stays_with_its_chord() -> None:
    """G struck on beat 2 of Cmaj7 and held over A7 is the fifth of Cmaj7; Bb isn't of it."""
    chart = "| Dm7 G7 | Cmaj7 (A7) |"
    assert laid(chart, "2.1 G#4 1, 2.2 G4 2").heard == (2, 2)
    assert laid(chart, "2.1 G#4 1, 2.2 C#5 2").heard == (2, 3)
    assert laid(chart, "2.1 G#4 1, 2.2& G4 1").heard == (2, 3)


def test_the_chart_loops_under_the_line() -> None:
    """A pickup is heard with the first chord, and so is an early arrival at the end."""
    line = laid("| Dm7 | G7 |", "0.4 B4 1/2, 0.4& G4 1/2, 1.1 F4 1")
    assert line.heard == (0, 0, 0)
    assert line.pickup == {0, 1}
    assert [line.offset(i) for i in range(3)] == [-1, Fraction(-1, 2), 0]
    tied = laid("| Dm7 | G7 |", "1.2 F4 1, 2.4& A4 1")
    assert tied.heard == (0, 0)
    assert tied.offset(1) == Fraction(-1, 2)


def test_a_held_chord_has_no_change_to_be_early_for() -> None:
    """C over a bar line between two bars of the same chord is heard where it begins."""
    assert laid("| Dm7 | Dm7 |", "1.4& F4 1").heard == (0,)
    assert laid("| F#7 | Gb7 |", "1.4& F#4 1").heard == (0,)


def test_a_note_leads_to_the_next_unless_there_is_a_beat_of_silence() -> None:
    """Half a beat of rest joins, a whole one parts; the last note leads into the next pass."""
    line = laid("| Dm7 | G7 |", "1.1 F4 1/2, 1.2 D4 1/2, 1.3& F4 1/2, 2.4 D4 1")
    assert [line.next(i) for i in range(4)] == [1, None, None, 0]


def test_a_grace_note_leads_to_its_note_and_no_note_leads_to_it() -> None:
    """D# stands before E; the F before both leads to the E."""
    line = laid("| C6 |", "1.1 F4 1, 1.2 D#4 0, 1.2 E4 1")
    assert (line.next(0), line.next(1)) == (2, 2)


def test_a_single_note_leads_nowhere() -> None:
    """A note isn't its own neighbour, even where it lasts all the way round."""
    assert laid("| C6 |", "1.1 E4 4").next(0) is None
