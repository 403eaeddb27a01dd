"""Large letters: every printed sign has its own shape, and none is dropped."""

from itertools import combinations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.music.chords import KINDS, Chord, Degree
from drillbox.music.pitch import Name
from drillbox.music.symbols.printed import symbol_text
from drillbox.screen.card import tempo_text
from drillbox.screen.letters import LINED, LOW, SLIM, TALL
from tests.rows import every_row

ALPHABETS = {"tall": TALL, "low": LOW}
WIDTHS = {
    "tall": {
        1: "|",
        2: "il., ",
        3: "()",
        4: "I1bcgjrst♭°->=",
        5: "ABCDEFGLPadehnopuxy023456789#♯𝄪ø/+%",
        6: "NT𝄫♩",
        7: "Mm",
    },
    "low": {
        1: "|i.",
        2: "jlr(), ",
        3: "IT0123456789bceghnopstuxy♭°𝄪/>+-=",
        4: "ABCDEFGLNPad♩",
        5: "Mm#♯ø%",
        6: "𝄫",
    },
}
EVERY = [(name, sign) for name, each in ALPHABETS.items() for sign in each.shapes if sign != " "]
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


@given(CHORDS | st.none(), st.booleans(), st.sampled_from([TALL, LOW, SLIM]))
@settings(max_examples=150)
def test_every_symbol_can_be_written_large(chord: Chord | None, ascii: bool, letters) -> None:
    """Proves over all kinds, degrees and basses that no printed sign lacks a shape."""
    text = symbol_text(chord, ascii=ascii)
    rows = letters.draw(f"({text})", ascii=ascii)
    assert len(rows) == letters.lines
    assert {len(row) for row in rows} == {letters.width(f"({text})")}
    assert not ascii or letters.slim or "".join(rows).isascii()


@given(CHORDS | st.none())
@settings(max_examples=100)
def test_every_symbol_can_be_drawn_with_lines(chord: Chord | None) -> None:
    """In ASCII alone: no sign is missing, and none has lines of another length."""
    text = f"({symbol_text(chord, ascii=True)})"
    rows = LINED.draw(text, ascii=True)
    assert {len(row) for row in rows} == {LINED.width(text)}
    assert "".join(rows).isascii()


def test_no_two_signs_of_lines_look_alike() -> None:
    """Two cells differ at least; and none is empty."""
    for one, two in combinations(sorted(LINED.shapes.keys() - {" "}), 2):
        first, second = "\n".join(LINED.shapes[one]), "\n".join(LINED.shapes[two])
        if len(first) == len(second):
            assert sum(a != b for a, b in zip(first, second, strict=True)) >= 2, one + two
    assert all("".join(rows).strip() for sign, rows in LINED.shapes.items() if sign != " ")


@every_row("kind", sorted(KINDS))
def test_every_kind_of_chord_has_its_letters(kind: str) -> None:
    """Proves it kind by kind in both forms and heights, on a flat and a sharp root."""
    for alter, letters, ascii in product((-1, 1), (TALL, LOW), (True, False)):
        chord = Chord(Name("E", alter), kind)
        assert all(sign in letters.shapes for sign in symbol_text(chord, ascii=ascii))


@every_row(("height", "sign"), EVERY)
def test_no_sign_is_empty_or_ragged(height: str, sign: str) -> None:
    """Proves all rows of one width with ink in them, and no ink but ``#``."""
    letters = ALPHABETS[height]
    rows = letters.shapes[sign]
    assert len(rows) == letters.ink_rows
    assert len({len(row) for row in rows}) == 1
    assert "#" in "".join(rows)
    assert set("".join(rows)) <= {"#", " "}


@pytest.mark.parametrize("height", ALPHABETS)
def test_the_widths_are_as_recorded(height: str) -> None:
    """Proves each width, so that no change of a shape moves a layout unseen."""
    shapes = ALPHABETS[height].shapes
    assert {sign: len(rows[0]) for sign, rows in shapes.items()} == {
        sign: width for width, signs in WIDTHS[height].items() for sign in signs
    }


@pytest.mark.parametrize("height", ALPHABETS)
def test_no_two_signs_look_alike(height: str) -> None:
    """Proves that shapes differ in two cells at least, save for the two ways to type one sign."""
    shapes = ALPHABETS[height].shapes
    for one, two in combinations(sorted(shapes), 2):
        if {one, two} in ({"b", "♭"}, {"#", "♯"}):
            assert shapes[one] == shapes[two]
            continue
        first, second = "\n".join(shapes[one]), "\n".join(shapes[two])
        if len(first) == len(second):
            assert sum(a != b for a, b in zip(first, second, strict=True)) >= 2, one + two


def test_a_long_symbol_fits_39_columns() -> None:
    """Proves that E flat half diminished can be read large on a narrow screen in both forms."""
    assert TALL.width("Ebm7b5") == 35
    assert TALL.width("Eø7") == 17
    assert LOW.width("Ebm7b5") == 26
    assert TALL.width("") == LOW.width("") == 0


def test_a_symbol_written_out() -> None:
    """Proves the very rows, in signs and in blocks, of either height."""
    assert TALL.draw("Bb7", ascii=True) == [
        "####  ##   #####",
        "## ## ##      ##",
        "####  ###    ## ",
        "## ## ## #  ##  ",
        "####  ###   ##  ",
    ]
    assert TALL.draw("B♭7", ascii=False)[0] == "████  ██   █████"
    assert LOW.draw("B♭7", ascii=False) == ["█▀▀▄ █   ▀▀█", "█▀▀▄ █▀▄  ▄▀", "▀▀▀  ▀▀   ▀ "]
    assert LOW.draw("Bb7", ascii=True) == ['#""_ #   ""#', '#""_ #"_  _"', '"""  ""   " ']


def test_a_tempo_carries_a_note() -> None:
    """Proves that a tempo beside a key can't be read as that key's chord, in ASCII either."""
    for letters, ascii in product((TALL, LOW), (True, False)):
        alone = letters.draw("99", ascii=ascii)
        told = letters.draw(tempo_text(99), ascii=ascii)
        assert all(row.endswith(bare) for row, bare in zip(told, alone, strict=True))
        assert len(told[0]) > len(alone[0]) + 6


def test_a_sign_without_a_shape_is_refused() -> None:
    """Proves that nothing is dropped: a symbol with a part missing would be another chord."""
    with pytest.raises(ValueError, match="'△' has no large letter"):
        TALL.draw("C△", ascii=False)
    with pytest.raises(ValueError, match="large letter"):
        LOW.width("C△")
