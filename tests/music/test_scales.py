"""The scale that a chord is paired with, by its function and by its symbol."""

from __future__ import annotations

import pytest

from drillbox.music.analysis.functions import functions_of
from drillbox.music.analysis.scales import (
    NETTLES_GRAF,
    PRACTICE,
    RULES,
    SCALES,
    Pairing,
    paired_scale,
    scale_fits,
    scale_semitones,
)
from drillbox.music.chords import own_degrees
from drillbox.music.symbols.parsing import parse_symbol
from tests.rows import every_row

from .worked import phrase


def paired(chart: str, index: int, key: str = "C") -> Pairing:
    read = phrase(chart, key=key)
    span = [each for _, each in read.chart.spans()][index]
    assert span.chord
    found = paired_scale(span.chord, functions_of(read.chart, read.key)[index], read.key.mode)
    assert found
    return found


# Nettles & Graf, The Chord Scale Theory and Jazz Harmony, 1997.
STATED = [
    ("| Dm7 | G7 | Cmaj7 |", 0, "Dorian"),
    ("| Dm7 | G7 | Cmaj7 |", 1, "Mixolydian"),
    ("| A7 | Dm7 | G7 | C6 |", 0, "Mixolydian b13"),
    ("| B7 | Em7 | G7 | C6 |", 0, "Mixolydian b9 b13"),
    ("| E7 | Am7 | G7 | C6 |", 0, "Mixolydian b9 b13"),
    ("| Dm7 | Db7 | Cmaj7 |", 1, "Lydian b7"),
    ("| Ab7 | G7 | Cmaj7 |", 0, "Lydian b7"),
]


@pytest.mark.parametrize(("chart", "index", "scale"), STATED)
def test_pairings_of_the_book_come_with_the_book(chart: str, index: int, scale: str) -> None:
    """What the chord-scale book pairs is paired so, and says where it's from."""
    found = paired(chart, index)
    assert (found.scale, found.source) == (scale, NETTLES_GRAF)


PRACTISED = [
    ("C", "| C7 | Fm7 | G7 | C6 |", 0, "Mixolydian b9 b13", ("altered",)),
    ("C", "| D7 | G7 | C6 |", 0, "Mixolydian", ()),
    ("C", "| D7 | Dm7 | G7 | C6 |", 0, "Lydian b7", ("Mixolydian",)),
    ("C", "| A7 | Dm7 | G7 | C6 |", 0, "Mixolydian b13", ("Mixolydian b9 b13", "altered")),
    ("C", "| A7#9 | Dm7 | G7 | C6 |", 0, "altered", ()),
    ("C", "| Fm6 | Bb7 | C6 |", 0, "melodic minor", ("Dorian",)),
    ("C", "| Fm7 | Bb7 | C6 |", 1, "Lydian b7", ()),
    ("C", "| Em7b5 | A7b9 | Dm7 | G7 |", 0, "Locrian", ("Locrian natural 2",)),
    ("Cm", "| Dm7b5 | G7 | Cm |", 0, "Locrian", ("Locrian natural 2",)),
    ("Cm", "| Dm7b5 | G7b9 | Cm |", 1, "Mixolydian b9 b13", ("altered",)),
    ("Cm", "| Dm7b5 | G7alt | Cm |", 1, "altered", ()),
    # The tonic of a minor key: what its symbol leaves open is the player's choice.
    ("Cm", "| Dm7b5 | G7 | Cm |", 2, "melodic minor", ("Aeolian", "Dorian", "harmonic minor")),
    ("Cm", "| Dm7b5 | G7 | Cm6 |", 2, "melodic minor", ("Dorian",)),
    ("Cm", "| Dm7b5 | G7 | Cm7 |", 2, "Aeolian", ("Dorian",)),
    ("Am", "| Am7 | Bm7b5 | Cmaj7 | Dm7 | Em7 | Fmaj7 | G7 |", 0, "Aeolian", ("Dorian",)),
    ("C", "| Dm7b5 | G7 | Cm | Cmaj7 |", 2, "melodic minor", ("Dorian", "harmonic minor")),
    # A bass belongs to the scale.
    ("Am", "| Am | Am/G | Fmaj7 | E7 |", 1, "Aeolian", ("Dorian",)),
    ("Bm", "| Bm/A | Gmaj7 | F#7 |", 0, "Aeolian", ("Dorian",)),
    ("Cm", "| Cm | Cm/B | Cm/Bb | G7 |", 1, "melodic minor", ("harmonic minor",)),
    ("C", "| C | C/Bb | F/A | G7 |", 1, "Mixolydian", ()),
    ("C", "| C | C/Ab | F/A | G7 |", 1, "Mixolydian b13", ()),
    ("C", "| C | C/E | C/G | G7 |", 1, "Ionian", ("Lydian",)),
    ("C", "| C | C/F# | Fmaj7 | G7 |", 1, "Lydian", ()),
    # A suspended dominant on its way to a minor chord.
    ("Cm", "| Dm7b5 | G7sus4 G7 | Cm6 |", 1, "Phrygian", ("Mixolydian b13",)),
    ("Cm", "| Dm7 | G9sus4 | Cm6 |", 1, "Mixolydian b13", ()),
    ("Cm", "| Dm7 | G13sus4 | Cm6 |", 1, "Mixolydian", ()),
    ("C", "| E7sus4 E7 | Am7 |", 0, "Phrygian", ("Mixolydian b13",)),
    ("C", "| A7sus4 A7 | Dm7 | G7 |", 0, "Mixolydian b13", ("Phrygian",)),
    ("C", "| Dm7b5 | G7sus4 G7 | Cmaj7 |", 1, "Phrygian", ("Mixolydian b13",)),
    ("Cm", "| Dm7b5 | G7 | Cm(maj7) |", 2, "melodic minor", ("harmonic minor",)),
    ("C", "| Cmaj7 | C#dim7 | Dm7 | G7 |", 1, "whole-half diminished", ()),
    ("F", "| F7 | Bb7 | F7 |", 1, "Lydian b7", ("Mixolydian",)),
    ("C", "| Cmaj7 | Abmaj7 | C6 |", 1, "Lydian", ("Ionian",)),
]


