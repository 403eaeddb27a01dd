"""Transposition: spelling, degrees, octaves, and agreement with an outside library."""

from __future__ import annotations

from fractions import Fraction

import music21
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.music.charts import Chart
from drillbox.music.chords import Chord, guide_tones, is_written
from drillbox.music.heard import heard_chart, heard_with
from drillbox.music.keys import MAJOR, MINOR, Key, Spelling, in_order, parse_key, twelve
from drillbox.music.moving.spelling import respelling_interval
from drillbox.music.moving.transposition import (
    Fit,
    chart_as_meant,
    chart_to,
    line_to,
    octave_that_fits,
    phrase_fit,
    phrase_to,
)
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import LETTERS, Interval, Name, Pitch, parse_name, parse_pitch
from tests.music.shorthand import chart, line, sounding, symbols
from tests.rows import every_row

C = parse_key("C")
TENOR = (parse_pitch("Ab2"), parse_pitch("E5"))


def degrees(moved: Chart, notes: tuple[LineNote, ...]) -> list[tuple[int, int] | None]:
    """Each note against the root of the chord it's heard with, as steps and semitones."""
    found: list[tuple[int, int] | None] = []
    for note, chord in zip(notes, chords_of(moved, notes), strict=True):
        if chord:
            interval = chord.root.interval_to(note.pitch.name)
            found.append((interval.steps, interval.semitones))
        else:
            found.append(None)
    return found


def chords_of(moved: Chart, notes: tuple[LineNote, ...]) -> list[Chord | None]:
    """The chord that each note is heard with."""
    return [moved.chords()[span] for span in heard_with(notes, heard_chart(moved))[0]]


def heard(moved: Chart, notes: tuple[LineNote, ...]) -> list[int | None]:
    """Each note's sound above its chord's root."""
    return [each and each[1] % 12 for each in degrees(moved, notes)]


def strictly(phrase: Phrase, moved: Phrase) -> list[tuple[int, int] | None]:
    """The degrees that notes had, but for those that would need a double accidental there."""
    before, after = degrees(phrase.chart, phrase.line), degrees(moved.chart, moved.line)
    over = chords_of(moved.chart, moved.line)
    for at, (old, new, chord) in enumerate(zip(before, after, over, strict=True)):
        if old and chord and abs(chord.root.up(Interval(*old)).alter) > 1:
            before[at] = new
    return before


# Published tables of ii-V-I and of tritone substitutes in twelve keys; the substitutes in the
# spelling that players write. Guide tones are third and seventh of each chord.
TABLE = """
C  | Dm7 G7 Cmaj7    | F C   B F   E B    | Db7 | A7 B7 C7 D7 E7
F  | Gm7 C7 Fmaj7    | Bb F  E Bb  A E    | Gb7 | D7 E7 F7 G7 A7
Bb | Cm7 F7 Bbmaj7   | Eb Bb A Eb  D A    | B7  | G7 A7 Bb7 C7 D7
Eb | Fm7 Bb7 Ebmaj7  | Ab Eb D Ab  G D    | E7  | C7 D7 Eb7 F7 G7
Ab | Bbm7 Eb7 Abmaj7 | Db Ab G Db  C G    | A7  | F7 G7 Ab7 Bb7 C7
Db | Ebm7 Ab7 Dbmaj7 | Gb Db C Gb  F C    | D7  | Bb7 C7 Db7 Eb7 F7
Gb | Abm7 Db7 Gbmaj7 | Cb Gb F Cb  Bb F   | G7  | Eb7 F7 Gb7 Ab7 Bb7
B  | C#m7 F#7 Bmaj7  | E B   A# E  D# A#  | C7  | G#7 A#7 B7 C#7 D#7
E  | F#m7 B7 Emaj7   | A E   D# A  G# D#  | F7  | C#7 D#7 E7 F#7 G#7
A  | Bm7 E7 Amaj7    | D A   G# D  C# G#  | Bb7 | F#7 G#7 A7 B7 C#7
D  | Em7 A7 Dmaj7    | G D   C# G  F# C#  | Eb7 | B7 C#7 D7 E7 F#7
G  | Am7 D7 Gmaj7    | C G   F# C  B F#   | Ab7 | E7 F#7 G7 A7 B7
"""


