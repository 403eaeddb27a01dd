"""One form of each chord."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings

from drillbox.music.chords import Chord, Degree
from drillbox.music.pitch import Name
from drillbox.music.symbols.parsing import parse_symbol
from drillbox.music.symbols.simplest import chord_of, simplest
from drillbox.music.tones import intervals
from tests.music.chord_strategies import chords

C = Name("C")


@pytest.mark.parametrize(
    ("kind", "degrees", "symbol"),
    [
        # The same chords as other programs write them into MusicXML.
        ("dominant-ninth", (Degree("alter", 9, -1),), "C7b9"),
        ("dominant", (Degree("alter", 9, -1),), "C7b9"),
        ("dominant", (Degree("alter", 5, 1),), "C7#5"),
        ("dominant", (Degree("subtract", 5), Degree("add", 5, 1)), "C7#5"),
        ("minor-seventh", (Degree("alter", 5, -1),), "Cm7b5"),
        ("major", (Degree("add", 7, 1),), "Cmaj7"),
        ("major", (Degree("add", 7, 0),), "C7"),
        ("minor", (Degree("add", 7, 1),), "Cm(maj7)"),
        ("major", (Degree("add", 6), Degree("add", 9)), "C69"),
        ("major", (Degree("subtract", 3), Degree("add", 4)), "Csus4"),
        ("dominant", (Degree("subtract", 3), Degree("add", 4)), "C7sus4"),
        ("major", (Degree("subtract", 3),), "C5"),
        ("dominant-11th", (Degree("alter", 11, 1),), "C9#11"),
        ("diminished", (Degree("add", 7, 0),), "Cm7b5"),
        ("diminished", (Degree("add", 7, -1),), "Cdim7"),
        ("augmented", (Degree("add", 7, 0),), "C7#5"),
        ("augmented", (Degree("add", 7, 1),), "Cmaj7#5"),
        ("half-diminished", (Degree("add", 9),), "Cm9b5"),
        ("augmented-seventh", (Degree("add", 9),), "C9#5"),
        ("other", (Degree("add", 3), Degree("add", 5), Degree("add", 7)), "C7"),
        ("other", (Degree("add", 5),), "C5"),
        ("power", (Degree("subtract", 5),), "C(pedal)"),
        ("major", (Degree("add", 10, -1), Degree("subtract", 3)), "Cm"),
        ("major", (Degree("add", 8),), "C"),
    ],
)
def test_different_ways_to_state_one_chord_meet(
    kind: str, degrees: tuple[Degree, ...], symbol: str
) -> None:
    """However a file states a chord, it becomes the value that its symbol is read to."""
    assert simplest(Chord(C, kind, degrees)) == parse_symbol(symbol)


def test_what_has_no_tones_of_its_own_stays_or_goes() -> None:
    """An unexplained 'other' stays itself; where nothing sounds there is no chord."""
    assert simplest(Chord(C, "other")) == Chord(C, "other")
    sharp_root = Chord(C, "other", (Degree("alter", 1, 1),))
    assert simplest(sharp_root) != Chord(C, "other")
    assert simplest(Chord(C, "none")) is None
    assert simplest(Chord(C, "pedal", (Degree("subtract", 1),))) is None


def test_a_bass_that_is_the_root_is_dropped() -> None:
    """A file that states the root as bass means no slash chord."""
    assert simplest(Chord(C, "dominant", (), C)) == Chord(C, "dominant")
    assert simplest(Chord(C, "other", (), C)) == Chord(C, "other")
    assert simplest(Chord(C, "dominant", (), Name("E"))) == Chord(C, "dominant", (), Name("E"))


@given(chords)
@settings(max_examples=300, deadline=None)
def test_the_one_form_keeps_the_tones_and_is_its_own(chord: Chord) -> None:
    """The form sounds what the chord sounds, and taking it twice changes nothing."""
    plain = simplest(chord)
    assume(plain is not None)
    assert plain is not None
    assert intervals(plain) == intervals(chord)
    assert simplest(plain) == plain


@given(chords)
@settings(max_examples=200, deadline=None)
def test_the_form_follows_from_the_tones_alone(chord: Chord) -> None:
    """Two chords with the same tones have the same form, whatever kinds they came with."""
    assume(chord.kind != "other")
    assert chord_of(chord.root, intervals(chord), chord.bass) == simplest(chord)
