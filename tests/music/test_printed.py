"""The one way to write each chord, and how chords and charts are printed."""

from __future__ import annotations

import subprocess
import sys

import pytest
from hypothesis import assume, given, settings

from drillbox.music.charts import Meter
from drillbox.music.chords import KINDS, Chord, Degree, intervals
from drillbox.music.pitch import Name
from drillbox.music.symbols.parsing import parse_symbol
from drillbox.music.symbols.printed import (
    SPECIAL,
    chart_text,
    chord_of,
    grouped,
    simplest_form,
    symbol_text,
)
from tests.music.chord_strategies import chords
from tests.music.shorthand import chart
from tests.rows import every_row

C = Name("C")


@every_row(
    ("kind", "degrees", "symbol"),
    [
        # The same chords as other programs write them into MusicXML.
        ("dominant-ninth", (Degree("alter", 9, -1),), "C7b9"),
        ("dominant", (Degree("alter", 9, -1),), "C7b9"),
        ("dominant", (Degree("alter", 5, 1),), "C7#5"),
        ("dominant", (Degree("subtract", 5), Degree("add", 5, 1)), "C7#5"),
        ("minor-seventh", (Degree("alter", 5, -1),), "Cm7b5"),
        ("major", (Degree("add", 7, 1),), "Cmaj7"),
        ("major", (Degree("add", 7, 0),), "C7"),
        ("minor", (Degree("add", 7, 1),), "Cm(maj7)"),
        ("major", (Degree("add", 6), Degree("add", 9)), "C69"),
        ("major", (Degree("subtract", 3), Degree("add", 4)), "Csus4"),
        ("dominant", (Degree("subtract", 3), Degree("add", 4)), "C7sus4"),
        ("major", (Degree("subtract", 3),), "C5"),
        ("dominant-11th", (Degree("alter", 11, 1),), "C9#11"),
        ("diminished", (Degree("add", 7, 0),), "Cm7b5"),
        ("diminished", (Degree("add", 7, -1),), "Cdim7"),
        ("augmented", (Degree("add", 7, 0),), "C7#5"),
        ("augmented", (Degree("add", 7, 1),), "Cmaj7#5"),
        ("half-diminished", (Degree("add", 9),), "Cm9b5"),
        ("augmented-seventh", (Degree("add", 9),), "C9#5"),
        ("other", (Degree("add", 3), Degree("add", 5), Degree("add", 7)), "C7"),
        ("other", (Degree("add", 5),), "C5"),
        ("power", (Degree("subtract", 5),), "C(pedal)"),
        ("major", (Degree("add", 10, -1), Degree("subtract", 3)), "Cm"),
        ("major", (Degree("add", 8),), "C"),
    ],
)
def test_different_ways_to_state_one_chord_meet(
    kind: str, degrees: tuple[Degree, ...], symbol: str
) -> None:
    """However a file states a chord, it becomes the value that its symbol is read to."""
    assert simplest_form(Chord(C, kind, degrees)) == parse_symbol(symbol)


def test_what_has_no_tones_of_its_own_stays_or_goes() -> None:
    """An unexplained 'other' stays itself; where nothing sounds there is no chord."""
    assert simplest_form(Chord(C, "other")) == Chord(C, "other")
    sharp_root = Chord(C, "other", (Degree("alter", 1, 1),))
    assert simplest_form(sharp_root) != Chord(C, "other")
    assert simplest_form(Chord(C, "none")) is None
    assert simplest_form(Chord(C, "pedal", (Degree("subtract", 1),))) is None


def test_a_bass_that_is_the_root_is_dropped() -> None:
    """A file that states the root as bass means no slash chord."""
    assert simplest_form(Chord(C, "dominant", (), C)) == Chord(C, "dominant")
    assert simplest_form(Chord(C, "other", (), C)) == Chord(C, "other")
    assert simplest_form(Chord(C, "dominant", (), Name("E"))) == Chord(C, "dominant", (), Name("E"))


@given(chords)
@settings(max_examples=120)
def test_the_one_form_keeps_the_tones_and_is_its_own(chord: Chord) -> None:
    """The form sounds what the chord sounds, and taking it twice changes nothing."""
    plain = simplest_form(chord)
    assume(plain is not None)
    assert plain is not None
    assert intervals(plain) == intervals(chord)
    assert simplest_form(plain) == plain


@given(chords)
@settings(max_examples=100)
def test_the_form_follows_from_the_tones_alone(chord: Chord) -> None:
    """Two chords with the same tones have the same form, whatever kinds they came with."""
    assume(chord.kind != "other")
    assert chord_of(chord.root, intervals(chord), chord.bass) == simplest_form(chord)


