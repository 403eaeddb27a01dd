"""Instruments: transpositions and ranges against outside sources, names, written pitch."""

from __future__ import annotations

import music21
import pytest

from drillbox.errors import BadInput
from drillbox.music.keys import Spelling, parse_key
from drillbox.music.moving.instruments import (
    INSTRUMENTS,
    custom_instrument,
    find_instrument,
    parse_interval,
    written_key,
)
from drillbox.music.pitch import Interval


@pytest.mark.parametrize(
    ("name", "theirs"),
    [
        ("flute", "Flute"), ("clarinet", "Clarinet"), ("bass clarinet", "BassClarinet"),
        ("soprano sax", "SopranoSaxophone"), ("alto sax", "AltoSaxophone"),
        ("tenor sax", "TenorSaxophone"), ("baritone sax", "BaritoneSaxophone"),
        ("trumpet", "Trumpet"), ("horn", "Horn"), ("trombone", "Trombone"),
        ("double bass", "Contrabass"), ("piano", "Piano"), ("violin", "Violin"),
        ("viola", "Viola"), ("cello", "Violoncello"), ("vibraphone", "Vibraphone"),
    ],
)  # fmt: skip
def test_transpositions_agree_with_music21(name: str, theirs: str) -> None:
    """music21.instrument gives the interval from written to sounding: ours, turned round."""
    outside = getattr(music21.instrument, theirs)().transposition
    above = find_instrument(name).above
    if outside is None:
        assert above == Interval(0, 0)
    else:
        assert -above.semitones == outside.semitones
        assert -above.steps == (abs(outside.generic.directed) - 1) * outside.direction.value


@pytest.mark.parametrize(
    ("name", "theirs"),
    [
        ("flute", "Flute"), ("clarinet", "Clarinet"), ("bass clarinet", "BassClarinet"),
        ("soprano sax", "SopranoSaxophone"), ("alto sax", "AltoSaxophone"),
        ("tenor sax", "TenorSaxophone"), ("baritone sax", "BaritoneSaxophone"),
        ("trumpet", "Trumpet"), ("trombone", "Trombone"), ("piano", "Piano"),
        ("violin", "Violin"), ("viola", "Viola"), ("cello", "Violoncello"),
    ],
)  # fmt: skip
def test_lowest_notes_agree_with_music21(name: str, theirs: str) -> None:
    """Its lowest notes are written ones; ours sound lower by the transposition."""
    instrument = find_instrument(name)
    assert instrument.sounding_range
    lowest = music21.pitch.Pitch(str(getattr(music21.instrument, theirs)().lowestNote)).midi
    assert instrument.sounding_range[0].midi + instrument.above.semitones == lowest


@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        # Instrument tables of Abjad and music21, partly computed.
        ("tenor sax", "Ab2", "E5"), ("alto sax", "Db3", "A5"),
        ("clarinet", "D3", "Bb6"), ("flute", "C4", "D7"), ("trombone", "E2", "Eb5"),
        ("double bass", "E1", "G4"), ("piano", "A0", "C8"),
        # Lowest: the test above, by music21. Highest: the written high C, common practice.
        ("trumpet", "E3", "Bb5"),
    ],
)  # fmt: skip
def test_sounding_ranges(name: str, low: str, high: str) -> None:
    """The published ranges, end by end."""
    found = find_instrument(name).sounding_range
    assert found
    assert [pitch.text() for pitch in found] == [low, high]


def test_a_guitar_ends_with_its_last_fret() -> None:
    """From the low E string (common practice: E A D G B E) to 24 frets on the high one."""
    found = find_instrument("guitar").sounding_range
    assert found
    low, high = found
    strings = [low.midi + above for above in (0, 5, 10, 15, 19, 24)]
    assert low.text() == "E2"
    assert high.midi == strings[-1] + 24
    assert high.text() == "E6"


def test_the_table_is_sound() -> None:
    """Names and aliases are used once, ranges rise, and each row has its source."""
    names = [name for each in INSTRUMENTS for name in (each.name, *each.aliases)]
    assert len(set(names)) == len(names)
    for each in INSTRUMENTS:
        assert each.source
        assert each.name == each.name.lower()
        if each.sounding_range:
            low, high = each.sounding_range
            assert high.midi - low.midi >= 24


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("tenor sax", "tenor sax"), ("Tenor  Saxophone", "tenor sax"), ("ts", "tenor sax"),
        ("tenor", "tenor sax"), ("bari", "baritone sax"), ("bass", "double bass"),
        ("vibes", "vibraphone"), ("TRUMP", "trumpet"), ("concert", "concert"), ("C", "concert"),
        ("gui", "bass guitar guitar"), ("sax alt", "alto sax"),
    ],
)  # fmt: skip
def test_names_are_found(typed: str, name: str) -> None:
    """By name, alias or the beginnings of words; what may be several is refused with them all."""
    if typed == "gui":
        with pytest.raises(BadInput, match="may be several") as caught:
            find_instrument(typed)
        assert "one of bass guitar, guitar;" in caught.value.remedy
    else:
        assert find_instrument(typed).name == name


