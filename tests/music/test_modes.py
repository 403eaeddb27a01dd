"""Church modes are keys: read, written, in twelve keys, with chords and scales of their own."""

from __future__ import annotations

import pytest

from drillbox.errors import BadInput
from drillbox.music.analysis.whole import chord_facts, function_text, scale_text
from drillbox.music.charts import Meter
from drillbox.music.keys import MODES, SCALES, Key, conventional_key, in_order, parse_key, twelve
from drillbox.music.symbols.typed import parse_chart

FOUR = Meter(4, 4)


@pytest.mark.parametrize(
    ("typed", "name", "fifths"),
    [
        ("D Dorian", "D Dorian", 0),
        ("d dor", "D Dorian", 0),
        ("Ddorian", "D Dorian", 0),
        ("Bb mixolydian", "Bb Mixolydian", -3),
        ("B♭ Mix", "Bb Mixolydian", -3),
        ("F# lydian", "F# Lydian", 7),
        ("e flat phrygian", "Eb Phrygian", -7),
        ("B locrian", "B Locrian", 0),
        ("C ionian", "C", 0),
        ("A aeolian", "Am", 0),
    ],
)
def test_is_read_by_its_name(typed: str, name: str, fifths: int) -> None:
    """Signatures as in ABC 2.1, section 4.6.3: each mode has that of a major key."""
    key = parse_key(typed)
    assert (key.text(), key.fifths) == (name, fifths)
    assert parse_key(key.text()) == key


def test_a_near_name_is_proposed() -> None:
    """For a slip of the finger as for a signature that no key has."""
    with pytest.raises(BadInput) as caught:
        parse_key("D Dorain")
    assert "D Dorian" in caught.value.remedy
    with pytest.raises(BadInput, match="more accidentals") as caught:
        parse_key("G# Lydian")
    assert "Ab Lydian" in caught.value.remedy


@pytest.mark.parametrize("mode", MODES)
def test_there_are_twelve_of_each(mode: str) -> None:
    """None has more accidentals than players read, nor a white key under another name."""
    keys = twelve(mode)  # type: ignore[arg-type]
    assert len({key.tonic.pitch_class for key in keys}) == 12
    assert all(abs(key.fifths) <= 6 for key in keys)
    assert not {"Cb", "Fb", "E#", "B#"} & {key.tonic.text() for key in keys}
    assert in_order(keys[0], "fourths") == keys
    assert keys[0].tonic.text() == "C"
    assert all(conventional_key(key) == key for key in keys)


def test_the_scales_are_the_white_keys_begun_elsewhere() -> None:
    """Common practice; the third parts them into two sides."""
    assert SCALES["Dorian"] == (0, 2, 3, 5, 7, 9, 10)
    assert SCALES["Lydian"] == (0, 2, 4, 6, 7, 9, 11)
    assert SCALES["Locrian"] == (0, 1, 3, 5, 6, 8, 10)
    sides = {mode: Key(parse_key("C").tonic, mode).third for mode in MODES}
    assert [mode for mode, side in sides.items() if side == "major"] == [
        "major",
        "Lydian",
        "Mixolydian",
    ]


@pytest.mark.parametrize(
    ("key", "chart", "said"),
    [
        ("D Dorian", "Dm7 | G7 | Dm7 | Em7",
         "i (Dorian): Dorian, IV7: Mixolydian, i (Dorian): Dorian, ii: Phrygian"),
        ("D Dorian", "Dm7", "i (Dorian): Dorian"),  # the chart alone doesn't tell
        ("E Phrygian", "Em7 | Fmaj7", "i (Phrygian): Phrygian, bII: Lydian"),
        ("C Lydian", "Cmaj7 | D7 | Bm7",
         "I (Lydian): Lydian, II7: Mixolydian, vii: Phrygian"),
        ("G Mixolydian", "G7 | C | F | G7",
         "I7 (Mixolydian): Mixolydian, IV: Ionian, bVII: Lydian, I7 (Mixolydian): Mixolydian"),
        ("B Locrian", "Bm7b5 | Cmaj7", "i (Locrian): Locrian, bII: Ionian"),
        ("D Dorian", "Dm7 | A7 | Dm7",
         "i (Dorian): Dorian, V: Mixolydian b9 b13 (or altered), i (Dorian): Dorian"),
    ],
)  # fmt: skip
def test_chords_and_scales_are_those_of_the_mode(key: str, chart: str, said: str) -> None:
    """Each chord by its degree, over the mode begun on its root; a V from outside stays one."""
    named = parse_key(key)
    facts = chord_facts(parse_chart(chart, FOUR), named)
    found = [f"{function_text(each, named)}: {scale_text(each)}" for each in facts]
    assert ", ".join(found) == said
