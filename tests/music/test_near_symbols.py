"""The nearest symbol that can be read."""

from __future__ import annotations

import pytest

from drillbox.music.symbols.nearest import nearest_symbol
from drillbox.music.symbols.parsing import SymbolError, parse_symbol


def printed(*readable: str):  # type: ignore[no-untyped-def] - a stand-in for the reader
    return lambda text: text if text in readable else None


def test_the_fewest_changed_letters_win() -> None:
    """Of two readable texts the one with fewer letters to change is proposed."""
    assert nearest_symbol("Cmaq7", (3, 4), "", printed("Cmaj7", "C7")) == "Cmaj7"


def test_a_rule_s_own_proposal_comes_first_with_the_bass_kept() -> None:
    """What the reader proposes is taken with the slash bass, without, or not at all."""
    assert nearest_symbol("C2/E", (1, 2), "Cadd9", printed("Cadd9", "Cadd9/E", "C/E")) == "Cadd9/E"
    assert nearest_symbol("C2/?", (1, 2), "Cadd9", printed("Cadd9")) == "Cadd9"
    assert nearest_symbol("C2", (1, 2), "Cadd9", printed("C")) == "C"


@pytest.mark.parametrize(
    ("text", "unread", "expected"),
    [
        ("c7", (0, 1), "C7"),
        ("h7", (0, 1), "B7"),
        ("C7/e", (3, 4), "C7/E"),
        ("C7(b9", (5, 5), "C7(b9)"),
        ("C7?", (2, 3), "C7"),
    ],
)
def test_slips_of_the_hand(text: str, unread: tuple[int, int], expected: str) -> None:
    """A small letter, a German H, a missing parenthesis or a stray sign is mended as such."""
    readable = printed("C7", "B7", "C7/E", "C7(b9)", "G7", "Cm7")
    assert nearest_symbol(text, unread, "", readable) == expected


def test_something_is_always_proposed() -> None:
    """A text like no chord at all still gets a symbol, on the root it names if any."""
    assert nearest_symbol("?!", (0, 1), "", printed("C", "C7")) == "C7"
    assert nearest_symbol("G" + "?" * 500, (1, 2), "", printed("G")) == "G"


@pytest.mark.parametrize(
    ("text", "nearest"), [("Dm7,G7", "Dm7"), ("C/bb9", "C7b9"), ("C2/x", "Cadd9"), ("C7/x", "C7")]
)
def test_what_was_read_is_nearest(text: str, nearest: str) -> None:
    """A slip behind a symbol changes nothing before it, and an alteration is no bass."""
    with pytest.raises(SymbolError) as refused:
        parse_symbol(text)
    assert refused.value.nearest == nearest
