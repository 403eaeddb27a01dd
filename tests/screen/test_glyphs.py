"""Large letters: every printed sign has its own shape, and none is dropped."""

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.music.chords import Chord, Degree
from drillbox.music.pitch import Name
from drillbox.music.printed import symbol_text
from drillbox.music.tones import KINDS
from drillbox.screen.glyphs import GLYPHS, ROWS, big, big_width

WIDTHS = {
    1: "|",
    2: "il., ",
    3: "()",
    4: "I1bcgjrst♭°->",
    5: "ABCDEFGadehnopu023456789#♯𝄪ø/+%",
    6: "NT𝄫",
    7: "m",
}
NAMES = st.builds(Name, st.sampled_from("ABCDEFG"), st.integers(-2, 2))
CHORDS = st.builds(
    Chord,
    NAMES,
    st.sampled_from(sorted(KINDS)),
    st.lists(
        st.builds(
            Degree,
            st.sampled_from(["add", "alter", "subtract"]),
            st.integers(1, 13),
            st.integers(-1, 1),
        ),
        max_size=3,
    ).map(tuple),
    st.none() | NAMES,
)


@given(CHORDS | st.none(), st.booleans())
@settings(deadline=None, max_examples=400)
def test_every_symbol_can_be_written_large(chord: Chord | None, ascii: bool) -> None:
    """Proves over all kinds, degrees and basses that no printed sign lacks a shape."""
    text = symbol_text(chord, ascii=ascii)
    rows = big(f"({text})", ascii=ascii)
    assert len(rows) == ROWS
    assert {len(row) for row in rows} == {big_width(f"({text})")}


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_every_kind_of_chord_has_its_letters(kind: str) -> None:
    """Proves it kind by kind in both forms, on a flat and a sharp root."""
    for alter in (-1, 1):
        chord = Chord(Name("E", alter), kind)
        for ascii in (True, False):
            assert all(sign in GLYPHS for sign in symbol_text(chord, ascii=ascii))


@pytest.mark.parametrize("sign", sorted(set(GLYPHS) - {" "}))
def test_no_sign_is_empty_or_ragged(sign: str) -> None:
    """Proves five rows of one width with ink in them, and no ink but ``#``."""
    rows = GLYPHS[sign]
    assert len(rows) == ROWS
    assert len({len(row) for row in rows}) == 1
    assert "#" in "".join(rows)
    assert set("".join(rows)) <= {"#", " "}


def test_the_widths_are_as_recorded() -> None:
    """Proves each width, so that no change of a shape moves a layout unseen."""
    assert {sign: len(rows[0]) for sign, rows in GLYPHS.items()} == {
        sign: width for width, signs in WIDTHS.items() for sign in signs
    }


def test_no_two_signs_look_alike() -> None:
    """Proves that shapes differ in two cells at least, save for the two ways to type one sign."""
    for one, two in combinations(sorted(GLYPHS), 2):
        if {one, two} in ({"b", "♭"}, {"#", "♯"}):
            assert GLYPHS[one] == GLYPHS[two]
            continue
        first, second = "\n".join(GLYPHS[one]), "\n".join(GLYPHS[two])
        if len(first) == len(second):
            assert sum(a != b for a, b in zip(first, second, strict=True)) >= 2, one + two


def test_a_long_symbol_fits_39_columns() -> None:
    """Proves that E flat half diminished can be read large on a narrow screen in both forms."""
    assert big_width("Ebm7b5") == 35
    assert big_width("Eø7") == 17
    assert big_width("") == 0


def test_a_symbol_written_out() -> None:
    """Proves the very rows, in signs and in blocks."""
    assert big("Bb7", ascii=True) == [
        "####  ##   #####",
        "## ## ##      ##",
        "####  ###    ## ",
        "## ## ## #  ##  ",
        "####  ###   ##  ",
    ]
    assert big("B♭7", ascii=False)[0] == "████  ██   █████"


def test_a_sign_without_a_shape_is_refused() -> None:
    """Proves that nothing is dropped: a symbol with a part missing would be another chord."""
    with pytest.raises(ValueError, match="'△' has no large letter"):
        big("C△", ascii=False)
    with pytest.raises(ValueError, match="large letter"):
        big_width("C△")
