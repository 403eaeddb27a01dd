"""What the player reads, and octaves broken where a line leaves the instrument."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest

from drillbox.errors import BadInput
from drillbox.music.keys import in_order, parse_key, twelve
from drillbox.music.moving.transposition import phrase_to
from drillbox.music.phrases import Phrase
from drillbox.practice.as_read import as_read, chosen_key, misfits
from drillbox.practice.preferences import Preferences, preferences_from
from drillbox.store.opening import open_store
from tests.music.shorthand import chart, line, symbols
from tests.store.making import NOW

PHRASE = Phrase("Late kettle", parse_key("C"), 132, chart("Dm7 Db7 | Cmaj7 A7*"), line("E4 F5"))
KEYS = in_order(PHRASE.key, "fourths")


def player(**settings: str) -> Preferences:
    return preferences_from(settings)


@pytest.mark.parametrize(
    ("instrument", "shown"),
    [
        ("concert", "C F Bb Eb Ab Db Gb B E A D G"),
        ("flute", "C F Bb Eb Ab Db Gb B E A D G"),
        ("double bass", "C F Bb Eb Ab Db Gb B E A D G"),
        ("trumpet", "D G C F Bb Eb Ab Db Gb B E A"),  # a tone above
        ("alto sax", "A D G C F Bb Eb Ab Db Gb B E"),  # a major sixth above
        ("horn", "G C F Bb Eb Ab Db Gb B E A D"),  # a fifth above
    ],
)
def test_keys_show_in_the_written_pitch_of_the_instrument(instrument: str, shown: str):
    """By the transpositions of the instruments (university transposition handouts)."""
    preferences = player(instrument=instrument)
    assert " ".join(preferences.shown_key(key).text() for key in KEYS) == shown


def test_the_settings_spell_the_key_of_six_accidentals_on_every_instrument():
    """F# and D#m by choice, sounding or written: concert E is a trumpet's F#."""
    sharp = player(gb="F#", ebm="D#m")
    assert sharp.shown_key(parse_key("Gb")).text() == "F#"
    assert sharp.shown_key(parse_key("Ebm")).text() == "D#m"
    assert player(instrument="trumpet", gb="F#").shown_key(parse_key("E")).text() == "F#"


def test_the_written_key_keeps_its_spelling_at_concert_pitch():
    """Written in F# it stays F# whatever the setting; on a trumpet it reads Ab all the same."""
    written = parse_key("F#")
    assert player().shown_key(written, written).text() == "F#"
    assert player().shown_key(written).text() == "Gb"
    assert player(instrument="trumpet").shown_key(written, written).text() == "Ab"


def test_a_chart_reads_as_from_the_written_one():
    """A concert Db7 in C is a trumpet's Eb7 in D; concert Gb reads Ab, with its A7 (not Bbb7)."""
    trumpet = player(instrument="trumpet")
    assert symbols(as_read(PHRASE, parse_key("C"), trumpet).chart) == "Em7 Eb7 | Dmaj7 B7*"
    assert symbols(as_read(PHRASE, parse_key("Gb"), trumpet).chart) == "Bbm7 A7 | Abmaj7 F7*"
    assert as_read(PHRASE, parse_key("C"), player()) is PHRASE


def test_reading_on_and_off_an_instrument_changes_nothing():
    """In each of the twelve keys the chart at concert pitch is the one without any instrument."""
    for key in twelve("major"):
        assert as_read(PHRASE, key, player()) == as_read(PHRASE, key, player(instrument="flute"))


def strays(phrase: Phrase, keys, preferences):
    """Return where a phrase leaves the range, laid as it is when it comes in."""
    wanted = preferences.sounding_range
    laid = [(key, phrase_to(phrase, key, sounding_range=wanted).line) for key in keys]
    return misfits(phrase, laid, preferences)


def test_keys_that_leave_the_range_are_told_with_how_far():
    """E4 to F5 in a range of just that: C fits; F is five too high, B one too low."""
    found = strays(PHRASE, KEYS, player(instrument="C E4-F5"))
    told = {key.text(): (fit.over, fit.under) for key, fit in found}
    assert len(told) == 11
    assert (told["F"], told["Db"], told["B"]) == ((5, 0), (1, 0), (0, 1))


def test_a_range_that_fits_and_none_at_all_tell_of_no_key():
    """E3 to B5 holds the line in any key; without an instrument there is nothing to leave."""
    small = Phrase("Small", PHRASE.key, 132, PHRASE.chart, line("E4 G4"))
    assert strays(small, KEYS, player(instrument="C E3-B5")) == ()
    assert strays(PHRASE, KEYS, player()) == ()


def test_a_line_too_wide_sticks_out_at_both_ends():
    """Two octaves in a range of one: twelve semitones in all, in whichever octave."""
    wide = Phrase("Wide", PHRASE.key, 132, PHRASE.chart, line("C4 C6"))
    found = strays(wide, KEYS, player(instrument="C C4-C5"))
    assert len(found) == 12
    assert {fit.over + fit.under for _, fit in found} == {12}


def test_misfits_are_named_as_they_are_read():
    """The trumpet's concert Gb is its Ab."""
    found = strays(PHRASE, (parse_key("Gb"),), player(instrument="Bb E4-F5"))
    assert [key.text() for key, _ in found] == ["Ab"]


WIDE = """X:1
T:Long ladder
M:4/4
L:1/8
Q:1/4=120
K:C
"Dm7" D,E,F,G, "G7" A,B,CD | "Cmaj7" E G c e g b c' d' |
"""


