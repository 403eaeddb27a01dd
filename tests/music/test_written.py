"""Written pitch and concert pitch: there, back, and nothing lost between."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.music.keys import Spelling, parse_key, twelve
from drillbox.music.moving.instruments import INSTRUMENTS, find_instrument, written_key
from drillbox.music.moving.written import at_concert_pitch, read_in
from drillbox.music.phrases import Phrase

from .shorthand import chart, line, symbols


def phrase(key: str, bars: str, notes: str = "") -> Phrase:
    return Phrase("invented", parse_key(key), 120, chart(bars), line(notes))


def names(read: Phrase) -> str:
    return " ".join(note.pitch.text() for note in read.line)


@pytest.mark.parametrize(
    ("instrument", "key", "bars", "first"),
    [
        ("tenor sax", "C", "Dm7 G7 | Cmaj7", "C4"),  # a major ninth below the written D5
        ("trumpet", "C", "Dm7 G7 | Cmaj7", "C5"),
        ("alto sax", "F", "Gm7 C7 | Fmaj7", "F4"),
        ("baritone sax", "F", "Gm7 C7 | Fmaj7", "F3"),
        ("horn", "G", "Am7 D7 | Gmaj7", "G4"),
        ("guitar", "D", "Em7 A7 | Dmaj7", "D4"),
        ("trombone", "D", "Em7 A7 | Dmaj7", "D5"),
    ],
)
def test_a_written_phrase_in_d_sounds_so_much_lower(instrument, key, bars, first):
    """By the transpositions of the instruments (common practice)."""
    written = phrase("D", "Em7 A7 | Dmaj7", "D5 F#5")
    sounding = at_concert_pitch(written, find_instrument(instrument))
    assert sounding.key == parse_key(key)
    assert symbols(sounding.chart) == bars
    assert sounding.line[0].pitch.text() == first


def test_a_substitute_reads_back_as_it_was_typed():
    """Gb7 on the tenor's way to F sounds as E7, as players write Fb7; it reads Gb7 again."""
    written = phrase("F", "Gm7 Gb7 | Fmaj7", "Bb5 Cb6")
    sounding = at_concert_pitch(written, find_instrument("tenor sax"))
    assert symbols(sounding.chart) == "Fm7 E7 | Ebmaj7"
    assert symbols(read_in(sounding, parse_key("F")).chart) == "Gm7 Gb7 | Fmaj7"
    assert symbols(read_in(sounding, parse_key("D")).chart) == "Em7 Eb7 | Dmaj7"
    assert names(read_in(sounding, parse_key("D")))[:2] == "G5"


def test_the_sounding_key_is_spelled_as_players_write_it():
    """Written Gb on a Bb instrument sounds in E, not in Fb; by the setting written Ab in F#."""
    trumpet = find_instrument("trumpet")
    low = at_concert_pitch(phrase("Gb", "Abm7 Db7 | Gbmaj7", "Gb4"), trumpet)
    assert (low.key, symbols(low.chart)) == (parse_key("E"), "F#m7 B7 | Emaj7")
    assert names(low) == "E4"
    sharp = at_concert_pitch(phrase("Ab", "Abmaj7"), trumpet, Spelling(gb="F#"))
    assert (sharp.key, symbols(sharp.chart)) == (parse_key("F#"), "F#maj7")


def test_in_its_own_key_a_phrase_reads_as_it_is():
    """Even a root that would be respelled anywhere else."""
    written = phrase("Bb", "Cm7 B7 | Bbmaj7", "Eb5")
    assert read_in(written, parse_key("Bb")) is written


