"""Bytes become presses whatever way they are cut."""

import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.terminal.decode import Decoder
from drillbox.terminal.presses import Press
from tests.rows import every_row


def names(*chunks: bytes, complete: bool = True) -> list[str]:
    decoder = Decoder()
    for chunk in chunks:
        decoder.feed(chunk)
    return [press.name for press in _all(decoder, complete)]


def _all(decoder: Decoder, complete: bool) -> list[Press]:
    found = []
    while press := decoder.take(complete=complete):
        found.append(press)
    return found


@every_row(
    ("typed", "expected"),
    [
        (b"f", ["f"]),
        (b"lr cf", ["l", "r", "space", "c", "f"]),
        (b"\r", ["enter"]),
        (b"\n", ["enter"]),
        (b"\t", ["tab"]),
        (b"\x7f", ["backspace"]),
        (b"\x08", ["backspace"]),
        (b"\x03", ["interrupt"]),
        (b"\x04", ["end"]),
        (b"\x01\x00", ["unknown", "unknown"]),
        (b"\x1b", ["esc"]),
        (b"\x1b\x1b", ["esc", "esc"]),
        (b"\x1bf", ["unknown"]),  # Alt held
        ("\x1béf".encode(), ["unknown", "f"]),
        (b"\x1b\rf", ["unknown", "f"]),
        (b"\x1b\x03", ["esc", "interrupt"]),
        (b"\x1b[A\x1b[B\x1b[C\x1b[D", ["up", "down", "right", "left"]),
        (b"\x1bOA\x1bOD", ["up", "left"]),  # application cursor keys
        (b"\x1b[1;5C", ["right"]),  # with Ctrl held
        (b"\x1b\x1b[A", ["up"]),  # Alt held
        (b"\x1b[3~f", ["unknown", "f"]),  # Delete
        (b"\x1b[5~\x1b[6~\x1b[6;2~", ["page up", "page down", "page down"]),
        (b"\x1bOPf", ["unknown", "f"]),  # F1
        (b"\x1b[[Af", ["unknown", "f"]),  # F1 on the Linux console
        (b"\x1b[200~f\x1b[201~", ["unknown"]),  # bracketed paste
        ("é♭𝄫".encode(), ["é", "♭", "𝄫"]),
        ("\u202ef\u2028".encode(), ["unknown", "f", "unknown"]),  # no sign is seen of these
        (b"\xff\xfef", ["unknown", "unknown", "f"]),
        (b"\xe2f", ["unknown", "f"]),
        (b"\x1b[1;\x03", ["unknown", "interrupt"]),
    ],
)
def test_typed_bytes_are_these_presses(typed: bytes, expected: list[str]) -> None:
    """Proves the meaning of every kind of key; sequences as in ECMA-48 and xterm's list."""
    assert names(typed) == expected


SWALLOWED = {
    "colour, ended by ST": b"\x1b]11;rgb:ffff/ffff/ffff\x1b\\",
    "colour, ended by BEL": b"\x1b]11;rgb:cccc/0000/ffff\x07",
    "colour, in 8 bits": b"\x9d11;rgb:ffff/ffff/ffff\x1b\\",
    "colour, C1 in UTF-8": b"\xc2\x9d11;rgb:cfff/ffff/ffff\xc2\x9c",
    "title": "\x1b]l frühe cl Ürfl\x1b\\".encode(),
    "version": b"\x1bP>|term(358) fclr\x1b\\",
    "settings": b"\x1bP1$r0;1;4:3m\x1b\\",
    "application string": b"\x1b_Gi=1;OK fcrl\x1b\\",
    "private message": b"\x1b^fclr\x1b\\",
    "start of string": b"\x1bXfclr\x1b\\",
    "attributes": b"\x1b[?64;1;2c\x1b[>0;95;0c",
    "attributes, in 8 bits": b"\x9b?64;1;2c",
    "cursor": b"\x1b[24;80R",
    "modes": b"\x1b[?2004;1$y",
    "window": b"\x1b[8;24;80t",
    "focus": b"\x1b[I\x1b[O",
    "mouse, old": b"\x1b[M cf\x1b[M#rl",
    "mouse, old, in UTF-8": "\x1b[M éÿ".encode(),
    "mouse, SGR": b"\x1b[<0;70;12M\x1b[<0;70;12m",
    "mouse, urxvt": b"\x1b[32;70;12M",
}


