"""What is in a phrase as a screen: tables, the line in rows that fit, and the same in words."""

from __future__ import annotations

from fractions import Fraction

import pytest
from rich.cells import cell_len
from rich.console import Console

from drillbox.music.analysis.whole import analyse
from drillbox.music.keys import parse_key
from drillbox.music.phrases import Phrase
from drillbox.practice.library import AnalysisView
from drillbox.screen.look import Look
from drillbox.screen.phrase_analysis import analysis_screen, arrival_text
from tests.music.shorthand import chart, line
from tests.music.worked import phrase

# Dm7 from its 3 up; C and Bb round the B of G7 from both sides; E, tied over the bar line, comes
# early for Cmaj7.
SHED = phrase(
    "| Dm7 G7 | Cmaj7 |",
    "1.1 F4 1/2, 1.1& A4 1/2, 1.2 C5 1/2, 1.2& Bb4 1/2, 1.3 B4 1/2, 1.3& D5 1/2, 1.4 F5 1/2, "
    "1.4& E5 1, 2.2 G4 1",
)


def drawn(read: Phrase, look: Look, *, notes: bool = False) -> list[str]:
    """Return the screen's lines as a terminal of that width would show them."""
    view = AnalysisView(read, analyse(read), (), "concert")
    console = Console(width=look.width, color_system=None, highlight=False)
    with console.capture() as captured:
        for each in analysis_screen(view, look, notes=notes):
            console.print(each, soft_wrap=look.plain)
    return [text.rstrip() for text in captured.get().splitlines()]


def test_a_line_stands_in_names_over_degrees_with_its_signs():
    """> a target, [ ] what encloses, ~ early; the legend names only what occurs."""
    lines = drawn(SHED, Look(width=80, ascii=True))
    at = lines.index(" 1  Dm7   F   A C   Bb   G7 B  D F  E")
    assert lines[at + 1] == "          >b3 5 [b7 b13]    >3 5 b7 >3~"
    assert lines[at + 2 : at + 5] == [
        " 2  Cmaj7 G",
        "          5",
        "> target   [ ] enclosure   ~ early: heard with the next chord",
    ]
    assert "  bar 1, beat 2: chromatic enclosure of 2 notes around the 3rd of G7" in lines


def test_chords_have_targets_with_how_early_they_are():
    """The 3 of Cmaj7 comes an eighth early."""
    lines = drawn(SHED, Look(width=80, ascii=True))
    assert lines[0].split() == ["bar", "beat", "chord", "function", "targets", "scale"]
    assert any("3 (1 eighth early)" in each and "Cmaj7" in each for each in lines)


@pytest.mark.parametrize("width", [24, 40, 63, 64, 80, 120])
@pytest.mark.parametrize("notes", [False, True])
def test_no_line_is_wider_than_the_terminal_and_no_word_is_cut(width: int, notes: bool):
    """However narrow, every scale and role is there in full."""
    lines = drawn(SHED, Look(width=width, ascii=True), notes=notes)
    assert max(map(cell_len, lines)) <= width
    text = " ".join(" ".join(lines).split())
    assert "…" not in text
    for word in ("Mixolydian", "Dorian", "Ionian", *(["guide", "enclosure"] if notes else [])):
        assert word in text


def test_a_long_bar_goes_on_in_further_rows():
    """Sixteen sixteenths at 40 columns: all of them, in order."""
    names = "F4 A4 C5 E5 D5 C5 A4 F4 F4 A4 C5 E5 D5 C5 A4 F4"
    dense = Phrase("Dense", parse_key("C"), 60, chart("Dm7"), line(names, length=Fraction(1, 4)))
    lines = drawn(dense, Look(width=40, ascii=True))
    at = next(n for n, each in enumerate(lines) if each.startswith(" 1  Dm7"))
    end = lines.index("> target")
    told = " ".join(" ".join(lines[at:end:2]).split())
    assert end - at > 2
    assert told == "1 Dm7 " + names.replace("4", "").replace("5", "")


def test_what_a_line_implies_stands_below_it():
    """B D F Ab over Cmaj7 are a G7b9 that resolves to its 5; A C# E over G7 an A triad."""
    read = phrase(
        "| Cmaj7 | G7 |",
        "1.1 B4 1/2, 1.1& D5 1/2, 1.2 F5 1/2, 1.2& Ab5 1/2, 1.3 G5 1,"
        " 2.1 A4 1/2, 2.1& C#5 1/2, 2.2 E5 1/2, 2.2& D5 1/2",
    )
    said = [
        "  bar 1, beat 1: G7b9 (V7b9) implied over Cmaj7, resolving to the 5th of Cmaj7",
        "  bar 2, beat 1: A (upper-structure triad on the 9) implied over G7",
    ]
    lines = drawn(read, Look(width=80, ascii=True))
    assert [each for each in lines if "implied" in each] == said


def test_plain_says_the_line_in_words():
    """For a screen reader: what is over which chord, targets and early notes named."""
    lines = drawn(SHED, Look(width=80, ascii=True, plain=True))
    assert (
        "bar 1: over Dm7 F is b3, a target; A is 5; C is b7; Bb is b13; over G7 B is 3, a target;"
        " D is 5; F is b7; E is 3 of Cmaj7, a target, early" in lines
    )


def test_a_pickup_stands_before_bar_1_with_its_chord():
    """It leads to the first chord: over Cmaj7."""
    read = phrase("| Cmaj7 | G7 |", "0.4 B4 1/2, 0.4& D5 1/2, 1.1 E5 1")
    lines = drawn(read, Look(width=80, ascii=True))
    assert " <  Cmaj7 B D" in lines
    assert "pickup: over Cmaj7 B is 7" in "\n".join(drawn(read, Look(ascii=True, plain=True)))


def test_a_held_chord_is_one_row_with_the_targets_of_all_its_bars():
    """Dm7 over two bars: one row, both targets."""
    read = phrase("| Dm7 | Dm7 | G7 |", "1.1 F4 1, 2.1 C5 1, 3.1 B4 1")
    rows = [each for each in drawn(read, Look(width=80, ascii=True, plain=True)) if "scale" in each]
    assert len(rows) == 2
    assert "chord Dm7, function ii, targets b3, b7, scale Dorian" in rows[0]


@pytest.mark.parametrize(
    ("arrival", "subdivision", "text"),
    [
        (Fraction(-1), Fraction(1, 2), "1 eighth early"),
        (Fraction(2), Fraction(1, 2), "2 eighths late"),
        (Fraction(4), Fraction(1, 4), "4 sixteenths late"),
        (Fraction(-2), Fraction(1, 3), "2 triplet eighths early"),
        (Fraction(1, 2), Fraction(1), "1 eighth late"),
        (Fraction(3, 2), Fraction(1, 3), "1 eighth late"),
        (Fraction(5, 3), Fraction(1, 5), "1 triplet eighth late"),
        (Fraction(3), Fraction(2, 5), "6/5 of a quarter late"),
    ],
)
def test_early_and_late_are_counted_in_note_values(arrival, subdivision, text: str):
    """As players say it: in the line's subdivision where that is plain, else the simplest."""
    assert arrival_text(arrival, subdivision) == text
