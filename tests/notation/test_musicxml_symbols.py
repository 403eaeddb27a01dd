"""MusicXML harmonies have the meaning of the W3C MusicXML 4.0 schema."""

from __future__ import annotations

import pytest

from drillbox.music.chords import KINDS, intervals
from drillbox.music.symbols.parsing import parse_symbol
from tests.notation.pages import chords, problems
from tests.notation.scores import attributes, degree, harmony, note, part, read, read_part, score
from tests.rows import every_row

WHOLE = note("C4", 16)
BASS = "<bass><bass-step>{}</bass-step><bass-alter>{}</bass-alter></bass>"


@every_row(
    ("element", "symbol"),
    [
        (harmony("C"), "C"), (harmony("Eb", "minor"), "Ebm"), (harmony("F#", "dominant"), "F#7"),
        (harmony("B", "half-diminished"), "Bm7b5"), (harmony("Bb", "major-seventh"), "Bbmaj7"),
        (harmony("C", "major-minor"), "Cm(maj7)"), (harmony("G", "suspended-fourth"), "Gsus4"),
        (harmony("A", "dominant-13th"), "A13"), (harmony("D", "augmented-seventh"), "D7#5"),
        (harmony("C", "power"), "C5"), (harmony("C", "none"), "N.C."),
        (harmony("C", "minor-seventh", BASS.format("G", -1)), "Cm7/Gb"),
        # an added seventh is a minor one, whatever it is added to (degree-alter)
        (harmony("G", "suspended-fourth", degree(7, 0, "add")), "G7sus4"),
        (harmony("G", "suspended-fourth", degree(7, 0, "add") + degree(9, 0, "add")), "G9sus4"),
        (harmony("C", "major", degree(7, 0, "add")), "C7"),
        (harmony("C", "major", degree(7, 1, "add")), "Cmaj7"),
        (harmony("C", "minor", degree(7, 1, "add")), "Cm(maj7)"),
        (harmony("C", "dominant", degree(9, -1, "add")), "C7b9"),
        (harmony("C", "dominant", degree(9, 1, "add") + degree(5, 1, "alter")), "C7#5#9"),
        (harmony("C", "dominant-ninth", degree(5, -1, "alter")), "C9b5"),
        (harmony("C", "dominant-13th", degree(11, 0, "subtract")), "C13(no11)"),
        (harmony("C", "major", degree(9, 0, "add")), "Cadd9"),
        (harmony("C", "major", degree(3, 0, "subtract")), "C5"),
        # kind other: its root and what is added, else what its text says
        (harmony("C", "other", degree(4, 0, "add") + degree(5, 0, "add")), "Csus4"),
        (harmony("C", "other", text="7alt"), "C7alt"),
        (harmony("C", "other", BASS.format("E", 0), text="6"), "C6/E"),
        # an inversion puts its tone in the bass, unless a bass is stated
        (harmony("C", "major", "<inversion>0</inversion>"), "C"),
        (harmony("C", "major", "<inversion>1</inversion>"), "C/E"),
        (harmony("Eb", "minor-seventh", "<inversion>2</inversion>"), "Ebm7/Bb"),
        (harmony("G", "dominant", "<inversion>3</inversion>"), "G7/F"),
        (harmony("C", "dominant", "<inversion>2</inversion>" + degree(5, -1, "alter")), "C7b5/Gb"),
        (harmony("C", "major", "<inversion>1</inversion>" + BASS.format("G", 0)), "C/G"),
    ],
)  # fmt: skip
def test_kinds_and_degrees(element: str, symbol: str) -> None:
    """Each element is the chord that the symbol reads as."""
    tune = read_part(element + WHOLE)
    assert tune.phrase is not None, problems(tune)
    assert tune.phrase.chart.bars[0].spans[0].chord == parse_symbol(symbol)


@every_row("kind", sorted(set(KINDS) - {"other", "none"}))
def test_every_kind_of_the_standard_is_read(kind: str) -> None:
    """All kind-values of the schema give a chord with the kind's tones."""
    tune = read_part(harmony("C", kind) + WHOLE)
    assert tune.phrase is not None
    chord = tune.phrase.chart.bars[0].spans[0].chord
    assert chord is not None
    assert intervals(chord) == tuple(sorted(KINDS[kind]))


WORDS = (
    "<direction><direction-type><words>{}</words></direction-type><offset>{}</offset></direction>"
)


@pytest.mark.parametrize(
    ("element", "problem"),
    [
        (harmony("C", "minor-major"), "the chord kind 'minor-major' is not one of MusicXML's"),
        (harmony("C", ""), "the chord kind '' is not one of MusicXML's"),
        (harmony("H"), "a chord's root has no step A to G"),
        (harmony("C", "other"), "a chord of kind 'other' states no tones"),
        (harmony("C", "other", text="blue"), "chord symbol 'Cblue': can't read 'lue'"),
        (harmony("C", "major", degree(9, 0, "paint")), "a chord's degree is not read"),
        (harmony("C", "major", degree(99, 0, "add")), "'99' isn't a whole number up to 15"),
        (harmony("C", "major", degree(9, 0, "add").replace(">9<", ">NaN<")), "'NaN' isn't a whole"),
        ("<harmony><function>V</function><kind>major</kind></harmony>", "a harmony without exa"),
        (harmony("C", "major", BASS.format("X", 0)), "a chord's bass has no step A to G"),
        (harmony("C", more="<offset>-1</offset>"), "a chord symbol's offset leads out of its"),
        (WORDS.format("N.C.", -1), "a chord symbol's offset leads out of its measure"),
    ],
)
def test_what_has_no_one_meaning_is_a_problem_in_its_measure(element: str, problem: str) -> None:
    """Nothing is guessed: measure and part are named, and no phrase comes of it."""
    tune = read_part(harmony("C") + WHOLE, element + WHOLE)
    assert tune.phrase is None
    assert problems(tune)[0].startswith(f"measure 2 of part Alto: {problem}")


