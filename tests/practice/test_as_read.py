"""What the player reads: every key in written pitch, and which keys leave their range."""

from __future__ import annotations

import pytest

from drillbox.music.keys import in_order, parse_key, twelve
from drillbox.music.moving.transposition import phrase_to
from drillbox.music.phrases import Phrase
from drillbox.practice.as_read import as_read, misfits
from drillbox.practice.preferences import Preferences, preferences_from
from tests.music.shorthand import chart, line, symbols

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
