"""What a player may want to change, said once for each thing."""

from __future__ import annotations

from rich.console import Group

from drillbox.music.analysis.whole import analyse
from drillbox.music.keys import parse_key
from drillbox.music.moving.transposition import Fit
from drillbox.screen.lead_sheet import caution_texts, doubt_lines, range_texts
from drillbox.screen.look import Look
from tests.music.worked import phrase
from tests.screen.states import shown

ASCII = Look(ascii=True)


def test_chords_without_a_guide_tone_share_a_sentence():
    """Roots alone over three chords: all are named with their places, as they are printed."""
    read = phrase("| Dm7 Bbm7 | Cmaj7 |", "1.1 D4 1, 1.3 Bb4 1, 2.1 C5 1")
    cautions = analyse(read).cautions
    assert caution_texts(cautions, read.chart, ASCII)[0] == (
        "No 3rd or 7th among the targets: Dm7 in bar 1; Bbm7 in bar 1, beat 3; Cmaj7 in bar 2."
    )
    assert "B♭m7 in bar 1, beat 3" in caution_texts(cautions, read.chart, Look())[0]


def test_other_cautions_keep_their_sentences():
    """Sixteenths at 200 are 13.3 a second."""
    read = phrase("| Cmaj7 |", "1.1 E4 1/4, 1.1e G4 1/4, 1.1& B4 1/4, 1.1a C5 1/4", tempo=200)
    (text,) = caution_texts(analyse(read).cautions, read.chart, ASCII)
    assert text.startswith("At 200 the line has 13.3 notes a second")


def test_the_range_names_each_key_and_way():
    """Up, down, and both; nothing where every key fits."""
    found = ((parse_key("Gb"), Fit(0, over=2)), (parse_key("A"), Fit(-1, over=1, under=3)))
    assert range_texts(found, "tenor sax", ASCII) == [
        "Out of range for tenor sax, by semitones: Gb 2 too high, A 1 too high and 3 too low."
    ]
    assert "G♭ 2 too high" in range_texts(found, "tenor sax", Look())[0]
    assert range_texts((), "tenor sax", Look()) == []


def test_each_warning_is_called_doubtful():
    """The word that files' doubts have too."""
    said = shown(ASCII, lambda look: Group(*doubt_lines(["One.", "Two."], look)))
    assert said.splitlines() == ["  check: One.", "  check: Two."]