@every_row("row", TABLE.strip().splitlines())
def test_the_twelve_key_table(row: str) -> None:
    """ii-V-I, its guide tones, the substitute and the secondary dominants, key by key."""
    key, two_five, guides, substitute, secondary = (part.split() for part in row.split("|"))
    written = Phrase("table", C, 120, chart("Dm7 G7 | Cmaj7"), line("F4 - C5 - B4 - F4 - E4 - B4"))
    moved = phrase_to(written, parse_key(key[0]))
    interval = C.interval_to(parse_key(key[0]))
    assert symbols(moved.chart).replace("| ", "").split() == two_five
    assert [note.pitch.name.text() for note in moved.line] == guides
    found = [name.text() for each in moved.chart.sounding() for name in guide_tones(each)]
    assert found == guides
    assert symbols(chart_to(chart("Db7"), interval)).split() == substitute
    assert symbols(chart_to(chart("A7 B7 C7 D7 E7"), interval)).split() == secondary


@every_row(
    ("written", "key", "shown"),
    [
        ("Fmaj7", "Gb", "Bmaj7"),  # IV would be Cb
        ("Bm7b5", "Gb", "Fm7b5"),
        ("Fm6", "Gb", "Bm6"),
        ("Fm6", "Eb", "Abm6"),
        ("Bbmaj7", "Gb", "Emaj7"),  # bVII would be Fb
        ("E7", "C#", "F7"),  # III would be E#
        ("B7", "F#", "F7"),  # VII would be E#
        ("B7", "C#", "C7"),
        ("F#dim7", "B", "Fdim7"),  # #IV would be E#
        ("G#dim7", "B", "Gdim7"),  # #V would be F##
        ("C#dim7", "B", "Cdim7"),
        ("Ebm7", "Ab", "Bm7"),
        ("A#dim7", "Gb", "Edim7"),  # A# is #vi: E in Gb, nothing to respell
    ],
)
def test_roots_that_no_player_writes(written: str, key: str, shown: str) -> None:
    """Cb, Fb, E#, B# and double accidentals give way to the plain name of the same sound."""
    assert symbols(chart_to(chart(written), C.interval_to(parse_key(key)))) == shown


@pytest.mark.parametrize(
    ("written", "key", "shown"),
    [
        ("C/E", "Db", "Db/F"),
        ("C/E", "C#", "C#/E#"),  # an everyday bass
        ("E7/G#", "B", "D#7/G"),  # F## in the bass is respelled by itself
        ("C/G", "Gb", "Gb/Db"),
        ("Fm/Ab", "Gb", "Bm/D"),  # both move together
        ("Ab/C", "Gb", "D/F#"),
        ("Fmaj7/A", "B", "Emaj7/G#"),
        ("Bb/D", "Eb", "Db/F"),
    ],
)
def test_a_root_takes_its_bass_along_and_no_bass_its_root(
    written: str, key: str, shown: str
) -> None:
    """A root that isn't written is respelled with its bass; a bass leaves its root alone."""
    assert symbols(chart_to(chart(written), C.interval_to(parse_key(key)))) == shown


@pytest.mark.parametrize(
    ("written", "key", "shown"),
    [
        ("Fm7 Bb7 | Cmaj7", "Db", "F#m7 B7 | Dbmaj7"),  # Gbm7 alone, but B7 is no Cb7
        ("Fm7 Bb7 | Cmaj7", "Ab", "Dbm7 Gb7 | Abmaj7"),
        ("Abm7 Db7 | Gm7 C7", "Bb", "F#m7 B7 | Fm7 Bb7"),
        ("F#m7b5 B7 | Em7 A7", "B", "Fm7b5 Bb7 | Ebm7 Ab7"),  # E#m7b5 isn't written by itself
        ("Fm7 G7", "Db", "Gbm7 Ab7"),  # no pair, nothing to match
    ],
)
def test_a_ii_and_its_v_are_spelled_alike(written: str, key: str, shown: str) -> None:
    """They are read as one, a fourth apart, as players write them."""
    assert symbols(chart_to(chart(written), C.interval_to(parse_key(key)))) == shown