def test_unknown_names_are_refused_with_near_ones() -> None:
    """A slip offers the near name; nonsense offers them all."""
    with pytest.raises(BadInput, match="isn't a known instrument") as caught:
        find_instrument("trombnoe")
    assert caught.value.remedy.startswith("Write one of trombone")
    for typed in ("", "zzz"):
        with pytest.raises(BadInput) as caught:
            find_instrument(typed)
        assert all(each.name in caught.value.remedy for each in INSTRUMENTS)


@pytest.mark.parametrize(
    ("typed", "above", "low", "high"),
    [
        ("Bb E3-Bb5", "M2", "E3", "Bb5"), ("Eb, Db3-A5", "M6", "Db3", "A5"),
        ("F B1 to F5", "P5", "B1", "F5"), ("C C2 C6", "P1", "C2", "C6"),
        ("M9 Ab2–E5", "M9", "Ab2", "E5"), ("-P8 D5-C8", "-P8", "D5", "C8"),
        ("A C#3-A6", "m3", "C#3", "A6"), ("G G3 - G6", "P4", "G3", "G6"),
    ],
)  # fmt: skip
def test_an_instrument_of_the_players_own(typed: str, above: str, low: str, high: str) -> None:
    """What the written C sounds, or an interval; then the range. Its name finds it again."""
    found = find_instrument(typed)
    assert found.above == parse_interval(above)
    assert found.sounding_range
    assert [pitch.text() for pitch in found.sounding_range] == [low, high]
    assert find_instrument(found.name) == found


@pytest.mark.parametrize(
    ("transposition", "low", "high"),
    [("H", "C3", "C5"), ("M5", "C3", "C5"), ("P3", "C3", "C5"), ("Bb", "C", "C5"),
     ("Bb", "C3", "H5"), ("Bb", "C5", "C3"), ("Bb", "C3", "B3"), ("M99", "C3", "C5")],
)  # fmt: skip
def test_what_describes_no_instrument_is_refused(transposition: str, low: str, high: str) -> None:
    """No such transposition, pitch or range; less than an octave isn't a range."""
    with pytest.raises(BadInput):
        custom_instrument(transposition, low, high)


@pytest.mark.parametrize(
    ("text", "steps", "semitones"),
    [("P1", 0, 0), ("M2", 1, 2), ("m3", 2, 3), ("P5", 4, 7), ("M6", 5, 9), ("P8", 7, 12),
     ("M9", 8, 14), ("M13", 12, 21), ("-P8", -7, -12), ("P15", 14, 24)],
)  # fmt: skip
def test_interval_names(text: str, steps: int, semitones: int) -> None:
    """Quality and number, as the trade counts; checked against music21 by name."""
    assert parse_interval(text) == Interval(steps, semitones)
    assert music21.interval.Interval(text).semitones == semitones


@pytest.mark.parametrize(
    ("instrument", "concert", "written"),
    [
        # Concert keys and those of Bb and Eb parts, from tables of transposed keys.
        ("trumpet", "C F Bb Eb Ab Db B E A D G", "D G C F Bb Eb Db Gb B E A"),
        ("alto sax", "C F Bb Eb Ab Db Gb B E A D G", "A D G C F Bb Eb Ab Db Gb B E"),
        ("horn", "C F Bb Eb Gb B", "G C F Bb Db Gb"),
        ("trumpet", "Cm Fm C#m Bm", "Dm Gm Ebm C#m"),
        ("guitar", "C F# Cb", "C F# Cb"),
        ("concert", "Gb F# D#m", "Gb F# D#m"),
    ],
)
def test_written_keys(instrument: str, concert: str, written: str) -> None:
    """Transposed, then spelled as players write keys; octaves and concert change nothing."""
    found = [written_key(parse_key(key), find_instrument(instrument)) for key in concert.split()]
    assert " ".join(key.text() for key in found) == written


def test_written_keys_follow_the_spelling_chosen() -> None:
    """Concert E for a trumpet is Gb or F#."""
    trumpet = find_instrument("trumpet")
    assert written_key(parse_key("E"), trumpet, Spelling(gb="F#")).text() == "F#"
