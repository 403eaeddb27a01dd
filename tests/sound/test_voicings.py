"""Held chords: which tones, where, and how little they move."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.music.chords import Chord, guide_tones, tones
from drillbox.music.symbols.parsing import parse_symbol
from drillbox.sound.voicings import HIGHEST, LOWEST, voicing
from tests.sound.test_bass import NAMES, SYMBOLS


def chord(text: str) -> Chord:
    read = parse_symbol(text)
    assert read is not None
    return read


def test_the_sevenths_of_a_two_five_one_move_by_steps() -> None:
    """Proves the trade's own example: Bb-Eb, A-Eb, A-D; common practice in jazz harmony."""
    first = voicing(chord("Cm7"))
    second = voicing(chord("F7"), first)
    third = voicing(chord("Bbmaj7"), second)
    assert [first, second, third] == [(58, 63), (57, 63), (57, 62)]


@pytest.mark.parametrize(
    ("symbol", "classes"),
    [
        ("C", {4, 7}),  # a triad has one guide tone: its fifth joins
        ("Cm", {3, 7}),
        ("C5", {7, 0}),
        ("Csus4", {5, 7}),
        ("C6", {4, 9}),
        ("Cdim7", {3, 9}),
        ("Cdim", {3, 6}),
        ("Fm7/C", {8, 3}),
    ],
)
def test_two_tones_say_what_the_chord_is(symbol: str, classes: set[int]) -> None:
    """Proves which tones are held, as pitch classes."""
    assert {note % 12 for note in voicing(chord(symbol))} == classes


@given(
    st.lists(st.tuples(st.sampled_from(NAMES), st.sampled_from(SYMBOLS)), min_size=2, max_size=16)
)
@settings(deadline=None, max_examples=100)
def test_voicings_hold_the_guide_tones_in_the_middle_and_move_little(
    symbols: list[tuple[str, str]],
) -> None:
    """Proves register, content and voice leading over any row of chords.

    The nearest note of any pitch class lies at most six semitones away, a little more at the
    edge of the register.
    """
    before: tuple[int, ...] = ()
    rows = []
    for root, kind in symbols:
        before = voicing(chord(root + kind), before)
        rows.append(before)
    for (root, kind), notes in zip(symbols, rows, strict=True):
        read = chord(root + kind)
        assert all(LOWEST <= note <= HIGHEST for note in notes)
        assert 2 <= len(notes) <= 3
        classes = {note % 12 for note in notes}
        assert {name.pitch_class for name in guide_tones(read)} <= classes
        assert classes <= {name.pitch_class for name in tones(read)}
    for one, two in pairwise(rows):
        assert all(min(abs(note - old) for old in one) <= 9 for note in two)
