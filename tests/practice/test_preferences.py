"""What the player reads: keys, charts and lines in the written pitch of the instrument."""

from __future__ import annotations

import pytest

from drillbox.errors import BadInput
from drillbox.music.keys import in_order, parse_key, twelve
from drillbox.music.phrases import Phrase
from drillbox.practice.preferences import Preferences, as_read, chosen_key, preferences_from
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
    assert refused.value.remedy.endswith(" played in D, G, C, F, Bb, Eb, Ab, Db, Gb, B, E, A.")
