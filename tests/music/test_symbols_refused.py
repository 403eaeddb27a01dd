"""Chord symbols that aren't read: where the fault is, and what would be read."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.errors import BadInput
from drillbox.music.symbols.parsing import SymbolError, parse_symbol
from drillbox.music.symbols.printed import symbol_text
from tests.rows import every_row

# Text, column of what can't be read, what was read before it, nearest symbol.
REFUSED = [
    ("Cmaj7x", 6, "Cmaj7", "Cmaj7"),
    ("H7", 1, "", "B7"),
    ("c7", 1, "", "C7"),
    ("", 1, "", "C"),
    ("Cmj7", 3, "Cm", "Cm7"),
    ("C4", 2, "C", "Csus4"),
    ("C(b9)", 3, "C(", "C7b9"),
    ("C(b9)/E", 3, "C(", "C7b9/E"),
    ("C+9", 3, "C+", "C9#5"),
    ("C△6", 3, "C△", "C6"),
    ("Cadd7", 2, "C", "C7"),
    ("C(9)", 3, "C(", "Cadd9"),
    ("C713", 3, "C7", "C13"),
    ("Bbb5", 4, "Bbb", "Bb(b5)"),
    ("F##5", 4, "F##", "F#aug"),
    ("Cm5", 3, "Cm", "Cm"),
    ("Cdim9", 5, "Cdim", "Cdim"),
    ("C7b9b9", 5, "C7b9", "C7b9"),
    ("C7b13(b13)", 7, "C7b13(", "C7b13"),
    ("C9b9", 3, "C9", "C7b9"),
    ("C7(9,b9)", 6, "C7(9,", "C7b9"),
    ("C11#11", 4, "C11", "C9sus4"),
    ("C13b13", 4, "C13", "C13"),
    ("C6add6", 3, "C6", "C6"),
    ("C7altb9", 6, "C7alt", "C7alt"),
    ("C7b9alt", 5, "C7b9", "C7b9"),
    ("Csus4sus2", 6, "Csus4", "Csus4"),
    ("Cm7sus4", 4, "Cm7", "C7sus4"),
    ("Cdimb5", 5, "Cdim", "Cdim"),
    ("Caug#5", 5, "Caug", "Caug"),
    ("Cm7b5b5", 6, "Cm7b5", "Cm7b5"),
    ("Cm7#5b5b5", 8, "Cm7#5b5", "Cm7b5#5"),
    ("C5#5", 3, "C5", "C7#5"),
    ("C7no3no3", 6, "C7no3", "C7(no3)"),
    ("C7no9", 3, "C7", "C7"),
    ("Csus4no3", 6, "Csus4", "Csus4"),
    ("C7sus7", 3, "C7", "C7sus4"),
    ("Csus27", 6, "Csus2", "Csus2"),
    ("C9sus2", 3, "C9", "C9sus4"),
    ("Cno3sus4", 5, "Cno3", "C5"),
    ("Cadd8", 2, "C", "Cadd9"),
    ("Caddmaj9", 2, "C", "C"),
    ("Cmaj(maj7)", 6, "Cmaj(", "C"),
    ("Cmaj7(maj7)", 7, "Cmaj7(", "Cmaj7"),
    ("C7(maj7)", 4, "C7(", "Cm(maj7)"),
    ("C7°", 3, "C7", "C7"),
    ("Cm7+", 4, "Cm7", "Cm7"),
    ("C7(", 4, "C7(", "C7"),
    ("C7()", 4, "C7(", "C7"),
    ("C7(b9", 6, "C7(b9", "C7b9"),
    ("C7)", 3, "C7", "C7"),
    ("(C7", 4, "(C7", "C7"),
    ("C7((b9))", 4, "C7(", "C7b9"),
    ("C7,", 4, "C7,", "C7"),
    ("C7,,b9", 4, "C7,", "C7b9"),
    ("C/", 3, "C/", "C"),
    ("C/H", 3, "C/", "C/B"),
    ("Dm7/g", 5, "Dm7/", "Dm7/G"),
    ("C/E7", 4, "C/E", "C/E"),
    ("C/9", 3, "C/", "Cadd9"),
    ("C|D", 2, "C", "C"),
    ("C7 E7", 4, "C7", "C7"),
    ("N.C.7", 1, "", "C7"),
    ("  C7x", 5, "C7", "C7"),
]


@every_row(("text", "column", "read", "nearest"), REFUSED)
def test_a_wrong_symbol_says_where_and_what_is_near(
    text: str, column: int, read: str, nearest: str
) -> None:
    """What can't be read, is ambiguous or contradicts itself is refused at its column."""
    with pytest.raises(SymbolError) as caught:
        parse_symbol(text)
    assert (caught.value.column, caught.value.read, caught.value.nearest) == (column, read, nearest)
    assert isinstance(caught.value, BadInput)


def test_the_refusal_is_one_clear_line() -> None:
    """The message names the symbol, the column, what was read, and the remedy the nearest."""
    with pytest.raises(SymbolError) as caught:
        parse_symbol("Cmaj7x")
    assert caught.value.what == ("chord symbol 'Cmaj7x': can't read 'x' at column 6 (read Cmaj7)")
    assert caught.value.remedy == "Nearest symbol: Cmaj7"
    with pytest.raises(SymbolError) as caught:
        parse_symbol("C9b9")
    assert caught.value.line() == (
        "chord symbol 'C9b9': can't read 'b9' at column 3 (read C9): the 9 is stated already. "
        "Nearest symbol: C7b9"
    )


def test_columns_are_counted_from_where_the_symbol_stands() -> None:
    """A symbol that begins at column 20 of a chart has its fault at column 25."""
    with pytest.raises(SymbolError) as caught:
        parse_symbol("Cmaj7x", 20)
    assert caught.value.column == 25


def test_long_texts_are_cut_in_the_message() -> None:
    """A file's worth of text where a symbol should be doesn't fill the screen."""
    with pytest.raises(SymbolError) as caught:
        parse_symbol("C7" + "?" * 100_000)
    assert len(caught.value.line()) < 200


PIECES = [*"CDEFGABHcm-M+ob#x/()., 2345679", "11", "13", "maj", "sus", "add", "no", "alt", "dim"]


@given(st.text() | st.lists(st.sampled_from(PIECES), max_size=8).map("".join))
@settings(max_examples=150)
def test_any_text_is_read_or_refused_with_a_symbol_that_is_read(text: str) -> None:
    """No text breaks the reader: its column lies in the text and its proposal can be read."""
    refusal = refused(text)
    if refusal is None:
        found = parse_symbol(text)
        assert parse_symbol(symbol_text(found)) == found
    else:
        parse_symbol(refusal.nearest)
        assert 1 <= refusal.column <= len(text) + 1


def refused(text: str) -> SymbolError | None:
    try:
        parse_symbol(text)
    except SymbolError as error:
        return error
    return None