@every_row(("key", "chart", "index", "scale", "also"), PRACTISED)
def test_other_pairings_are_those_of_common_practice(
    key: str, chart: str, index: int, scale: str, also: tuple[str, ...]
) -> None:
    """The scale first, then the others in use that hold what the symbol says."""
    found = paired(chart, index, key)
    assert (found.scale, found.also) == (scale, also)


SYMBOLS = {
    "G7#11": "Lydian b7",
    "G7b5": "Lydian b7",
    "G7b13": "Mixolydian b13",
    "G7b9": "half-whole diminished",
    "G13b9": "half-whole diminished",
    "G7#9": "half-whole diminished",
    "G7#5": "whole tone",
    "G7#5#9": "altered",
    "G7alt": "altered",
    "G13": "Mixolydian",
    "G7sus4": "Mixolydian",
    "G7susb9": "Phrygian",
}


@every_row("text", SYMBOLS)
def test_what_the_symbol_says_comes_before_the_function(text: str) -> None:
    """A V with altered notes takes the first scale that holds them and no plain fifth to a #5."""
    assert paired(f"| Dm7 | {text} | Cmaj7 |", 1).scale == SYMBOLS[text]


def test_a_symbol_that_leaves_the_rule_leaves_its_source() -> None:
    """G7alt in major isn't the book's pairing of V; the altered scale is common practice."""
    assert paired("| Dm7 | G7alt | Cmaj7 |", 1).source == PRACTICE


def test_an_open_chord_has_no_scale() -> None:
    """C5 says too little; only its own tones are diatonic over it."""
    chord = parse_symbol("C5")
    assert chord
    assert paired_scale(chord, None, "major") is None
    assert scale_semitones(chord, None) == {0, 7}


def test_a_bass_is_diatonic_over_its_chord() -> None:
    """Over C/Db the D flat is, though no scale in use on C has it beside a plain ninth."""
    chord = parse_symbol("C/Db")
    assert chord
    assert 1 in scale_semitones(chord, Pairing("Ionian", (), PRACTICE))


def test_unclear_chords_go_by_their_family() -> None:
    """Without a function a dominant takes Lydian b7, a minor chord Dorian, and so on."""
    wanted = {"F#maj7": "Lydian", "F#m7": "Dorian", "F#7": "Lydian b7", "Faug": "whole tone",
              "F#m7b5": "Locrian natural 2", "Fdim": "whole-half diminished",
              "Fsus4": "Mixolydian"}  # fmt: skip
    for text, scale in wanted.items():
        chord = parse_symbol(text)
        assert chord
        found = paired_scale(chord, None, "major")
        assert found
        assert found.scale == scale


def test_every_rule_names_scales_that_there_are() -> None:
    """Each scale begins on the root, rises, and the table of rules uses no other."""
    for tones in SCALES.values():
        assert tones[0] == 0
        assert list(tones) == sorted(set(tones))
    assert {name for rule in RULES for name in (rule.scale, *rule.also)} <= set(SCALES)


def test_scales_of_seven_notes_are_modes_of_their_parents() -> None:
    """Lydian b7 and altered are the fourth and seventh modes of melodic minor (its theory)."""

    def mode(parent: str, number: int) -> tuple[int, ...]:
        tones = SCALES[parent]
        return tuple(sorted((each - tones[number - 1]) % 12 for each in tones))

    assert mode("melodic minor", 4) == SCALES["Lydian b7"]
    assert mode("melodic minor", 5) == SCALES["Mixolydian b13"]
    assert mode("melodic minor", 6) == SCALES["Locrian natural 2"]
    assert mode("melodic minor", 7) == SCALES["altered"]
    assert mode("melodic minor", 3) == SCALES["Lydian augmented"]
    assert mode("melodic minor", 2) == SCALES["Dorian b9"]
    assert mode("harmonic minor", 5) == SCALES["Mixolydian b9 b13"]
    for number, name in enumerate(
        ("Ionian", "Dorian", "Phrygian", "Lydian", "Mixolydian", "Aeolian", "Locrian"), 1
    ):
        assert mode("Ionian", number) == SCALES[name]


def test_a_scale_fits_a_symbol_whose_tones_it_holds() -> None:
    """The plain fifth may be missing, a #5 forbids it, a C13's implied 11 isn't asked for."""
    wanted = [("C7#9", "altered", True), ("C7#5", "Mixolydian b13", False),
              ("C13", "Lydian b7", True), ("C13", "altered", False)]  # fmt: skip
    for text, scale, answer in wanted:
        chord = parse_symbol(text)
        assert chord
        assert scale_fits(scale, chord) is answer
        assert own_degrees(chord)


def test_a_pairing_prints_in_ascii_and_unicode() -> None:
    """The other scales stand in parentheses."""
    found = Pairing("Mixolydian b13", ("Mixolydian b9 b13",), NETTLES_GRAF)
    assert found.text() == "Mixolydian b13 (or Mixolydian b9 b13)"
    assert found.text(ascii=False) == "Mixolydian ♭13 (or Mixolydian ♭9 ♭13)"
    assert Pairing("Dorian", (), PRACTICE).text() == "Dorian"
