"""Information fields of ABC 2.1, against the tables of the standard."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillbox.errors import BadInput
from drillbox.music.charts import Meter
from drillbox.notation.abc_fields import (
    read_key,
    read_meter,
    read_tempo,
    read_text,
    read_unit,
    written_text,
)
from tests.notation.pages import HEAD, doubts, notes, phrase, problems, tune
from tests.rows import every_row

# The table of modes in ABC 2.1, section 3.1.14: keys of one signature in a row. Signature in
# sharps (negative: flats), then major, minor, Mixolydian, Dorian, Phrygian, Lydian, Locrian.
MODES = """
7 C# A#m G#Mix D#Dor E#Phr F#Lyd B#Loc
4 E C#m BMix F#Dor G#Phr ALyd D#Loc
1 G Em DMix ADor BPhr CLyd F#Loc
0 C Am GMix DDor EPhr FLyd BLoc
-2 Bb Gm FMix CDor DPhr EbLyd ALoc
-5 Db Bbm AbMix EbDor FPhr GbLyd CLoc
-7 Cb Abm GbMix DbDor EbPhr FbLyd BbLoc
"""


@pytest.mark.parametrize("row", MODES.split("\n")[1:-1])
def test_modes_have_the_signatures_of_the_standard(row: str) -> None:
    """Every key of a row has the row's signature."""
    fifths, *keys = row.split()
    letters = "FCGDAEB" if int(fifths) > 0 else "BEADGCF"
    wanted = dict.fromkeys(letters[: abs(int(fifths))], 1 if int(fifths) > 0 else -1)
    assert [dict(read_key(key).signature) for key in keys] == [wanted] * 7


@every_row(
    ("text", "key"),
    [
        ("Bb", "Bb"), ("Bbm", "Bbm"), ("B♭ minor", "Bbm"), ("F# maj", "F#"),
        ("A mix", "A Mixolydian"), ("DMixolydian", "D Mixolydian"), ("DDor", "D Dorian"),
        ("D Dor", "D Dorian"), ("E phr clef=bass", "E Phrygian"), ("F LYDIAN", "F Lydian"),
        ("B loc", "B Locrian"), ("A aeolian", "Am"), ("C ionian", "C"), ("EM", "E"), ("E M", "E"),
        ("Am clef=treble", "Am"), ("G treble-8", "G"),
    ],
)  # fmt: skip
def test_a_mode_is_kept(text: str, key: str) -> None:
    """By its first three letters; Ionian is major, Aeolian minor (4.6.3)."""
    read = read_key(text)
    assert read.key is not None
    assert read.key.text() == key
    assert read.doubtful is text.endswith("M")


def test_explicit_accidentals_change_or_replace_a_signature() -> None:
    """K:D Phr ^f adds to the mode's signature; exp replaces it; pipes have their own."""
    assert dict(read_key("D Phr ^f").signature) == {"B": -1, "E": -1, "F": 1}
    assert dict(read_key("D exp _b _e ^f").signature) == {"B": -1, "E": -1, "F": 1}
    assert dict(read_key("HP").signature) == {"F": 1, "C": 1}
    assert read_key("none").key is None
    assert read_key("").key is None


@pytest.mark.parametrize("text", ["Bn", "Cmoll", "C foo", "Hm m"])
def test_what_is_no_key_is_refused_or_none(text: str) -> None:
    """A word that isn't a mode, clef or accidental is never passed over."""
    if text.startswith("H"):
        assert read_key(text).key is None
    else:
        with pytest.raises(BadInput, match="is not read"):
            read_key(text)


def test_a_doubtful_mode_is_told() -> None:
    """A lone M is major by the standard, though some write it for minor; Dorian is plain."""
    read = tune('"Dm7"D8|', HEAD.replace("K:C", "K:D dor"))
    assert (read.phrase.key.text(), doubts(read)) == ("D Dorian", [])
    read = tune('"D"D8|', HEAD.replace("K:C", "K:DM"))
    assert doubts(read) == ["line 6, column 1: the mode is M; the phrase's key is read as D"]


@pytest.mark.parametrize(
    ("text", "meter"),
    [
        ("4/4", Meter(4, 4)), ("C", Meter(4, 4)), ("C|", Meter(2, 2)), ("6/8", Meter(6, 8)),
        ("(2+3)/8", Meter(5, 8)), ("2+3+2/8", Meter(7, 8)), (" 3/4 ", Meter(3, 4)),
        ("3/32", Meter(3, 32)), ("64/64", Meter(64, 64)),
        ("none", None), ("", None),
    ],
)  # fmt: skip
def test_meters(text: str, meter: Meter | None) -> None:
    """Simple, additive and free meters of section 3.1.6."""
    assert read_meter(text) == meter


@pytest.mark.parametrize("text", ["4", "4/3", "0/4", "65/4", "4/0", "FREI4/4", "-4/4", "99999/4"])
def test_wrong_meters_are_refused(text: str) -> None:
    """What isn't a meter is refused."""
    with pytest.raises(BadInput, match="is not read"):
        read_meter(text)


def test_unit_lengths() -> None:
    """In quarter notes; only powers of two."""
    assert read_unit("1/8") == Fraction(1, 2)
    assert read_unit("1") == 4
    for wrong in ("1/3", "2/4", "1/0", "x"):
        with pytest.raises(BadInput, match="is not read"):
            read_unit(wrong)


