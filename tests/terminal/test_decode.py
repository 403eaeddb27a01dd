"""Bytes become presses whatever way they are cut."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.terminal.decode import Decoder
from drillbox.terminal.presses import Press


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


@pytest.mark.parametrize(
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
        (b"\x1bf", ["esc", "f"]),
        (b"\x1b[A\x1b[B\x1b[C\x1b[D", ["up", "down", "right", "left"]),
        (b"\x1bOA\x1bOD", ["up", "left"]),  # application cursor keys
        (b"\x1b[1;5C", ["right"]),  # with Ctrl held
        (b"\x1b\x1b[A", ["esc", "up"]),
        (b"\x1b[3~f", ["unknown", "f"]),  # Delete
        (b"\x1b[5~\x1b[6~\x1b[6;2~", ["page up", "page down", "page down"]),
        (b"\x1bOPf", ["unknown", "f"]),  # F1
        (b"\x1b[[Af", ["unknown", "f"]),  # F1 on the Linux console
        (b"\x1b[200~f\x1b[201~", ["unknown", "f", "unknown"]),  # bracketed paste
        ("é♭𝄫".encode(), ["é", "♭", "𝄫"]),
        (b"\xff\xfef", ["unknown", "unknown", "f"]),
        (b"\xe2f", ["unknown", "f"]),
        (b"\x1b[1;\x03", ["unknown", "interrupt"]),
    ],
)
def test_typed_bytes_are_these_presses(typed: bytes, expected: list[str]) -> None:
    """Proves the meaning of every kind of key; sequences as in ECMA-48 and xterm's list."""
    assert names(typed) == expected


@pytest.mark.parametrize("cut", [b"\x1b", b"\x1b[", b"\x1b[1;5", b"\x1bO", b"\xe2", b"\xe2\x99"])
def test_a_cut_key_waits_for_its_rest(cut: bytes) -> None:
    """Proves that half a key is no key yet, and exactly one once nothing more is coming."""
    decoder = Decoder()
    decoder.feed(cut)
    assert decoder.take(complete=False) is None
    assert decoder.take(complete=True) == Press("esc" if cut == b"\x1b" else "unknown")
    assert not decoder


@given(st.text(st.characters(min_codepoint=0x21, exclude_characters="\x7f"), max_size=40))
@settings(deadline=None, max_examples=60)
def test_any_text_comes_back_character_by_character(text: str) -> None:
    """Proves that UTF-8 survives: every printable character is one press of that character."""
    typed = text.encode("utf-8", "ignore")
    assert names(typed) == list(typed.decode())


@given(st.binary(max_size=40), st.integers(0, 40))
@settings(deadline=None, max_examples=150)
def test_where_the_bytes_are_cut_does_not_matter(typed: bytes, cut: int) -> None:
    """Proves that a slow line changes nothing: any bytes, cut anywhere, end and are all used."""
    decoder = Decoder()
    decoder.feed(typed[:cut])
    early = _all(decoder, complete=False)
    decoder.feed(typed[cut:])
    assert [press.name for press in early + _all(decoder, complete=True)] == names(typed)
    assert not decoder
