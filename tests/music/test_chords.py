"""What sounds in a chord, against the MusicXML definitions and against the trade."""

from __future__ import annotations

import pytest

from drillbox.music.chords import (
    KINDS,
    Chord,
    Degree,
    chord_semitones,
    degree_semitones,
    degree_text,
    family_of,
    guide_tones,
    has_flat_fifth,
    has_minor_third,
    intervals,
    is_diminished,
    is_dominant,
    is_half_diminished,
    is_minor_quality,
    sound_alike,
    tones,
)
from drillbox.music.pitch import Name, parse_name
from drillbox.music.symbols.parsing import parse_symbol
from tests.music.musicxml_schema import SPEC, spelled
from tests.music.symbol_table import Row, rows
from tests.rows import every_row


def names(*texts: str) -> tuple[Name, ...]:
    return tuple(parse_name(text) for text in texts)


def chord(text: str) -> Chord:
    found = parse_symbol(text)
    assert found is not None
    return found


def test_the_table_has_at_least_150_different_symbols() -> None:
    """The check table is as long as it claims, with no symbol twice."""
    symbols = [row[0] for row in rows()]
    assert len(set(symbols)) == len(symbols) >= 150
    # C11 is read without its third, so no symbol has the kind that has it
    assert {row[1] for row in rows()} == set(SPEC) - {"dominant-11th"}


@every_row("row", rows())
def test_a_symbol_is_read_to_its_kind_degrees_and_tones(row: Row) -> None:
    """Each symbol of the table has the kind, degrees and spelled tones worked by hand."""
    symbol, kind, degrees, sounding = row
    found = chord(symbol)
    assert found.kind == kind
    assert tuple((each.action, each.number, each.alter) for each in found.degrees) == degrees
    assert tuple(name.text() for name in tones(found)) == sounding


def test_all_33_kind_values_are_known() -> None:
    """No kind-value of MusicXML 4.0 is missing; the list is the schema's own."""
    undefined = {"Neapolitan", "Italian", "French", "German", "pedal", "Tristan", "other", "none"}
    assert set(KINDS) == set(SPEC) | undefined
    assert len(KINDS) == 33


@pytest.mark.parametrize(
    ("kind", "sounding"),
    [
        # Textbook spellings in C: the Neapolitan sixth (Db in first inversion) and the
        # augmented sixths on Ab; the Tristan chord F B D# G#.
        ("Neapolitan", "Db F Ab"),
        ("Italian", "C F# Ab"),
        ("French", "C D F# Ab"),
        ("German", "C Eb F# Ab"),
        ("pedal", "C"),
        ("other", "C"),
        ("none", ""),
    ],
)
def test_kinds_that_the_schema_only_names(kind: str, sounding: str) -> None:
    """Kinds without a definition in the schema have their textbook tones over the root."""
    assert {name.text() for name in tones(Chord(Name("C"), kind))} == set(sounding.split())


def test_the_tristan_chord() -> None:
    """The chord of Wagner's bar 2, F B D# G#, stands on F."""
    assert tones(Chord(Name("F"), "Tristan")) == names("F", "B", "D#", "G#")


def test_other_is_spelled_by_its_degrees() -> None:
    """Kind 'other' is spelled explicitly by its degrees together with the root."""
    degrees = (Degree("add", 4, 1), Degree("add", 7, 0), Degree("add", 10, -1))
    assert tones(Chord(Name("D"), "other", degrees)) == names("D", "F", "G#", "C")


def test_alteration_is_relative_to_the_kind_and_addition_to_a_dominant() -> None:
    """An altered 7 counts from the kind's own seventh, an added 7 from the minor one."""
    altered = Chord(Name("C"), "major-seventh", (Degree("alter", 7, -1),))
    added = Chord(Name("C"), "suspended-fourth", (Degree("add", 7, 0),))
    assert tones(altered) == names("C", "E", "G", "Bb")
    assert tones(added) == names("C", "F", "G", "Bb")


def test_alterations_and_subtractions_of_what_isn_t_there() -> None:
    """A file's 'alter 9' on a seventh chord adds the tension; subtracting nothing is nothing."""
    altered = Chord(Name("C"), "dominant", (Degree("alter", 9, -1), Degree("subtract", 13)))
    assert tones(altered) == names("C", "E", "G", "Bb", "Db")


