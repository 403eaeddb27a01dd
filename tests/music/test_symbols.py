"""Reading chord symbols: every spelling of the trade."""

from __future__ import annotations

from itertools import permutations

import pytest
from hypothesis import example, given, settings

from drillbox.music.chords import Chord, Degree
from drillbox.music.pitch import Name
from drillbox.music.symbols.parsing import parse_symbol
from drillbox.music.symbols.printed import simplest_form, symbol_text
from tests.music.chord_strategies import chords
from tests.rows import every_row

# What is printed after the root, and the spellings that are read to it.
SPELLINGS = {
    "": "|maj|Maj|ma|M|major",
    "maj7": "maj7|Maj7|ma7|M7|MA7|MAJ7|Δ|△|∆|Δ7|△7|major7|(maj7)|maj 7",
    "m": "m|mi|min|-|MI|Min|minor|−|–",
    "m7": "m7|mi7|min7|-7|MI7|Min7|minor7",
    "6": "6|maj6|ma6|M6",
    "69": "69|6/9|6(9)|6add9|6(add9)|maj69|M6/9|6,9",
    "m6": "m6|mi6|min6|-6",
    "m69": "m69|m6/9|mi69|-6/9|m6(9)|min6/9",
    "m(maj7)": "mMaj7|m(maj7)|-Δ|-Δ7|mM7|mmaj7|minmaj7|miMA7|m△7|m(ma7)|-(M7)|m/maj7|min/M7",
    "m(maj9)": "mMaj9|m(maj9)|-Δ9|mM9|m(maj7)(9)",
    "7": "7|dom7|dominant7",
    "9": "9|7(9)|7add9|dom9|7 9",
    "9(add11)": "9add11|9(11)|7(9,11)",
    "13": "13|7/13|7(9,11,13)",
    "7b5": "7b5|7(b5)|7♭5|7-5|7 b5|7 (b5)|dom7b5",
    "7#5": "+7|7#5|7+|aug7|7(#5)|7♯5|7+5|7 #5",
    "7b9": "7b9|7(b9)|7♭9|7-9|7 b9|7,b9",
    "7#9": "7#9|7(#9)|7♯9|7+9|7 (♯9)",
    "7#11": "7#11|7(#11)|7+11|7♯11",
    "7b13": "7b13|7(b13)|7-13|7♭13",
    "7b9b13": "7b9b13|7(b9,b13)|7(b9 b13)|7b9,b13|7 b9 b13|7(b9)(b13)|7(b9/b13)|7b13b9",
    "9#11": "9#11|9(#11)|7(9,#11)|9+11",
    "9#5": "9#5|aug9|9+|9(#5)|9+5",
    "13b9": "13b9|13(b9)|13-9",
    "13#11": "13#11|13(#11)|13 #11",
    "7alt": "7alt|alt|7(alt)|7altered|7(b5,#5,b9,#9)",
    "sus4": "sus|sus4|(sus4)|Sus4|no3add4",
    "sus2": "sus2|(sus2)|SUS2",
    "7sus4": "7sus|7sus4|7(sus4)|7 sus|sus7|sus4(addb7)",
    "9sus4": "9sus4|9sus|11|11sus|7sus(9)|sus9",
    "13sus4": "11(13)|13sus|13sus4|9sus(13)|sus13",
    "7sus4b9": "7susb9|7sus4b9|7b9sus|7(b9)sus4|7sus(b9)|7(sus4,b9)|7sus4 b9",
    "dim": "dim|°|o|º|mb5|m(b5)|-b5|diminished",
    "dim7": "dim7|°7|o7|º7|Dim7",
    "m7b5": "ø|ø7|m7b5|-7b5|mi7(b5)|min7b5|m7(♭5)|m7-5|-7(-5)|Ø7|∅",
    "aug": "aug|+|(#5)|maj#5|augmented",
    "maj7#11": "maj7#11|Δ#11|M7(#11)|ma7+11|△7♯11",
    "maj7#5": "maj7#5|+maj7|augmaj7|+Δ|+M7|Δ7#5|ma7(#5)|+(maj7)",
    "maj9": "maj9|M9|ma9|Δ9|maj7(9)",
    "maj13": "maj13|M13|Δ13|ma13",
    "add9": "add9|(add9)|(add 9)|Add9|majadd9|Madd9",
    "m(add9)": "madd9|m(add9)|miadd9|-add9|min(add 9)",
    "5": "5|no3|(no3)|(omit3)|omit 3|no3rd",
    "7(no3)": "7no3|7(no3)|7(omit3)|7 no 3",
    "dim(maj7)": "dim(maj7)|°Δ|dimmaj7|oM7",
}
CASES = [(form, each) for form, line in SPELLINGS.items() for each in line.split("|")]


@every_row(("printed", "spelling"), CASES)
def test_every_spelling_is_read_to_one_form(printed: str, spelling: str) -> None:
    """A spelling of the trade means the chord that prints as the form listed, over any root."""
    for root in ("C", "Bb", "F#"):
        assert symbol_text(parse_symbol(root + spelling)) == root + printed


ALTERATIONS = ("b5", "#5", "b9", "#9", "#11", "b13")