@every_row("what", SWALLOWED)
def test_what_a_terminal_says_is_no_press(what: str) -> None:
    """Proves that an answer or a report rates nothing, wherever it is cut (xterm's control list).

    The key after it counts again.
    """
    told = SWALLOWED[what]
    assert names(told + b"f") == ["f"]
    for cut in range(len(told) + 1):
        decoder = Decoder()
        decoder.feed(told[:cut])
        early = _all(decoder, complete=False)
        decoder.feed(told[cut:] + b"f")
        assert [each.name for each in early + _all(decoder, complete=True)] == ["f"]


@pytest.mark.parametrize("text", ["flow colours", "clr\r\nfffr\x1b[A", "\x1b]2;f\x07r", "é" * 50])
def test_what_is_pasted_is_one_press_that_means_nothing(text: str) -> None:
    """Proves that no letter of a paste rates anything, in one piece or byte by byte."""
    pasted = b"\x1b[200~" + text.encode() + b"\x1b[201~"
    assert names(pasted + b"f") == ["unknown", "f"]
    decoder, found = Decoder(), []
    for byte in pasted + b"f":
        decoder.feed(bytes([byte]))
        found += _all(decoder, complete=False)
    assert [each.name for each in found] == ["unknown", "f"]


@pytest.mark.parametrize(
    ("begun", "wait"), [(b"\x1b", 0.05), (b"\x1b]11;r", 0.5), (b"\x1b[200~cl", 2), (b"\x1b[3", 0.5)]
)
def test_what_never_ends_keeps_no_key_away(begun: bytes, wait: float) -> None:
    """Proves that after a silence keys count again, and Ctrl-C at once."""
    decoder = Decoder()
    decoder.feed(begun)
    assert decoder.take(complete=False) is None
    assert decoder.patience == wait
    decoder.take(complete=True)
    assert not decoder
    decoder.feed(b"f")
    assert decoder.take(complete=False) == Press("f")
    assert names(b"\x1b]11;r\x03") == ["interrupt"]


@pytest.mark.parametrize("begun", [b"\x1b[", b"\x1b]", b"\x1b[200~", b"\x1bP", b""])
def test_a_flood_costs_no_time(begun: bytes) -> None:
    """Proves that 300,000 digits in a sequence, an answer or a paste are swallowed in a second.

    What is read at a time is as long as what a terminal hands out.
    """
    decoder, began = Decoder(), time.process_time()
    for chunk in [begun, *[b"1" * 1000] * 300, b"f\x07\x1b[201~r"]:
        decoder.feed(chunk)
        while decoder.take(complete=False):
            pass
    assert time.process_time() - began < 1
    assert not decoder


@pytest.mark.parametrize("cut", [b"\x1b", b"\x1b[", b"\x1b[1;5", b"\x1bO", b"\xe2", b"\xe2\x99"])
def test_a_cut_key_waits_for_its_rest(cut: bytes) -> None:
    """Proves that half a key isn't a key yet, and exactly one once nothing more is coming."""
    decoder = Decoder()
    decoder.feed(cut)
    assert decoder.take(complete=False) is None
    assert decoder.take(complete=True) == Press("esc" if cut == b"\x1b" else "unknown")
    assert not decoder


@given(st.text(st.characters(exclude_categories=["C", "Z"]), max_size=40))
@settings(max_examples=60)
def test_any_text_comes_back_character_by_character(text: str) -> None:
    """Proves that UTF-8 survives: every printable character is one press of that character."""
    typed = text.encode("utf-8", "ignore")
    assert names(typed) == list(typed.decode())


@given(st.binary(max_size=40), st.integers(0, 40))
@settings(max_examples=150)
def test_where_the_bytes_are_cut_does_not_matter(typed: bytes, cut: int) -> None:
    """Proves that a slow line changes nothing: any bytes, cut anywhere, end and are all used."""
    decoder = Decoder()
    decoder.feed(typed[:cut])
    early = _all(decoder, complete=False)
    decoder.feed(typed[cut:])
    assert [press.name for press in early + _all(decoder, complete=True)] == names(typed)
    assert not decoder