def test_the_order_of_degrees_doesn_t_matter() -> None:
    """Degrees are read against the kind, not one after another."""
    one = (Degree("alter", 5, -1), Degree("alter", 5, 1), Degree("subtract", 3))
    assert intervals(Chord(Name("C"), "dominant", one)) == intervals(
        Chord(Name("C"), "dominant", one[::-1])
    )
    assert intervals(Chord(Name("C"), "dominant", one)) == ((1, 0), (5, -1), (5, 1), (7, -1))


def test_an_unknown_kind_is_an_error_not_a_bare_root() -> None:
    """A kind outside the schema isn't silently taken for its root."""
    with pytest.raises(ValueError, match="'jazzy' isn't a kind-value"):
        tones(Chord(Name("C"), "jazzy"))


@every_row(
    ("symbol", "expected"),
    [
        ("C7", "E Bb"), ("Cmaj7", "E B"), ("Cm7", "Eb Bb"), ("Cm(maj7)", "Eb B"),
        ("C6", "E A"), ("Cm69", "Eb A"), ("Cm7b5", "Eb Bb"), ("Cdim7", "Eb Bbb"),
        ("C13#11", "E Bb"), ("C7alt", "E Bb"), ("C7sus4", "F Bb"), ("C13sus", "F Bb"),
        ("Csus4", "F"), ("Csus2", "D"), ("C", "E"), ("Cm", "Eb"), ("Caug", "E G#"),
        ("Cdim", "Eb Gb"), ("C(b5)", "E Gb"), ("Cadd9", "E"), ("C7no3", "Bb"), ("C5", ""),
        ("C7(add6)", "E Bb"), ("C6sus4", "F A"), ("C/D", "E"), ("C(pedal)", ""),
    ],
)  # fmt: skip
def test_guide_tones_of_each_sort_of_chord(symbol: str, expected: str) -> None:
    """Third and seventh; the sixth or the suspended tone in their place; an altered triad's 5."""
    assert " ".join(name.text() for name in guide_tones(chord(symbol))) == expected


@every_row(
    ("two", "five", "one", "guides"),
    [
        # Published tables of ii-V-I guide tones (3rd and 7th) in the twelve major keys.
        ("Dm7", "G7", "Cmaj7", "F C B F E B"),
        ("Gm7", "C7", "Fmaj7", "Bb F E Bb A E"),
        ("Cm7", "F7", "Bbmaj7", "Eb Bb A Eb D A"),
        ("Fm7", "Bb7", "Ebmaj7", "Ab Eb D Ab G D"),
        ("Bbm7", "Eb7", "Abmaj7", "Db Ab G Db C G"),
        ("Ebm7", "Ab7", "Dbmaj7", "Gb Db C Gb F C"),
        ("Abm7", "Db7", "Gbmaj7", "Cb Gb F Cb Bb F"),
        ("C#m7", "F#7", "Bmaj7", "E B A# E D# A#"),
        ("F#m7", "B7", "Emaj7", "A E D# A G# D#"),
        ("Bm7", "E7", "Amaj7", "D A G# D C# G#"),
        ("Em7", "A7", "Dmaj7", "G D C# G F# C#"),
        ("Am7", "D7", "Gmaj7", "C G F# C B F#"),
    ],
)
def test_guide_tones_of_two_five_one_in_every_key(
    two: str, five: str, one: str, guides: str
) -> None:
    """The guide tones of ii-V-I in twelve keys are those that the tables print."""
    found = [name.text() for text in (two, five, one) for name in guide_tones(chord(text))]
    assert found == guides.split()


@every_row("root", [*"CDEFGAB", "Bb", "Eb", "Ab", "Db", "Gb"])
def test_a_tritone_substitute_shares_the_guide_tones(root: str) -> None:
    """The third and seventh of a dominant are the seventh and third of its substitute."""
    seventh = Chord(parse_name(root), "dominant")
    substitute = Chord(parse_name(spelled(root, 4, 6)), "dominant")
    mine = [name.pitch_class for name in guide_tones(seventh)]
    theirs = [name.pitch_class for name in guide_tones(substitute)]
    assert mine == theirs[::-1]