@pytest.mark.parametrize("number", ["7", "9", "11", "13"])
def test_alterations_combine_in_any_order_and_dress(number: str) -> None:
    """Any of the six alterations on 7, 9, 11, 13 gives one chord, however it is written."""
    stated = {"7": "", "9": "9", "11": "11", "13": "13"}[number]
    for size in (1, 2, 3):
        for some in permutations(ALTERATIONS, size):
            if stated and any(each[1:] == stated for each in some):
                continue
            straight = parse_symbol("C" + number + "".join(sorted(some)))
            assert straight is not None
            for dress in ("{}", "({})"):
                for comma in ("", ",", " ", ", "):
                    typed = "C" + number + dress.format(comma.join(some))
                    assert parse_symbol(typed) == straight, typed


@pytest.mark.parametrize(
    ("typed", "root"),
    [
        ("B♭7", ("B", -1)), ("Bb7", ("B", -1)), ("F♯7", ("F", 1)), ("F#7", ("F", 1)),
        ("B𝄫7", ("B", -2)), ("Bbb7", ("B", -2)), ("B♭♭7", ("B", -2)),
        ("F𝄪7", ("F", 2)), ("Fx7", ("F", 2)), ("F##7", ("F", 2)), ("F♯♯7", ("F", 2)),
    ],
)  # fmt: skip
def test_accidentals_in_unicode_and_ascii(typed: str, root: tuple[str, int]) -> None:
    """Single and double accidentals are read in both dresses."""
    assert parse_symbol(typed) == Chord(Name(*root), "dominant")


@pytest.mark.parametrize(
    ("typed", "kind", "bass"),
    [
        ("Dm7/G", "minor-seventh", "G"), ("C/E", "major", "E"), ("Cmaj7/F#", "major-seventh", "F#"),
        ("Cmaj7/F♯", "major-seventh", "F#"), ("C6/A", "major-sixth", "A"),
        ("C6/9/E", "major-sixth", "E"), ("Cm/maj7/G", "major-minor", "G"),
        ("C7(b9)/E", "dominant", "E"), ("C / Bb", "major", "Bb"),
        ("Cø/Gb", "half-diminished", "Gb"),
    ],
)  # fmt: skip
def test_slash_basses(typed: str, kind: str, bass: str) -> None:
    """The slash of a bass is told from that of 6/9 and m/maj7; the bass may be any note."""
    found = parse_symbol(typed)
    assert found is not None
    assert found.bass is not None
    assert (found.kind, found.bass.text()) == (kind, bass)


def test_a_bass_that_is_the_root_is_no_slash_chord() -> None:
    """C/C is C."""
    assert parse_symbol("C/C") == parse_symbol("C")


@pytest.mark.parametrize("typed", ["NC", "N.C.", "N.C", "n.c.", "(N.C.)", " NC "])
def test_no_chord(typed: str) -> None:
    """Both common signs for no chord give None, not a chord."""
    assert parse_symbol(typed) is None


def test_parentheses_round_the_whole_symbol() -> None:
    """A turnaround in parentheses is read as the chord in them, inner parentheses and all."""
    assert parse_symbol("(G7)") == parse_symbol("G7")
    assert parse_symbol("(G7(b9)/B)") == parse_symbol("G7b9/B")


@pytest.mark.parametrize(
    ("one", "other"),
    [("CM7", "Cm7"), ("CM", "Cm"), ("CM9", "Cm9"), ("CM6", "Cm6"), ("CMA7", "CMI7")],
)
def test_case_matters_for_m_alone(one: str, other: str) -> None:
    """M is major and m is minor; words are read in any case."""
    major, minor = parse_symbol(one), parse_symbol(other)
    assert major is not None
    assert minor is not None
    assert "minor" in minor.kind
    assert "minor" not in major.kind
    assert parse_symbol("CDIM7") == parse_symbol("Cdim7")
    assert parse_symbol("CSUS4") == parse_symbol("Csus4")


def test_accidentals_belong_to_the_letter_before_them() -> None:
    """Ab5 is a power chord on A flat; a flat fifth on A stands in parentheses."""
    assert parse_symbol("Ab5") == Chord(Name("A", -1), "power")
    assert parse_symbol("A(b5)") == Chord(Name("A"), "major", (Degree("alter", 5, -1),))
    assert parse_symbol("C#13") == Chord(Name("C", 1), "dominant-13th")


def test_an_implied_degree_is_changed_and_a_stated_one_is_not() -> None:
    """C13b9 has one ninth, flat; C13(add#9) has the natural one beside the sharp."""
    flat = parse_symbol("C13b9")
    both = parse_symbol("C13(add#9)")
    assert flat == Chord(Name("C"), "dominant-13th", (Degree("alter", 9, -1),))
    assert both == Chord(Name("C"), "dominant-13th", (Degree("add", 9, 1),))


@given(chords)
@settings(max_examples=150)
@example(Chord(Name("B", -2), "power"))
@example(Chord(Name("F", 2), "power", (Degree("add", 9, 1),), Name("C")))
@example(Chord(Name("C"), "other"))
@example(Chord(Name("C"), "none"))
@example(Chord(Name("C"), "pedal", (Degree("subtract", 1),)))
def test_print_then_read_is_the_identity(chord: Chord) -> None:
    """Any chord that MusicXML can state comes back from its printed form, in both dresses."""
    plain = simplest_form(chord)
    assert parse_symbol(symbol_text(chord)) == plain
    assert parse_symbol(symbol_text(chord, ascii=False)) == plain