def test_the_line_over_a_pair_is_spelled_alike() -> None:
    """Over F#m7 B7 in Db the line reads in sharps throughout."""
    phrase = Phrase("pair", C, 120, chart("Fm7 Bb7 | Cmaj7"), line("Ab4 C5 - - D5 F5 - - E5"))
    moved = phrase_to(phrase, parse_key("Db"))
    assert " ".join(note.pitch.text() for note in moved.line) == "A4 C#5 D#5 F#5 F5"


def test_notes_follow_the_spelling_of_their_chord() -> None:
    """Over the backdoor in Gb, shown as Bm7 E7, the line reads in sharps; over I in flats."""
    phrase = Phrase("plagal", C, 120, chart("Fm7 Cmaj7"), line("F4 Ab4 C5 Eb5 E5 D5 C5 B4"))
    moved = phrase_to(phrase, parse_key("Gb"))
    assert symbols(moved.chart) == "Bm7 Gbmaj7"
    assert " ".join(note.pitch.text() for note in moved.line) == ("B4 D5 F#5 A5 Bb5 Ab5 Gb5 F5")


def test_a_pickup_follows_the_chord_that_it_leads_to() -> None:
    """The notes before the first bar are spelled as over it, not over the turnaround there."""
    phrase = Phrase("pickup", C, 120, chart("Cmaj7 Db7*"), line("Ab4 Cb5 C5", start=Fraction(-1)))
    moved = phrase_to(phrase, parse_key("Bb"))
    assert symbols(moved.chart) == "Bbmaj7 B7*"
    assert [note.pitch.text() for note in moved.line] == ["Gb4", "A4", "Bb4"]


def test_notes_over_no_chord_are_respelled_only_at_a_double_accidental() -> None:
    """Without a chord there is no degree to keep: F## becomes G, E# stays."""
    phrase = Phrase("free", C, 120, chart("NC"), line("F#4 G#4 Gb4"))
    up_a_major_seventh = phrase_to(phrase, parse_key("B"))
    assert [note.pitch.text() for note in up_a_major_seventh.line] == ["E#4", "G4", "F4"]
    down_to_gb = phrase_to(phrase, parse_key("Gb"))
    assert down_to_gb.line[2].pitch.name == parse_name("C")


def test_a_chart_in_its_own_key_stays_as_the_player_wrote_it() -> None:
    """A Cb that the player wrote is not corrected, and the octave of a range doesn't matter."""
    phrase = Phrase("own", parse_key("Gb"), 120, chart("Cbmaj7 Gb"), line("Cb3 Eb3"))
    assert phrase_to(phrase, phrase.key) == phrase
    low = phrase_to(phrase, phrase.key, sounding_range=(parse_pitch("C4"), parse_pitch("C6")))
    assert low.chart == phrase.chart
    assert [note.pitch.text() for note in low.line] == ["Cb5", "Eb5"]


