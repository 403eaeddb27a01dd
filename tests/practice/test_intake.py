"""A phrase that comes in: at concert pitch, in twelve keys, its line where it can be played."""

from __future__ import annotations

import pytest

from drillbox.errors import BadInput
from drillbox.music.keys import parse_key
from drillbox.music.phrases import Phrase
from drillbox.practice.phrases.intake import prepare, proposed, sounding, typed_phrase, understood
from drillbox.practice.settings.preferences import Preferences, preferences_from
from tests.music.shorthand import chart, line, symbols

PHRASE = Phrase(
    "Late kettle", parse_key("Bb"), 132, chart("Cm7 F7 | Bbmaj7 G7*"), line("Eb5 D5 C5 A4 Bb4")
)


def player(**settings: str) -> Preferences:
    return preferences_from(settings)


@pytest.mark.parametrize("instrument", ["tenor sax", "trombone", "double bass", "flute", "C C2-C4"])
def test_every_line_lies_in_the_range_of_the_instrument(instrument: str):
    """A line of a tritone fits any instrument of two octaves, in each of the twelve keys."""
    preferences = player(instrument=instrument)
    low, high = (pitch.midi for pitch in preferences.sounding_range or ())
    for version in prepare(PHRASE, preferences).keys:
        heights = [note.pitch.midi for note in version.line]
        assert low <= min(heights) <= max(heights) <= high, version.key.text()
    assert understood(prepare(PHRASE, preferences), preferences).misfits == ()


def test_without_an_instrument_lines_move_a_tritone_at_most():
    """From the written A4: between Eb4 and Eb5 in every key."""
    for version in prepare(PHRASE, player()).keys:
        lowest = min(note.pitch.midi for note in version.line)
        assert abs(lowest - 69) <= 6, version.key.text()


def test_what_is_understood_is_as_the_player_reads_it():
    """Concert Bb is a tenor's C; all twelve follow, and the first is the written key."""
    preferences = player(instrument="tenor sax")
    found = understood(prepare(PHRASE, preferences), preferences)
    assert found.phrase.key == parse_key("C")
    assert symbols(found.phrase.chart) == "Dm7 G7 | Cmaj7 A7*"
    keys = [version.key.text() for version in found.versions]
    assert keys == ["C", "F", "Bb", "Eb", "Ab", "Db", "Gb", "B", "E", "A", "D", "G"]
    assert found.instrument == "tenor sax"


def test_what_was_typed_comes_back_as_it_was_typed():
    """On every transposing instrument: written to concert, and read again, it is the same."""
    for instrument in ("tenor sax", "alto sax", "trumpet", "horn", "clarinet"):
        preferences = player(instrument=instrument)
        typed = typed_phrase(
            title="Side gate", key="F", tempo="120", chart="Gm7 Gb7 | Fmaj7 (D7#9)"
        )
        read = understood(prepare(sounding(typed, preferences), preferences), preferences)
        assert read.phrase == typed
        assert read.versions[0] == typed


def test_at_concert_pitch_nothing_moves():
    """No instrument is set: what was typed is what sounds."""
    assert sounding(PHRASE, player()) is PHRASE


def test_the_own_order_needs_keys():
    """Refused with the way to set them; once set, it is followed."""
    with pytest.raises(BadInput, match="own order of keys is empty"):
        prepare(PHRASE, player(order="own"))
    own = player(order="own", own_order="C G D A E B Gb Db Ab Eb Bb F")
    keys = [version.key.text() for version in prepare(PHRASE, own).keys]
    assert keys == ["Bb", "F", "C", "G", "D", "A", "E", "B", "Gb", "Db", "Ab", "Eb"]


@pytest.mark.parametrize(
    ("style", "bars"),
    [
        ("dominant", "Cm7 F7 | Bbmaj7 G7*"),
        ("two-five", "Cm7 F7 | Bbmaj7 _ Dm7* G7*"),
        ("substitute", "Cm7 F7 | Bbmaj7 Db7*"),
    ],
)
def test_a_turnaround_is_proposed_in_the_players_manner(style: str, bars: str):
    """To a first Cm7: G7, its ii-V, or the Db7 a semitone above; none where there is one."""
    bare = typed_phrase(title="Bare", key="Bb", tempo="120", chart="Cm7 F7 | Bbmaj7")
    assert proposed(bare, player(turnaround=style)) == chart(bars)
    assert proposed(PHRASE, player(turnaround=style)) is None