SIGNS = harmony("C", "major-seventh", text="7").replace("<kind", '<kind use-symbols="yes"')


@pytest.mark.parametrize(
    ("element", "doubt"),
    [
        (harmony("G", "dominant", text="7(b9)"), "the page shows G7b9, but its kind and degrees say"
         " G7: read so"),
        (harmony("C", "major", text="maj9"), "the page shows Cmaj9, but its kind and degrees say C:"
         " read so"),
        (harmony("C", "minor-seventh", text="m"), "the page shows Cm, but its kind and degrees say"
         " Cm7: read so"),
        (harmony("C", "major", "<inversion>3</inversion>"), "the inversion 3 of C is left out"),
        (harmony("C", "major", "<inversion>x</inversion>"), "the inversion x of C is left out"),
    ],
)  # fmt: skip
def test_a_text_that_is_another_chord_and_a_lost_inversion_are_told(element, doubt: str) -> None:
    """One line for its measure, on the page's own letters; kind and degrees stand."""
    tune = read_part(harmony("C") + WHOLE, element + WHOLE)
    assert tune.phrase is not None, problems(tune)
    assert [each.text for each in tune.doubts] == [f"measure 2 of part Alto: {doubt}"]


@pytest.mark.parametrize(
    "element",
    [
        harmony("G", "dominant", text="7"),
        harmony("C", "minor-seventh", text="-7"),
        harmony("C", "major-seventh", BASS.format("E", 0), text="maj7"),
        # of the kind alone, since the degree has its own text; and of both
        harmony("G", "dominant", degree(9, -1, "add"), text="7"),
        harmony("G", "dominant", degree(9, -1, "add"), text="7b9"),
        harmony("G", "suspended-fourth", degree(7, 0, "add"), text="7sus4"),
        # a sign says major; and what can't be read says nothing
        SIGNS,
        harmony("C", "major", text="blue"),
        harmony("C", "major", text=" "),
        harmony("C", "major", degree(5, -1, "alter"), text="b5"),
    ],
)
def test_a_text_that_agrees_is_passed_over(element: str) -> None:
    """Nothing to check."""
    tune = read_part(element + WHOLE)
    assert tune.phrase is not None, problems(tune)
    assert tune.doubts == ()


def test_symbols_stand_where_offset_and_position_say() -> None:
    """Before a note, after half a bar, and moved by an offset in divisions."""
    bar = harmony("C") + note("C4", 8) + harmony("F", more="<offset>2</offset>") + note("C4", 8)
    tune = read_part(bar, harmony("G", more="<offset>-0.0</offset>") + WHOLE)
    assert tune.phrase is not None, problems(tune)
    assert chords(tune.phrase.chart) == "C:5/2 F:3/2 | G:4"


def test_a_symbol_written_over_both_staves_is_one_symbol() -> None:
    """The same chord twice at one place isn't a contradiction."""
    tune = read_part(harmony("C") + harmony("C", more="<staff>2</staff>") + WHOLE)
    assert tune.phrase is not None, problems(tune)
    assert chords(tune.phrase.chart) == "C:4"


def test_words_mark_the_turnaround_and_no_chord() -> None:
    """'turnaround' at a symbol and 'N.C.' are read from the page's words."""
    words = "<direction><direction-type><words>{}</words></direction-type></direction>"
    tune = read_part(
        harmony("C") + note("C4", 8) + words.format("N.C.") + note("C4", 8),
        harmony("F") + note("C4", 8) + harmony("G", "dominant") + words.format("turnaround")
        + note("C4", 8),
    )  # fmt: skip
    assert tune.phrase is not None, problems(tune)
    assert chords(tune.phrase.chart) == "C:2 N.C.:2 | F:2 (G7):2"


@every_row(
    ("second", "chart"),
    [
        (WORDS.format("N.C.", 8) + note("C4", 16), "F:2 N.C.:2"),
        (note("C4", 8) + WORDS.format("N.C.", -4) + note("C4", 8), "F:1 N.C.:3"),
        (harmony("G", more="<offset>8</offset>") + WORDS.format("turnaround", 8) + note("C4", 16),
         "F:2 (G):2"),
        (note("C4", 8) + WORDS.format("turnaround", -1) + harmony("G") + note("C4", 8),
         "F:2 (G):2"),
        (note("C4", 8) + harmony("G") + WORDS.format("turnaround", -12) + note("C4", 8),
         "F:2 (G):2"),
        (WORDS.format("softly", "near") + note("C4", 16), "F:4"),
    ],
)  # fmt: skip
def test_words_stand_where_their_offset_says(second: str, chart: str) -> None:
    """Farther on or back; the turnaround's, printed farther left, still goes with its chord.
    Of other words it's no matter."""
    tune = read_part(harmony("C") + WHOLE, harmony("F") + second)
    assert tune.phrase is not None, problems(tune)
    assert chords(tune.phrase.chart) == f"C:4 | {chart}"


def test_symbols_of_another_part_serve_a_part_that_has_none() -> None:
    """The chords may be written over the piano only; the player is told."""
    text = score(
        part(WHOLE, WHOLE),
        part(harmony("C") + WHOLE, harmony("F") + WHOLE, id="P2", first=attributes()),
    )
    tune = read(text, part="Alto")
    assert tune.phrase is not None, problems(tune)
    assert chords(tune.phrase.chart) == "C:4 | F:4"
    assert [each.text for each in tune.doubts] == ["the chord symbols are those of part Bass"]