QUALITIES = {
    "dominant": "C7 C9 C13 C7b9 C7alt C7#5 C9sus4 C7sus4b9 C7(no5)",
    "minor": "Cm Cm7 Cm6 Cm69 Cm(maj7) Cm9 Cm11 Cm(add9) Cm7#5",
    "half-diminished": "Cm7b5 Cm9b5 Cm11b5 Cm7b5b9",
    "diminished": "Cdim Cdim7 Cdim(maj7)",
    "none": "C5 Csus4 Csus2 C7(no3) C7sus2 Cmaj7sus4"
    " C Cmaj7 C6 C69 Cmaj7#11 Cadd9 Caug Cmaj7#5 C(b5)",
}


@every_row(("quality", "symbol"), [(q, s) for q, texts in QUALITIES.items() for s in texts.split()])
def test_a_chord_has_one_quality_at_most(quality: str, symbol: str) -> None:
    """The four quality tests exclude each other: each holds for its own and no other."""
    found = chord(symbol)
    told = {
        "dominant": is_dominant(found),
        "minor": is_minor_quality(found),
        "half-diminished": is_half_diminished(found),
        "diminished": is_diminished(found),
    }
    assert [name for name, holds in told.items() if holds] == [quality] * (quality != "none")


def test_thirds_and_fifths() -> None:
    """The single facts are told from what sounds, not from the kind's name."""
    assert has_minor_third(chord("Cdim7"))
    assert not has_minor_third(chord("C7#9"))
    assert has_flat_fifth(chord("C7b5"))
    assert not has_flat_fifth(chord("C7#11"))


def test_degrees_are_named_as_players_do() -> None:
    """A minor seventh is b7, a diminished one bb7; Unicode has its own signs."""
    named = [degree_text(*each) for each in ((3, -1), (7, 0), (7, -1), (7, -2), (11, 1), (13, -1))]
    assert named == ["b3", "7", "b7", "bb7", "#11", "b13"]
    assert degree_text(7, -2, ascii=False) == "𝄫7"
    assert degree_text(9, 1, ascii=False) == "♯9"


def test_chord_tones_stop_below_the_octave() -> None:
    """C13 has four chord tones, its 9 11 13 are tensions; a sixth or sus tone is a chord tone."""
    assert chord_semitones(chord("C13")) == {0, 4, 7, 10}
    assert chord_semitones(chord("C69")) == {0, 4, 7, 9}
    assert chord_semitones(chord("C7sus4")) == {0, 5, 7, 10}
    assert chord_semitones(chord("C/F")) == {0, 4, 7}


FAMILIES = {
    "major": "C Cmaj7 C6 C69 Cmaj9 Cmaj7#11 Cmaj7#5 Cadd9",
    "dominant": "C7 C9 C13 C7b9 C7alt C7#5 C7b5",
    "minor": "Cm Cm7 Cm6 Cm(maj7) Cm9 Cm11",
    "half-diminished": "Cm7b5",
    "diminished": "Cdim Cdim7",
    "augmented": "Caug",
    "suspended": "Csus4 Csus2 C7sus4 C9sus4",
    "open": "C5",
}


@pytest.mark.parametrize("name", FAMILIES)
def test_a_chord_belongs_to_the_family_of_its_third_fifth_and_seventh(name: str) -> None:
    """Every symbol of a row is of that row's family."""
    assert {family_of(chord(each)) for each in FAMILIES[name].split()} == {name}


def test_chords_are_alike_by_sound() -> None:
    """F#7 and Gb7 are alike, F#7 and F#m7 aren't, nor C and C/E, nor a chord and none."""
    assert sound_alike(chord("F#7"), chord("Gb7"))
    assert not sound_alike(chord("F#7"), chord("F#m7"))
    assert not sound_alike(chord("C"), chord("C/E"))
    assert sound_alike(None, None)
    assert not sound_alike(None, chord("C"))


def test_semitones_of_degrees_beyond_the_octave() -> None:
    """A b9 lies one semitone above the root's octave, a #11 six, a bb7 nine."""
    assert [degree_semitones(each) for each in ((9, -1), (11, 1), (13, -1), (7, -2))] == [
        1,
        6,
        8,
        9,
    ]
