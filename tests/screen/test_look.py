"""A player's text as a terminal can show it: by its cells, and in ASCII."""

from __future__ import annotations

import pytest
from rich.cells import cell_len

from drillbox.screen.look import Hanging, Look, clean, wrapped
from tests.screen.states import shown


@pytest.mark.parametrize("width", [8, 9, 20, 38])
@pytest.mark.parametrize(
    "text",
    [
        "親指を先に動かす" * 6,
        "thumb 親指 under, then 先に動かす and on " * 3,
        "e\u0301 " * 60,
        "plain words, one of which is averyverylongonethatdoesnotfit anywhere",
    ],
)
def test_no_line_covers_more_cells_than_there_are_and_nothing_is_lost(
    text: str, width: int
) -> None:
    """Wide signs cover two cells each, combining ones none."""
    lines = wrapped(text, width)
    assert max(map(cell_len, lines)) <= width
    assert "".join("".join(lines).split()) == "".join(text.split())


def test_lines_are_broken_between_words() -> None:
    """Without a blank at an end, and none where there is nothing to be said."""
    assert wrapped("u undoes the last rating, q stops", 14) == [
        "u undoes the", "last rating, q", "stops",
    ]  # fmt: skip
    assert wrapped("a longer line", 2) == ["a longer", "line"]
    assert wrapped("", 20) == []


def test_a_broken_line_goes_on_under_where_its_words_began() -> None:
    """Also with wide signs before them; where lines are plain it isn't broken."""
    said = Hanging("親  ", "u undoes the last rating, q stops")
    assert shown(Look(18), lambda _: said).splitlines() == [
        "親  u undoes the", "    last rating, q", "    stops",
    ]  # fmt: skip
    assert shown(Look(18, plain=True), lambda _: said) == (
        "親  u undoes the last rating, q stops\n"
    )


@pytest.mark.parametrize(
    ("text", "ascii"),
    [
        ("Sam’s “blue” — door…", 'Sam\'s "blue" - door...'),
        ("Søren’s Æbletræ", "Soren's AEbletrae"),
        ("E♭ to F♯°", "Eb to F#o"),
        ("Straße, Łódź, été", "Strasse, Lodz, ete"),
        ("階段", "??"),
    ],
)
def test_what_has_a_form_in_ascii_is_shown_in_it(text: str, ascii: str) -> None:
    """A question mark stands only for what has none."""
    assert clean(text, ascii=True) == ascii
    assert clean(text) == text
