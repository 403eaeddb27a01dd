"""Lines that leave the range of an instrument, and octaves broken there."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest

from drillbox.music.keys import in_order, parse_key
from drillbox.music.moving.transposition import phrase_to
from drillbox.music.phrases import Phrase
from drillbox.practice.preferences import Preferences, preferences_from
from drillbox.practice.ranges import misfits
from drillbox.store.opening import open_store
from tests.music.shorthand import chart, line
from tests.store.making import NOW

pytestmark = pytest.mark.usefixtures("made")

PHRASE = Phrase("Late kettle", parse_key("C"), 132, chart("Dm7 Db7 | Cmaj7 A7*"), line("E4 F5"))
KEYS = in_order(PHRASE.key, "fourths")


def player(**settings: str) -> Preferences:
    return preferences_from(settings)


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


def test_a_break_waits_for_an_instrument_that_needs_it_and_goes_to_another_computer(
    drillbox, ladder, place, tmp_path
):
    """While none is needed the line is whole; then it is broken as before, there as well."""
    drillbox("add", str(ladder), "--octave-breaks", "--details")
    broken = lines(place)
    drillbox("settings", "instrument", "concert")
    drillbox("edit", "long", "--goal", "100")
    whole = lines(place)
    assert all(whole[key] != broken[key] for key in ("C", "F"))
    other = tmp_path / "other.sqlite3"
    drillbox("--store", str(other), "store", "import", str(place))
    assert lines(other) == whole
    for each in (place, other):
        drillbox("--store", str(each), "settings", "instrument", "C C3-C6")
        assert lines(each) == broken


@pytest.mark.parametrize("first", ["concert", "piano", "C C#3-C#6"])
def test_breaks_that_are_asked_for_before_they_are_needed_are_kept(
    drillbox, ladder, place, first: str
):
    """By a player whose instrument has no range yet, or one that holds the line: in each key of
    the next instrument it lies within. Not asked for, it stays whole and leaves that one."""
    for wanted in ("--octave-breaks", "--no-octave-breaks", None):
        drillbox("settings", "instrument", first)
        drillbox("add", str(ladder), *filter(None, [wanted]))
        drillbox("settings", "instrument", "C C3-C6")
        inside = all(min(line) >= 48 and max(line) <= 84 for line in lines(place).values())
        assert inside == (wanted == "--octave-breaks")
        drillbox("delete", "long", "--yes")


def test_an_edit_breaks_the_octaves_of_a_phrase_that_is_there(drillbox, ladder, place):
    """And makes the line whole again, as an undo does; it says what changes."""
    drillbox("add", str(ladder), "--no-octave-breaks")
    whole = lines(place)
    ran = drillbox("--ascii", "edit", "long", "--octave-breaks")
    assert "octaves: was kept, becomes broken where the line leaves your range" in ran.out
    assert "Every key keeps what you remember of it." in ran.out
    broken = lines(place)
    assert all(min(line) >= 48 and max(line) <= 84 for line in broken.values())
    assert "like that already" in drillbox("edit", "long", "--octave-breaks").out
    for words, then in ((["--undo"], whole), (["--octave-breaks"], broken),
                        (["--no-octave-breaks"], whole)):  # fmt: skip
        assert drillbox("edit", "long", *words).code == 0
        assert lines(place) == then