@pytest.fixture
def ladder(drillbox, tmp_path: Path) -> Path:
    """Return a file with a line of three octaves, wider than the tenor in some keys."""
    drillbox("settings", "instrument", "C C3-C6")
    place = tmp_path / "ladder.abc"
    place.write_text(WIDE)
    return place


def lines(place: Path) -> dict[str, list[int]]:
    """Return each stored card's line as MIDI notes."""
    from drillbox.store.card_rows import cards_of
    from drillbox.store.phrase_rows import find_phrase

    with open_store(place, now=NOW, backups=False) as store:
        cards = cards_of(store, find_phrase(store, "long ladder").id)
        return {card.key.text(): [note.pitch.midi for note in card.line] for card in cards}


def test_add_proposes_the_break_and_names_the_word_that_takes_it(drillbox, ladder, place):
    """Without a terminal nothing is broken unasked."""
    ran = drillbox("--ascii", "add", str(ladder))
    assert ran.code == 0
    assert "The octave could be broken:" in ran.err
    assert "--octave-breaks takes it" in ran.err
    assert "Out of range" in ran.out
    assert any(min(line) < 48 or max(line) > 84 for line in lines(place).values())


def test_a_break_that_is_taken_is_kept_shown_and_heard(drillbox, ladder, place, tmp_path):
    """All twelve keys lie in the range; 'show' says where, and a loop holds the moved notes."""
    ran = drillbox("--ascii", "add", str(ladder), "--octave-breaks", "--details")
    assert "octave broken:" in ran.out
    assert "Out of range" not in ran.out
    found = lines(place)
    assert all(min(line) >= 48 and max(line) <= 84 for line in found.values())
    shown = drillbox("--ascii", "show", "long").out
    assert "octave broken:" in shown
    assert "Out of range" not in shown
    out = tmp_path / "a.mid"
    drillbox("loop", "long", "--key", "E", "--line", "--loops", "1", "--out", str(out))
    from mido import MidiFile

    (track,) = [each for each in MidiFile(file=io.BytesIO(out.read_bytes())).tracks
                if each.name == "Line"]  # fmt: skip
    assert [m.note for m in track if m.type == "note_on"] == found["E"]
    assert np.ptp(found["E"]) <= 36


def test_a_hint_says_where_the_octave_breaks(drillbox, ladder):
    """In the written key, which the player drills first, and which leaves the range here."""
    drillbox("settings", "instrument", "C D3-B5")
    drillbox("add", str(ladder), "--octave-breaks", "--details")
    assert "octave broken: " in drillbox("--ascii", "drill", keys="h\n").out


def test_a_declined_break_is_said_on_the_card(drillbox, ladder):
    """A key out of range isn't drilled in silence, nor gone through in a round."""
    drillbox("add", str(ladder), "--no-octave-breaks")
    drilled = drillbox("--ascii", "round", "long", "--all").out
    assert "Out of range for" in drilled
    assert "semitones" in drilled


def test_a_line_that_fits_says_nothing(drillbox, kettle):
    """Neither on the card nor at 'add'."""
    assert "Out of range" not in drillbox("drill").out


def test_a_break_outlives_an_edit_and_another_instrument(drillbox, ladder, place):
    """The line is laid anew for the other range, and broken there where it has to be."""
    drillbox("add", str(ladder), "--octave-breaks", "--details")
    drillbox("edit", "long", "--title", "Long ladder up")
    assert "octave broken:" in drillbox("--ascii", "show", "long").out
    drillbox("settings", "instrument", "C E3-C6")
    assert all(min(line) >= 52 and max(line) <= 84 for line in lines(place).values())


MAJOR = Phrase("Late kettle", parse_key("C"), 132, chart("Dm7 G7 | Cmaj7 A7*"))
MINOR = Phrase("North landing", parse_key("Dm"), 132, chart("Em7b5 A7 | Dm6 B7*"))


@pytest.mark.parametrize(
    ("phrase", "instrument", "typed", "concert"),
    [
        (MAJOR, "concert", "Bb", "Bb"),
        (MAJOR, "concert", "b♭ major", "Bb"),
        (MAJOR, "concert", "F#", "Gb"),
        (MAJOR, "trumpet", "Bb", "Ab"),
        (MAJOR, "alto sax", "A", "C"),
        (MINOR, "concert", "Abm", "G#m"),
        (MINOR, "tenor sax", "Em", "Dm"),
    ],
)
def test_a_key_is_named_as_it_is_read(phrase, instrument: str, typed: str, concert: str):
    """In any spelling; a trumpet's Bb is concert Ab, an alto's A concert C."""
    preferences = preferences_from({"instrument": instrument})
    keys = in_order(phrase.key, "fourths")
    assert chosen_key(typed, phrase, keys, preferences) == parse_key(concert)


@pytest.mark.parametrize("typed", ["Dm", "H", "", "G major minor"])
def test_what_is_no_key_of_the_phrase_is_refused_with_those_that_are(typed: str):
    """The other mode, no key at all, nothing: the twelve are named as they are read."""
    preferences = preferences_from({"instrument": "trumpet"})
    with pytest.raises(BadInput) as refused:
        chosen_key(typed, MAJOR, in_order(MAJOR.key, "fourths"), preferences)
    assert refused.value.remedy == "Its keys are D, G, C, F, Bb, Eb, Ab, Db, Gb, B, E, A"