@pytest.mark.parametrize("keys", [MAJOR, MINOR], ids=["major", "minor"])
def test_music21_agrees_over_all_pairs_of_keys(keys: tuple[Key, ...]) -> None:
    """music21 transposing by interval name sounds the same everywhere, and spells the same
    wherever nothing had to be respelled; a respelled root is one that players don't write."""
    chromatic = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B", "C#")
    melody = "C4 C#4 Db4 D#4 E4 F4 Gb4 F#4 G#4 A4 A#4 Bb4 B4"
    same = other = 0
    for home in keys:
        from_c = C.tonic.interval_to(home.tonic)
        roots = chart(" | ".join(f"{name}7" for name in chromatic))
        there = chart_to(roots, from_c)
        notes = line_to(line(melody, length=Fraction(4)), from_c, roots)
        for key in keys:
            interval = home.interval_to(key)
            outside = music21.interval.Interval(
                music21.pitch.Pitch(_m21(home.tonic) + "4"), _above(home.tonic, key.tonic)
            ).name
            moved = chart_to(there, interval)
            for before, after, old, new in zip(
                there.sounding(), moved.sounding(), notes, line_to(notes, interval, there),
                strict=True,
            ):  # fmt: skip
                theirs = _their(before.root, 4, outside)
                their_note = _their(old.pitch.name, old.pitch.octave, outside)
                assert new.pitch.midi == their_note.midi
                assert after.root.pitch_class == theirs.pitchClass
                if is_written(_ours(theirs)) or interval == Interval(0, 0):
                    assert after.root == _ours(theirs)
                    assert new.pitch == Pitch(_ours(their_note), their_note.octave)
                    same += 1
                else:
                    assert is_written(after.root)
                    other += 1
    assert same + other == 12 * 12 * 13
    assert same > other > 0


def _m21(name: Name) -> str:
    return name.text().replace("b", "-")


def _above(tonic: Name, other: Name) -> music21.pitch.Pitch:
    octave = 5 if LETTERS.index(other.letter) < LETTERS.index(tonic.letter) else 4
    return music21.pitch.Pitch(_m21(other) + str(octave))


def _their(name: Name, octave: int, interval: str) -> music21.pitch.Pitch:
    return music21.pitch.Pitch(_m21(name) + str(octave)).transpose(interval)


def _ours(pitch: music21.pitch.Pitch) -> Name:
    return Name(pitch.step, int(pitch.alter))


written_names = st.sampled_from([Name(letter, alter) for letter in LETTERS for alter in (-1, 0, 1)])
chords = st.builds(
    Chord,
    written_names.filter(is_written),
    st.sampled_from(["dominant", "minor-seventh", "major-seventh"]),
    bass=st.none() | written_names.filter(is_written),
)
keys = st.sampled_from([*MAJOR, *twelve("major", Spelling(gb="F#"))])


@st.composite
def phrases(draw: st.DrawFn) -> Phrase:
    """A phrase of up to four bars, with or without chords, a note on each of its eighths."""
    spans = draw(st.lists(st.none() | chords, min_size=1, max_size=4))
    blank = chart(" | ".join(["NC"] * len(spans)))
    bars = tuple(
        type(bar)((type(bar.spans[0])(bar.spans[0].start, bar.spans[0].length, each),))
        for bar, each in zip(blank.bars, spans, strict=True)
    )
    pitches = draw(
        st.lists(st.builds(Pitch, written_names, st.integers(3, 5)), max_size=8 * len(spans))
    )
    notes = tuple(
        LineNote(Fraction(place - 2, 2), Fraction(1, 2), pitch)
        for place, pitch in enumerate(pitches)
    )
    return Phrase("law", draw(keys), 120, Chart(blank.meter, bars), notes)


@settings(max_examples=60)
@given(phrase=phrases(), key=keys)
def test_degrees_and_semitones_are_invariant(phrase: Phrase, key: Key) -> None:
    """A law: every note keeps its degree against its chord, every bass its degree against the
    root (by sound alone where that would need a double accidental, or where it is a pedal), and
    all pitches and roots move by one and the same number of semitones."""
    moved = phrase_to(phrase, key)
    assert heard(moved.chart, moved.line) == heard(phrase.chart, phrase.line)
    assert degrees(moved.chart, moved.line) == strictly(phrase, moved)
    by = {new.pitch.midi - old.pitch.midi
          for old, new in zip(phrase.line, moved.line, strict=True)}  # fmt: skip
    assert len(by) <= 1
    assert all(abs(each) <= 6 for each in by)
    semitones = phrase.key.interval_to(key).semitones % 12
    chords = moved.chart.chords()
    around = (chords, (None, *chords[:-1]), (*chords[1:], None))
    for old, new, last, ahead in zip(phrase.chart.chords(), *around, strict=True):
        assert (old is None) == (new is None)
        if old is None or new is None:
            continue
        assert (new.root.pitch_class - old.root.pitch_class) % 12 == semitones
        assert (old.bass is None) == (new.bass is None)
        if old.bass and new.bass:
            above = old.root.interval_to(old.bass)
            strict = new.root.up(above)
            assert new.bass.pitch_class == strict.pitch_class
            pedal = [each.bass or each.root for each in (last, ahead) if each]
            assert new.bass == strict or abs(strict.alter) > 1 or new.bass in pedal