@every_row(
    ("kind", "ascii", "unicode"),
    [
        ("major", "Eb", "E♭"), ("minor", "Ebm", "E♭m"), ("augmented", "Ebaug", "E♭aug"),
        ("diminished", "Ebdim", "E♭°"), ("dominant", "Eb7", "E♭7"),
        ("major-seventh", "Ebmaj7", "E♭maj7"), ("minor-seventh", "Ebm7", "E♭m7"),
        ("diminished-seventh", "Ebdim7", "E♭°7"), ("augmented-seventh", "Eb7#5", "E♭7♯5"),
        ("half-diminished", "Ebm7b5", "E♭ø7"), ("major-minor", "Ebm(maj7)", "E♭m(maj7)"),
        ("major-sixth", "Eb6", "E♭6"), ("minor-sixth", "Ebm6", "E♭m6"),
        ("dominant-ninth", "Eb9", "E♭9"), ("major-ninth", "Ebmaj9", "E♭maj9"),
        ("minor-ninth", "Ebm9", "E♭m9"), ("dominant-11th", "Eb9(add11)", "E♭9(add11)"),
        ("major-11th", "Ebmaj11", "E♭maj11"), ("minor-11th", "Ebm11", "E♭m11"),
        ("dominant-13th", "Eb13", "E♭13"), ("major-13th", "Ebmaj13", "E♭maj13"),
        ("minor-13th", "Ebm13", "E♭m13"), ("suspended-second", "Ebsus2", "E♭sus2"),
        ("suspended-fourth", "Ebsus4", "E♭sus4"), ("power", "Eb5", "E♭5"),
        ("pedal", "Eb(pedal)", "E♭(pedal)"), ("German", "Eb(German)", "E♭(German)"),
        ("other", "Eb(other)", "E♭(other)"), ("none", "N.C.", "N.C."),
    ],
)  # fmt: skip
def test_each_kind_has_one_form(kind: str, ascii: str, unicode: str) -> None:
    """A bare kind prints as a lead sheet has it, in ASCII and in Unicode."""
    chord = Chord(Name("E", -1), kind)
    assert symbol_text(chord) == ascii
    assert symbol_text(chord, ascii=False) == unicode


@every_row(
    ("typed", "ascii", "unicode"),
    [
        ("C7(b9)", "C7b9", "C7♭9"),
        ("C7#9,b13", "C7#9b13", "C7♯9♭13"),
        ("C7b9#11b13", "C7(b9,#11,b13)", "C7(♭9,♯11,♭13)"),
        ("C+7#9", "C7#5#9", "C7♯5♯9"),
        ("C7#5b9#11", "C7(#5,b9,#11)", "C7(♯5,♭9,♯11)"),
        ("C7alt", "C7alt", "C7alt"),
        ("Cø7b9", "Cm7b5b9", "Cø7♭9"),
        ("Cø7(11)", "Cm7b5(add11)", "Cø7(add11)"),
        ("C(b5)", "C(b5)", "C(♭5)"),
        ("C-#5", "Cm(#5)", "Cm(♯5)"),
        ("C6(9)", "C69", "C69"),
        ("C-Δ9", "Cm(maj9)", "Cm(maj9)"),
        ("C-Δ#11", "Cm(maj7)#11", "Cm(maj7)♯11"),
        ("C°Δ", "Cdim(maj7)", "C°(maj7)"),
        ("C7sus(b9)", "C7sus4b9", "C7sus4♭9"),
        ("C13sus", "C13sus4", "C13sus4"),
        ("CΔ7sus", "Cmaj7sus4", "Cmaj7sus4"),
        ("C6sus", "C6sus4", "C6sus4"),
        ("C6sus2", "Csus2(add6)", "Csus2(add6)"),
        ("C7(13)", "C7(add13)", "C7(add13)"),
        ("C7b9,13", "C7(b9,13)", "C7(♭9,13)"),
        ("C7(#9,13)", "C7(#9,13)", "C7(♯9,13)"),
        ("C7#11(13)", "C7(#11,13)", "C7(♯11,13)"),
        ("C7(13,b5,b9)", "C7(b5,b9,13)", "C7(♭5,♭9,13)"),
        ("C7b9,13(no5)", "C7(b9,13,no5)", "C7(♭9,13,no5)"),
        ("Cm7b9,11", "Cm11b9", "Cm11♭9"),
        ("C7alt(13)", "C7(b5,#5,b9,#9,13)", "C7(♭5,♯5,♭9,♯9,13)"),
        ("C13b9", "C13b9", "C13♭9"),
        ("C13susb9", "C13sus4b9", "C13sus4♭9"),
        ("C7sus4(b9,13)", "C13sus4b9", "C13sus4♭9"),
        ("C13sus4#9", "C13sus4#9", "C13sus4♯9"),
        ("C13sus4b9#9", "C13sus4b9#9", "C13sus4♭9♯9"),
        ("C7sus4(13)", "C7sus4(add13)", "C7sus4(add13)"),
        ("C9sus4b13", "C9sus4b13", "C9sus4♭13"),
        ("Cm(maj7)#11(9,13)", "Cm(maj13)#11", "Cm(maj13)♯11"),
        ("C(add9)", "Cadd9", "Cadd9"),
        ("C(add#11)", "Cadd#11", "Cadd♯11"),
        ("C-add9", "Cm(add9)", "Cm(add9)"),
        ("Cadd9,add#11", "C(add9,add#11)", "C(add9,add♯11)"),
        ("C9 no 3", "C9(no3)", "C9(no3)"),
        ("C(no5)", "C(no5)", "C(no5)"),
        ("C7addmaj7", "C7(addmaj7)", "C7(addmaj7)"),
        ("F#-7b5/E", "F#m7b5/E", "F♯ø7/E"),
        ("B𝄫maj7/A𝄫", "Bbbmaj7/Abb", "B𝄫maj7/A𝄫"),
        ("Cx7", "C##7", "C𝄪7"),
    ],
)
def test_changes_are_printed_in_one_order_and_dress(typed: str, ascii: str, unicode: str) -> None:
    """Alterations stand bare up to two, then in parentheses, as added and omitted degrees do, and
    with a natural tension among them: C7(b9,13), since C13b9 has an 11th."""
    chord = parse_symbol(typed)
    assert symbol_text(chord) == ascii
    assert symbol_text(chord, ascii=False) == unicode


