"""Degrees as players name them, whatever the spelling."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.music.chords import Chord
from drillbox.music.degrees import degree, guide_semitones, with_signs
from drillbox.music.keys import twelve
from drillbox.music.pitch import Interval, Name, parse_name
from drillbox.music.symbols.parsing import parse_symbol
from tests.rows import every_row

CHROMATIC = ["C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B"]

# Twelve notes from C up over each chord (common practice: b9 not #1, #9 only over a major
# third, b5 where the third is minor, 4 6 b6 where there is no seventh to stack upon).
TABLE = {
    "C7": "1 b9 9 #9 3 11 #11 5 b13 13 b7 7",
    "Cmaj7": "1 b9 9 #9 3 11 #11 5 b13 13 b7 7",
    "Cm7": "1 b9 9 b3 3 11 b5 5 b13 13 b7 7",
    "Cm7b5": "1 b9 9 b3 3 11 b5 5 b13 13 b7 7",
    "Cdim7": "1 b9 9 b3 3 11 b5 5 b13 bb7 b7 7",
    "C6": "1 b9 9 #9 3 4 #11 5 b6 6 b7 7",
    "C69": "1 b9 9 #9 3 4 #11 5 b6 6 b7 7",
    "Cm6": "1 b9 9 b3 3 4 b5 5 b6 6 b7 7",
    "C": "1 b9 9 #9 3 4 #11 5 b6 6 b7 7",
    "C7#5": "1 b9 9 #9 3 11 #11 5 #5 13 b7 7",
    "C7b5": "1 b9 9 #9 3 11 b5 5 b13 13 b7 7",
    "C7#11": "1 b9 9 #9 3 11 #11 5 b13 13 b7 7",
    "C7alt": "1 b9 9 #9 3 11 b5 5 #5 13 b7 7",
    "C7sus4": "1 b9 9 b3 3 4 #11 5 b13 13 b7 7",
    "Csus2": "1 b9 2 b3 3 4 #11 5 b6 6 b7 7",
    "Cm(maj7)": "1 b9 9 b3 3 11 b5 5 b13 13 b7 7",
    "C5": "1 b9 9 b3 3 4 #11 5 b6 6 b7 7",
}


def symbol(text: str) -> Chord:
    chord = parse_symbol(text)
    assert chord
    return chord


@every_row("text", TABLE)
def test_every_note_over_a_chord_has_the_degree_that_players_say(text: str) -> None:
    """All twelve notes over each kind of chord are named as the table says."""
    assert " ".join(degree(symbol(text), parse_name(note)) for note in CHROMATIC) == TABLE[text]


def test_a_degree_goes_by_sound_not_by_spelling() -> None:
    """C# over C7 is its b9, G# its b13, D# over Cm7 its b3: never #1, #5 or #9."""
    assert degree(symbol("C7"), parse_name("C#")) == "b9"
    assert degree(symbol("C7"), parse_name("G#")) == "b13"
    assert degree(symbol("Cm7"), parse_name("D#")) == "b3"
    assert degree(symbol("B7"), parse_name("Eb")) == "3"


@given(
    st.sampled_from(list(TABLE)),
    st.sampled_from(CHROMATIC),
    st.sampled_from([key.tonic for key in twelve("major")]),
)
@settings(max_examples=100)
def test_a_degree_stays_when_chord_and_note_move_together(text: str, note: str, to: Name) -> None:
    """Law: degrees are invariant under transposition."""
    way = Name("C").interval_to(to)
    chord, name = symbol(text), parse_name(note)
    moved = Chord(chord.root.up(way), chord.kind, chord.degrees)
    assert degree(moved, name.up(way)) == degree(chord, name)


def test_guide_tones_are_third_and_seventh_or_what_stands_for_them() -> None:
    """Third and seventh; the sixth of a sixth chord, the fourth of a sus chord."""
    assert guide_semitones(symbol("Cm7")) == {3, 10}
    assert guide_semitones(symbol("C6")) == {4, 9}
    assert guide_semitones(symbol("C7sus4")) == {5, 10}
    assert guide_semitones(symbol("C5")) == set()


def test_a_tritone_substitute_shares_its_guide_tones() -> None:
    """Third and seventh of a dominant are seventh and third of the one a tritone away."""
    for key in twelve("major"):
        dominant = Chord(key.tonic, "dominant")
        substitute = Chord(key.tonic.up(Interval(4, 6)), "dominant")
        sounding = [
            {(chord.root.pitch_class + at) % 12 for at in guide_semitones(chord)}
            for chord in (dominant, substitute)
        ]
        assert sounding[0] == sounding[1]


def test_signs_are_set_before_numbers_and_numerals_only() -> None:
    """The b of "sub V" isn't a flat."""
    assert with_signs("sub V/bIII", ascii=False) == "sub V/♭III"
    assert with_signs("bb7", ascii=False) == "𝄫7"
    assert with_signs("Mixolydian b9 b13", ascii=False) == "Mixolydian ♭9 ♭13"
    assert with_signs("#11", ascii=True) == "#11"