@settings(max_examples=60)
@given(phrase=phrases(), key=keys)
def test_there_and_back(phrase: Phrase, key: Key) -> None:
    """A law: back in the written key everything sounds as before with the same degrees; and
    where no span was respelled on the way, nor hid its degree, the chart is the very same."""
    there = phrase_to(phrase, key)
    back = phrase_to(there, phrase.key)
    assert heard(back.chart, back.line) == heard(phrase.chart, phrase.line)
    home = {new.pitch.midi - old.pitch.midi
            for old, new in zip(phrase.line, back.line, strict=True)}  # fmt: skip
    assert home <= {0, 12, -12}  # a tritone goes up both ways
    interval = phrase.key.interval_to(key)
    kept = chart_as_meant(there.chart, key)
    charts = (phrase.chart, there.chart, kept, back.chart)
    kept_all = True
    for old, middle, same, new in zip(*(each.sounding() for each in charts), strict=True):
        assert new.root.pitch_class == old.root.pitch_class
        kept_all &= middle.root == same.root == old.root.up(interval)
        kept_all &= not old.bass or middle.bass == old.bass.up(interval)
    sharp = any(chord.root.alter > 0 for chord in phrase.chart.sounding())
    if (
        kept_all and not sharp
    ):  # a ii and its V are spelled alike, so one respelled span may move the other
        assert back.chart == phrase.chart


@settings(max_examples=40)
@given(phrase=phrases(), order=st.sampled_from(["fourths", "fifths", "semitones-up"]))
def test_twelve_steps_come_home(phrase: Phrase, order: str) -> None:
    """A law: twelve equal steps round the keys end where they began, in sound and degrees;
    and the written phrase taken straight home is the very same."""
    walked = phrase
    keys = in_order(phrase.key, order)
    for key in (*keys[1:], phrase.key):
        walked = phrase_to(walked, key)
    assert heard(walked.chart, walked.line) == heard(phrase.chart, phrase.line)
    for old, new in zip(phrase.chart.sounding(), walked.chart.sounding(), strict=True):
        assert new.root.pitch_class == old.root.pitch_class
    assert {new.pitch.midi % 12 - old.pitch.midi % 12
            for old, new in zip(phrase.line, walked.line, strict=True)} <= {0}  # fmt: skip
    assert phrase_to(phrase, phrase.key) == phrase


@settings(max_examples=100)
@given(chord=chords, first=keys, second=keys)
def test_every_chord_is_one_that_players_write(chord: Chord, first: Key, second: Key) -> None:
    """A law: between any two keys a written root stays a written root, of the same sound."""
    way = respelling_interval(chord, first.interval_to(second))
    if first != second:
        assert is_written(chord.root.up(way))
    assert way.semitones == first.interval_to(second).semitones


@pytest.mark.parametrize(
    ("key", "lowest"),
    [("C", "C4"), ("Db", "Db4"), ("F", "F4"), ("Gb", "Gb4"), ("G", "G3"), ("B", "B3")],
)
def test_without_a_range_the_line_moves_least(key: str, lowest: str) -> None:
    """Up to a tritone up, otherwise down: C to G goes down a fourth, not up a fifth."""
    phrase = Phrase("near", C, 120, chart("C"), line("C4 E4 G4"))
    assert phrase_to(phrase, parse_key(key)).line[0].pitch.text() == lowest


