"""Phrases: the compass of a line."""

from __future__ import annotations

from drillbox.music.keys import parse_key
from drillbox.music.phrases import Phrase
from drillbox.music.pitch import parse_pitch
from tests.music.shorthand import chart, line


def test_the_compass_is_by_sound() -> None:
    """B#4 sounds above Cb5 though it is written on a lower line."""
    phrase = Phrase("odd", parse_key("C"), 120, chart("C"), line("Cb5 C5 B#5 E4 Fb4"))
    assert phrase.compass() == (parse_pitch("E4"), parse_pitch("B#5"))
    two = Phrase("two", parse_key("C"), 120, chart("C"), line("B#4 Cb5"))
    assert two.compass() == (parse_pitch("Cb5"), parse_pitch("B#4"))


def test_a_typed_chart_has_no_compass() -> None:
    """No line, no lowest and highest note."""
    assert Phrase("typed", parse_key("C"), 120, chart("C")).compass() is None