@pytest.mark.parametrize(
    ("instrument", "key", "read"),
    [
        ("concert", "C", "Dm7 Db7 | Cmaj7 Fmaj7"),
        ("guitar", "C", "Dm7 Db7 | Cmaj7 Fmaj7"),
        ("concert", "Gb", "Abm7 G7 | Gbmaj7 Bmaj7"),
        ("tenor sax", "Gb", "Bbm7 A7 | Abmaj7 Dbmaj7"),
        ("tenor sax", "C", "Em7 Eb7 | Dmaj7 Gmaj7"),
        ("alto sax", "Bb", "Am7 Ab7 | Gmaj7 Cmaj7"),
        ("alto sax", "A", "Abm7 G7 | Gbmaj7 Bmaj7"),
    ],
)
def test_what_is_read_of_a_sounding_key(instrument, key, read):
    """Moved from the written phrase once, so that nothing of its spelling is lost."""
    written = written_key(parse_key(key), find_instrument(instrument))
    assert symbols(read_in(phrase("C", "Dm7 Db7 | Cmaj7 Fmaj7"), written).chart) == read


def test_what_is_read_sounds_in_the_key():
    """On every instrument and in every key a written root less the transposition is the sounding
    one."""
    home = phrase("C", "Dm7 G7 | Cmaj7 A7*")
    for instrument in INSTRUMENTS:
        for key in (*twelve("major"), *twelve("minor")):
            read, sounds = read_in(home, written_key(key, instrument)), read_in(home, key)
            for up, at in zip(read.chart.sounding(), sounds.chart.sounding(), strict=True):
                moved = up.root.pitch_class - instrument.above.semitones
                assert moved % 12 == at.root.pitch_class


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(INSTRUMENTS),
    st.sampled_from([*twelve("major"), *twelve("minor")]),
)
def test_down_and_up_again_reads_as_written(instrument, key):
    """On every instrument and in every key: chart, names and key come home, sound and all."""
    home = Phrase("invented", parse_key("C" + "m" * (key.mode == "minor")), 120,
                  chart("Dm7 G7 | Cmaj7 A7*"), line("F5 A5 B4 D5 E5"))  # fmt: skip
    written = read_in(home, key)
    sounding = at_concert_pitch(written, instrument)
    assert written_key(sounding.key, instrument) == key
    again = read_in(sounding, key)
    assert symbols(again.chart) == symbols(written.chart)
    assert [n.pitch.name for n in again.line] == [n.pitch.name for n in written.line]
    fell = {w.pitch.midi - s.pitch.midi for w, s in zip(written.line, sounding.line, strict=True)}
    assert fell == {instrument.above.semitones}


def test_the_fourth_of_gb_reads_in_flats_where_it_has_a_line():
    """Typed as Bmaj7 for a trumpet, it reads Cbmaj7 over its line, and Bmaj7 without one."""
    for notes, shown in (("Eb5 Gb5", "Cbmaj7 Gbmaj7"), ("", "Bmaj7 Gbmaj7")):
        sounding = at_concert_pitch(phrase("Gb", "Bmaj7 Gbmaj7", notes), find_instrument("trumpet"))
        assert symbols(read_in(sounding, parse_key("Gb")).chart) == shown


@pytest.mark.parametrize("instrument", ["trumpet", "alto sax", "horn", "guitar"])
@pytest.mark.parametrize(
    ("key", "bars"),
    [
        ("C", "Dm7 Db7 | Cmaj7 Abmaj7"),
        ("C", "Abm7 Db7 | Gm7 C7"),
        ("F", "Gm7 Gb7 | Fmaj7 Db7"),
        ("Bb", "Cm7 B7 | Bbmaj7 Ebm7"),
        ("Gb", "Abm7 E7 | Gbmaj7 G7"),
        ("Am", "Bm7b5 Bb7 | Am6 G#dim7"),
    ],
)
def test_substitutes_come_home_from_concert_pitch(instrument, key, bars):
    """What was typed is read again, whatever letters it sounds under."""
    sounding = at_concert_pitch(phrase(key, bars, "C5"), find_instrument(instrument))
    read = symbols(read_in(sounding, parse_key(key)).chart)
    assert read == bars
    assert not {"Cb", "Fb", "E#", "B#"} & {chord.root.text() for chord in sounding.chart.sounding()}