def test_a_range_moves_the_line_by_octaves_only_where_it_must() -> None:
    """On a tenor (Ab2 to E5) a line up to D5 goes down to Bb, and down to E too."""
    phrase = Phrase("top", C, 120, chart("Dm7 G7"), line("D5 C5 B4 A4 G4 F4"))
    moved = phrase_to(phrase, parse_key("E"), sounding_range=TENOR)
    assert phrase_to(phrase, parse_key("E")).line[0].pitch.text() == "F#5"
    assert moved.line[0].pitch.text() == "F#4"
    assert phrase_fit(phrase, parse_key("E"), TENOR) == Fit(-1)
    assert phrase_to(phrase, parse_key("D"), sounding_range=TENOR).line[0].pitch.text() == "E5"
    assert phrase_fit(phrase, parse_key("D"), TENOR) == Fit(0)


@pytest.mark.parametrize(
    ("notes", "top", "expected"),
    [
        ("C3 C4", "C4", Fit(0)),
        ("C3 D4", "C4", Fit(0, over=2)),
        ("B2 C4", "C4", Fit(0, under=1)),
        ("Bb2 Db4", "C4", Fit(0, over=1, under=2)),
        ("C5 D6", "C4", Fit(-2, over=2)),
        ("C1 C2", "C4", Fit(2)),
    ],
)
def test_a_line_that_cannot_fit_says_by_how_much(notes: str, top: str, expected: Fit) -> None:
    """Semitones over the top or under the bottom, in the octave where it sticks out least."""
    found = octave_that_fits(line(notes), Interval(0, 0), (parse_pitch("C3"), parse_pitch(top)))
    assert found == expected
    assert found.fits == (expected.over == expected.under == 0)


def test_a_phrase_without_a_line_fits_anywhere() -> None:
    """A typed chart has nothing to stick out."""
    phrase = Phrase("chart only", C, 120, chart("C"))
    assert phrase_fit(phrase, parse_key("B"), TENOR) == Fit(0)


def test_all_else_in_the_phrase_is_kept() -> None:
    """Title, tempo, marks, lengths and onsets move unchanged."""
    notes = (LineNote(Fraction(1, 3), Fraction(2, 3), parse_pitch("E4"), target=True),)
    phrase = Phrase("kept", C, 180, chart("Cmaj7 _ G7* _"), notes, double_time=True)
    moved = phrase_to(phrase, parse_key("D"))
    assert (moved.title, moved.tempo, moved.double_time) == ("kept", 180, True)
    assert moved.line == (LineNote(Fraction(1, 3), Fraction(2, 3), parse_pitch("F#4"), True),)
    assert symbols(moved.chart) == "Dmaj7 A7*"
    assert [span.length for _, span in moved.chart.spans()] == [2, 2]
    assert phrase.line == notes


def test_octaves_move_a_chart_not_at_all() -> None:
    """Written octave transpositions leave the symbols alone, whatever they are."""
    odd = chart("Cb E#7 | C/E")
    assert chart_to(odd, Interval(7, 12)) == odd
    assert chart_to(odd, Interval(-14, -24)) == odd
    assert sounding("C/E").bass == parse_name("E")


