"""The printed form of chord symbols."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from drillbox.music.chords import Chord, Degree
from drillbox.music.pitch import Name
from drillbox.music.symbols.parsing import parse_symbol
from drillbox.music.symbols.printed import SPECIAL, symbol_text
from drillbox.music.tones import KINDS
from tests.music.chord_strategies import chords


@pytest.mark.parametrize(
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


@pytest.mark.parametrize(
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
        ("C7(13)", "C7(add13)", "C7(add13)"),
        ("C7b9,13", "C7b9(add13)", "C7♭9(add13)"),
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
    """Alterations stand bare up to two, then in parentheses, as added and omitted degrees do."""
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
@settings(max_examples=200, deadline=None)
def test_the_ascii_form_is_ascii(chord: Chord) -> None:
    """A terminal without Unicode can show every chord."""
    assert symbol_text(chord).isascii()


def test_an_unknown_kind_is_an_error() -> None:
    """A kind outside the schema has no printed form."""
    with pytest.raises(ValueError, match="isn't a kind-value"):
        symbol_text(Chord(Name("C"), "jazzy"))