@pytest.mark.parametrize(("meter", "length"), [("4/4", "1/2"), ("3/4", "1/2"), ("2/4", "1/4")])
def test_without_unit_length_the_meter_sets_it(meter: str, length: str) -> None:
    """Below 3/4 a sixteenth, from 3/4 on an eighth (section 3.1.7)."""
    head = f"X:1\nT:a\nM:{meter}\nQ:1/4=99\nK:C\n"
    bars = {"4/4": '"C"C8|', "3/4": '"C"C6|', "2/4": '"C"C8|'}
    read = phrase(bars[meter].replace('"C"', '"C"C').replace("8|", "7|").replace("6|", "5|"), head)
    assert str(read.line[0].length) == length


@pytest.mark.parametrize(
    ("text", "tempo", "doubtful"),
    [
        ("1/4=132", 132, False), ("3/8=60", 90, False), ("1/2=66", 132, False),
        ('"Slow" 1/4=60', 60, False), ('1/8=121 "Up"', Fraction(121, 2), False),
        ("1/4 3/8 1/4 3/8=40", 200, False), ("120", 60, True), ("C=100", 50, True),
        ('"Swing"', None, False), ("1/4=132.5", Fraction(265, 2), False),
    ],
)  # fmt: skip
def test_tempi(text: str, tempo: Fraction | None, doubtful: bool) -> None:
    """Quarter notes a minute of each form in section 3.1.8, and of the old ones in 10.1."""
    read, doubt = read_tempo(text, Fraction(1, 2))
    assert read == tempo
    assert bool(doubt) is doubtful


@pytest.mark.parametrize(
    ("field", "what"),
    [
        ("Q:1/0=3", "line 5, column 1: the tempo Q:1/0=3 is not read"),
        ("Q:fast", "line 5, column 1: the tempo Q:fast is not read"),
        ("Q:1" + "/111" * 40 + "/1x", "line 5, column 1: the tempo Q:1/111"),
        ("Q:1/4=19", "line 5, column 1: the tempo is 19; 20 to 400 is read"),
        ("Q:1/4=999", "line 5, column 1: the tempo is 999; 20 to 400 is read"),
        ("", "line 1, column 1: it has no tempo; add one with --tempo"),
        ('Q:"Up"', "line 5, column 1: it has no tempo; add one with --tempo"),
    ],
)
def test_a_wrong_or_missing_tempo_is_a_problem_with_its_place(field: str, what: str) -> None:
    """Each says line and column, and what is read instead."""
    read = tune('"C"C8|', HEAD.replace("Q:1/4=120\n", field + "\n" if field else ""))
    assert read.phrase is None
    assert problems(read)[0].startswith(what)


def test_a_tempo_that_is_no_whole_number_is_rounded_and_doubted() -> None:
    """60.5 quarter notes a minute become 60."""
    read = tune('"C"C8|', HEAD.replace("1/4=120", "1/8=121"))
    assert read.phrase is not None
    assert read.phrase.tempo == 60
    assert doubts(read) == ["line 5, column 1: the tempo 60 1/2 is rounded to 60 a minute"]


def test_what_a_tune_lacks_may_be_given() -> None:
    """Title, key, tempo and meter stand in where the tune has none, and only there."""
    bare = 'X:1\nK:none\n"C"C8|'
    (lacking,) = [tune("", bare)]
    assert [each.split(": ", 1)[1][:12] for each in problems(lacking)] == [
        "it has no ti", "it names no ", "it has no te", "it has no me"
    ]  # fmt: skip
    from drillbox.music.keys import Key
    from drillbox.music.pitch import Name

    given = {"title": "G", "key": Key(Name("D")), "tempo": 90, "meter": Meter(4, 4)}
    filled = tune("", bare, **given).phrase
    assert filled is not None
    assert (filled.title, filled.key, filled.tempo) == ("G", Key(Name("D")), 90)
    own = tune('"C"C8|', **given).phrase
    assert own is not None
    assert (own.title, own.key, own.tempo) == ("Test", Key(Name("C")), 120)


def test_octaves_and_transposition_sound_as_the_field_says() -> None:
    """A treble-8 clef sounds an octave lower, transpose=-2 a major second (section 4.6)."""
    assert notes(phrase('"C"c8|', HEAD.replace("K:C", "K:C treble-8")).line) == "0 C4 4"
    assert notes(phrase('"C"c8|', HEAD.replace("K:C", "K:C octave=1")).line) == "0 C6 4"
    assert notes(phrase('"C"c8|', HEAD.replace("K:C", "K:C transpose=-2")).line) == "0 Bb4 4"


@given(st.text(st.characters(exclude_categories=("Cs", "Cc")), max_size=20))
def test_text_is_written_such_that_it_reads_back(text: str) -> None:
    """Law: escaping and reading a title is the identity up to blanks."""
    assert read_text(written_text(text)) == " ".join(text.split())


def test_escapes_are_resolved() -> None:
    """The fixed-width and named escapes of section 8.2."""
    assert read_text(r"Caf\u00e9 &amp; 50\% \\") == "Café & 50% \\"


def test_an_order_of_parts_is_doubted() -> None:
    """The notes are read as they stand; in the music a part's name alone says nothing."""
    read = tune('P:A\n"C"C8|', HEAD.replace("K:C", "P:AB\nK:C"))
    assert read.phrase is not None
    assert doubts(read) == ["line 6, column 1: the order of parts (P:) is not followed"]