def test_no_chord_and_kind_none_print_alike() -> None:
    """Nothing sounding is N.C., whichever way it is said."""
    assert symbol_text(None) == "N.C."
    assert symbol_text(Chord(Name("C"), "none")) == "N.C."


def test_a_power_chord_on_a_double_accidental_can_t_be_misread() -> None:
    """Bbb5 might be Bb with a flat fifth, so it is printed without its third instead."""
    assert symbol_text(Chord(Name("B", -2), "power")) == "Bbb(no3)"
    with_ninth = Chord(Name("F", 2), "power", (Degree("add", 9, 0),))
    assert symbol_text(with_ninth) == "F##(no3,add9)"


def test_every_kind_prints_differently() -> None:
    """No two kinds of MusicXML share a printed form, in either dress."""
    for ascii in (True, False):
        forms = [symbol_text(Chord(Name("C"), kind), ascii=ascii) for kind in KINDS]
        assert len(set(forms)) == len(KINDS) == 33
    assert set(SPECIAL) < set(KINDS)


@given(chords)
@settings(max_examples=80)
def test_the_ascii_form_is_ascii(chord: Chord) -> None:
    """A terminal without Unicode can show every chord."""
    assert symbol_text(chord).isascii()


def test_an_unknown_kind_is_an_error() -> None:
    """A kind outside the schema has no printed form."""
    with pytest.raises(ValueError, match="isn't a kind-value"):
        symbol_text(Chord(Name("C"), "jazzy"))


def test_bars_have_the_fewest_parts() -> None:
    """A whole bar is one symbol; three beats and one are four parts; no chord has its sign."""
    assert chart_text(chart("C | F _ _ G7 | NC")) == "C | F / / G7 | N.C."
    assert chart_text(chart("C _ F _ | G7 _ _ _")) == "C F | G7"
    assert chart_text(chart("C _ F", Meter(3, 4))) == "C / F"


def test_the_turnaround_stands_in_parentheses_bar_by_bar() -> None:
    """Its slashes are inside; a bar of it alone is wholly in parentheses."""
    assert chart_text(chart("C _ Dm7* _ | G7*")) == "C (Dm7) | (G7)"
    assert chart_text(chart("C Dm7* _ _ ")) == "C (Dm7 / /)"
    assert grouped([("C", False), ("/", False), ("G7", True)]) == "C / (G7)"


def test_unicode_signs_on_request() -> None:
    """ASCII unless the terminal can do more."""
    assert chart_text(chart("Bbm7b5 Eb7"), ascii=False) == "B♭ø7 E♭7"


def test_printing_doesn_t_load_the_reader_of_symbols() -> None:
    """A drill prints charts and never reads them, so it doesn't pay for reading."""
    code = (
        "import drillbox.music.symbols.printed, sys\n"
        "print('drillbox.music.symbols.parsing' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
