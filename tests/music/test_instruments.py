"""Instruments: transpositions and ranges against outside sources, written pitch, octave breaks."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

import music21
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.errors import BadInput
from drillbox.music.keys import Spelling, parse_key, twelve
from drillbox.music.moving.instruments import (
    INSTRUMENTS,
    Break,
    at_concert_pitch,
    breaks_between,
    broken_to_fit,
    custom_instrument,
    find_instrument,
    parse_interval,
    range_fit,
    written_key,
)
from drillbox.music.moving.transposition import read_in
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import Interval, Pitch, parse_name, parse_pitch
from tests.music.shorthand import chart, line, symbols
from tests.rows import every_row


@every_row(
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


@every_row(
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


@every_row(
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


@settings(max_examples=60)
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


NAMES = [parse_name(name) for name in ("C", "D", "E", "F", "G", "A", "B", "Bb", "F#")]
PITCHES = st.builds(Pitch, st.sampled_from(NAMES), st.integers(2, 6))


def quarters(names: str) -> tuple[LineNote, ...]:
    """Return a line of quarter notes."""
    return tuple(
        LineNote(Fraction(at), Fraction(1), parse_pitch(name))
        for at, name in enumerate(names.split())
    )


def named(notes) -> str:
    return " ".join(note.pitch.text() for note in notes)


RANGE = parse_pitch("Ab2"), parse_pitch("E5")  # the tenor saxophone, as in the table of instruments


def test_a_line_that_runs_out_at_the_bottom_goes_on_an_octave_up():
    """A scale down past the tenor's lowest note: one break, at its turn, and one interval turns."""
    down = quarters("E3 D3 C3 Bb2 A2 G2 A2 Bb2 C3")
    found = broken_to_fit(down, RANGE)
    assert range_fit(found, RANGE).fits
    assert named(found) == "E4 D4 C4 Bb3 A3 G3 A3 Bb3 C4"  # as it fits whole, nothing turns


def test_a_line_wider_than_the_range_breaks_where_least_turns_round():
    """A leap up takes the break: what rose an eleventh rises a fourth, and still rises."""
    wide = quarters("G2 A2 E5 D5 C5")
    found = broken_to_fit(wide, (parse_pitch("G2"), parse_pitch("G4")))
    assert named(found) == "G2 A2 E4 D4 C4"
    assert breaks_between(wide, found) == (Break(Fraction(2), -1),)


def test_a_line_that_fits_stays():
    """So does one of which a note fits nowhere: there is nothing to break then."""
    fits = quarters("C4 E4 G4")
    assert broken_to_fit(fits, RANGE) == fits
    narrow = parse_pitch("C4"), parse_pitch("E4")
    assert broken_to_fit(quarters("C4 G4"), narrow) == quarters("C4 G4")
    assert breaks_between(fits, fits) == ()
    assert broken_to_fit((), RANGE) == ()


def turned(notes, ways) -> tuple[int, int, int]:
    """Return what the rule counts, straight from its words."""
    midis = [note.pitch.midi for note in notes]
    moved = [midi + 12 * way for midi, way in zip(midis, ways, strict=True)]

    def sign(step: int) -> int:
        return (step > 0) - (step < 0)

    pairs = range(len(midis) - 1)
    turns = sum(sign(midis[n + 1] - midis[n]) != sign(moved[n + 1] - moved[n]) for n in pairs)
    return turns, sum(ways[n] != ways[n + 1] for n in pairs), sum(map(abs, ways))


@given(st.lists(PITCHES, min_size=1, max_size=5))
@settings(max_examples=200)
def test_no_other_way_keeps_more_of_the_contour(pitches: list[Pitch]):
    """Against all ways to move each note by up to four octaves, counted one by one."""
    notes = tuple(LineNote(Fraction(at), Fraction(1), pitch) for at, pitch in enumerate(pitches))
    low, high = parse_pitch("C3").midi, parse_pitch("F4").midi
    found = broken_to_fit(notes, (parse_pitch("C3"), parse_pitch("F4")))
    assert all(low <= note.pitch.midi <= high for note in found)
    chosen = [
        (there.pitch.midi - here.pitch.midi) // 12 for here, there in zip(notes, found, strict=True)
    ]
    each = [
        [way for way in range(-4, 5) if low <= note.pitch.midi + 12 * way <= high] for note in notes
    ]
    best = min(turned(notes, ways) for ways in product(*each))
    if not range_fit(notes, (parse_pitch("C3"), parse_pitch("F4"))).fits:
        assert turned(notes, chosen) == best