@every_row(
    ("key", "bars", "to", "shown"),
    [
        ("Bb", "Cm7 B7 | Bbmaj7", "C", "Dm7 Db7 | Cmaj7"),  # the substitute of V
        ("Bb", "Cm7 B7 | Bbmaj7", "A", "Bm7 Bb7 | Amaj7"),
        ("Db", "Dbmaj7 E7 | Ebm7 D7", "C", "Cmaj7 Eb7 | Dm7 Db7"),  # two in a row
        ("Db", "Dbmaj7 E7 Amaj7 D7", "F", "Fmaj7 Ab7 Dbmaj7 Gb7"),
        ("Eb", "Ebmaj7 Bmaj7", "G", "Gmaj7 Ebmaj7"),  # bVI
        ("Eb", "Fm7 E7 Ebmaj7", "D", "Em7 Eb7 Dmaj7"),
        ("Gb", "Gbmaj7 Bmaj7", "Ab", "Abmaj7 Dbmaj7"),  # IV
        ("Gb", "Bm7 E7 Gbmaj7", "C", "Fm7 Bb7 Cmaj7"),  # the backdoor
        ("Bbm", "Cm7b5 B7 | Bbm6", "Cm", "Dm7b5 Db7 | Cm6"),
        ("Ebm", "Cm7b5 B7 | Bb7", "Am", "F#m7b5 F7 | E7"),
        ("C#m", "C#m6 Cdim7", "Dm", "Dm6 C#dim7"),  # the leading note
        ("B", "Bmaj7 Cdim7 | C#m7", "C", "Cmaj7 C#dim7 | Dm7"),  # raised: it leads upward
        ("B", "Bmaj7 Fm7b5", "C", "Cmaj7 F#m7b5"),
        ("Bb", "Bbmaj7 Bdim7 | Cm7", "A", "Amaj7 A#dim7 | Bm7"),  # as written
    ],
)
def test_a_degree_that_its_key_hid_comes_back(key: str, bars: str, to: str, shown: str) -> None:
    """Substitutes, backdoors and borrowed chords read in each key as players write them there.

    The spellings of substitutes are those of published tables; the rest is common practice.
    """
    moved = phrase_to(Phrase("hidden", parse_key(key), 120, chart(bars)), parse_key(to))
    assert symbols(moved.chart) == shown


def test_the_notes_follow_their_chord() -> None:
    """Over B7 in Bb the line has sharps; in C, over Db7, flats."""
    phrase = Phrase("hidden", parse_key("Bb"), 120, chart("B7 Bbmaj7"), line("D#5 F#5 A5 C#5 D5"))
    moved = phrase_to(phrase, parse_key("C"))
    assert " ".join(note.pitch.text() for note in moved.line) == "F5 Ab5 Cb6 Eb5 E5"


@pytest.mark.parametrize("bars", ["C#7 Cmaj7", "Dm7 G#7", "C#m7 F#7 | Bm7 E7", "D#dim7 Ebdim7"])
def test_what_the_player_chose_stays(bars: str) -> None:
    """Where both spellings are written nothing is second-guessed."""
    assert symbols(chart_as_meant(chart(bars), parse_key("C"))) == bars


def test_a_dominant_keeps_to_its_ii() -> None:
    """Bm7 E7 in Bb reads C#m7 F#7 in C, never C#m7 Gb7; without its ii E7 is a bV."""
    key = parse_key("Bb")
    pair = Phrase("pair", key, 120, chart("Bm7 E7 | Bbmaj7"))
    assert symbols(phrase_to(pair, parse_key("C")).chart) == "C#m7 F#7 | Cmaj7"
    alone = Phrase("alone", key, 120, chart("Bbmaj7 E7 | Ebmaj7"))
    assert symbols(phrase_to(alone, parse_key("C")).chart) == "Cmaj7 Gb7 | Fmaj7"


@every_row("key", [*MAJOR, *MINOR])
def test_the_substitute_is_the_same_from_whichever_key_it_was_written_in(key) -> None:
    """Written in any of the keys and moved to any other it reads as if written in C."""
    bars = "Dm7 Db7 | Cmaj7 Ab7" if key.mode == "major" else "Dm7b5 Db7 | Cm6 Ab7"
    source = MAJOR[0] if key.mode == "major" else MINOR[0]
    first = Phrase("round", source, 120, chart(bars))
    second = phrase_to(first, key)
    for other in MAJOR if key.mode == "major" else MINOR:
        if other != key:
            assert symbols(phrase_to(second, other).chart) == symbols(phrase_to(first, other).chart)
