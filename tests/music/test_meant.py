"""A chord goes on in other keys from the degree it was meant on, whatever its key made of it."""

from __future__ import annotations

import pytest

from drillbox.music.keys import MAJOR, MINOR, parse_key
from drillbox.music.moving.meant import meant_chart
from drillbox.music.moving.transposition import phrase_to
from drillbox.music.phrases import Phrase

from .shorthand import chart, line, symbols


@pytest.mark.parametrize(
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
    assert symbols(meant_chart(chart(bars), parse_key("C"))) == bars


def test_a_dominant_keeps_to_its_ii() -> None:
    """Bm7 E7 in Bb reads C#m7 F#7 in C, never C#m7 Gb7; without its ii E7 is a bV."""
    key = parse_key("Bb")
    pair = Phrase("pair", key, 120, chart("Bm7 E7 | Bbmaj7"))
    assert symbols(phrase_to(pair, parse_key("C")).chart) == "C#m7 F#7 | Cmaj7"
    alone = Phrase("alone", key, 120, chart("Bbmaj7 E7 | Ebmaj7"))
    assert symbols(phrase_to(alone, parse_key("C")).chart) == "Cmaj7 Gb7 | Fmaj7"


@pytest.mark.parametrize("key", [*MAJOR, *MINOR], ids=lambda key: key.text())
def test_the_substitute_is_the_same_from_whichever_key_it_was_written_in(key) -> None:
    """Written in any of the keys and moved to any other it reads as if written in C."""
    bars = "Dm7 Db7 | Cmaj7 Ab7" if key.mode == "major" else "Dm7b5 Db7 | Cm6 Ab7"
    source = MAJOR[0] if key.mode == "major" else MINOR[0]
    first = Phrase("round", source, 120, chart(bars))
    second = phrase_to(first, key)
    for other in MAJOR if key.mode == "major" else MINOR:
        if other != key:
            assert symbols(phrase_to(second, other).chart) == symbols(phrase_to(first, other).chart)
