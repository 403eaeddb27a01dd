"""``drillbox show``: what is in a phrase, in the written key or in any other of the twelve."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from drillbox.errors import ExitCode
from tests.player.children import ended, spawn

pytestmark = pytest.mark.usefixtures("made")

# An invented line: a marked b3 on the change, an enclosure round the 3 of G7 over the bar line's
# half, an early arrival tied over the bar line, and the turnaround's b9 unmarked.
TUNE = """%abc-2.1
X:1
T:Green shed
M:4/4
L:1/8
Q:1/4=120
K:C
"Dm7"!accent!FAce "G7"c_BA!accent!=B | "Cmaj7"EGBd "(A7)"^cege |
"""


@pytest.fixture
def shed(drillbox, tmp_path: Path):
    """Return the command line over a store with one invented phrase that has a melody."""
    path = tmp_path / "shed.abc"
    path.write_text(TUNE, encoding="utf-8")
    ran = drillbox("add", str(path))
    assert ran.code == ExitCode.OK, ran.err
    return drillbox


def test_each_chord_has_its_place_function_targets_and_scale(shed):
    """By the rules of the trade: ii V I, and A7 as the dominant of the first chord."""
    ran = shed("--ascii", "show", "green")
    for line in (
        "bar 1, beat 1, chord Dm7, function ii, targets b3, scale Dorian",
        "bar 1, beat 3, chord G7, function V, targets 3 (3 eighths late), scale Mixolydian",
        "bar 2, beat 1, chord Cmaj7, function I, targets 3, scale Ionian (or Lydian)",
        "bar 2, beat 3, chord (A7), function turnaround, V/ii, targets 3, scale Mixolydian b13"
        " (or Mixolydian b9 b13, altered)",
    ):
        assert line in ran.out.splitlines()


def test_the_line_is_told_bar_by_bar_in_names_and_degrees(shed):
    """Every note under its chord, with the targets, marked or inferred, told apart."""
    out = shed("--ascii", "show", "green").out.splitlines()
    assert (
        "bar 1: over Dm7 F is b3, a target; A is 5; C is b7; E is 9; "
        "over G7 C is 11; Bb is #9; A is 9; B is 3, a target" in out
    )
    assert (
        "bar 2: over Cmaj7 E is 3, a target; G is 5; B is 7; D is 9; "
        "over (A7) C# is 3, a target; E is 5; G is b7; E is 5" in out
    )


def test_another_key_shows_its_chart_its_names_and_only_how_it_stands(shed):
    """Eb: every name moved, every degree as before, one key in the list."""
    out = shed("--ascii", "show", "green", "--key", "Eb").out
    assert "key Eb - 4/4 - goal 120 - 16 notes" in out
    assert "| Fm7    Bb7     | Ebmaj7 (C7)    |" in out
    assert "over Fm7 Ab is b3, a target; C is 5; Eb is b7; G is 9; over Bb7" in out
    rows = [line for line in out.splitlines() if line.startswith("key ") and "tempo" in line]
    assert [row.split(",")[0] for row in rows] == ["key Eb"]


def test_a_key_may_be_spelled_either_way(shed):
    """F# is the Gb of the player's setting."""
    assert "key Gb - 4/4" in shed("--ascii", "show", "green", "--key", "F#").out
    shed("settings", "gb", "F#")
    assert "key F# - 4/4" in shed("--ascii", "show", "green", "--key", "Gb").out


@pytest.mark.parametrize("key", ["Cm", "H", ""])
def test_a_wrong_key_is_refused_with_the_twelve_that_there_are(shed, key):
    """One line on stderr that names them in the order in which they open."""
    ran = shed("show", "green", "--key", key)
    assert ran.code == ExitCode.BAD_INPUT
    assert " played in C, F, Bb, Eb, Ab, Db, Gb, B, E, A, D, G." in ran.err
    assert ran.err.count("\n") == 1


def test_with_notes_every_note_has_a_row(shed):
    """Sixteen rows, each with place, chord, name, degree and what it is."""
    out = shed("--ascii", "show", "green", "--notes").out.splitlines()
    rows = [line for line in out if "role" in line]
    assert len(rows) == 16
    assert rows[0] == (
        "bar 1, beat 1, chord Dm7, note F, degree b3, role target, guide tone,"
        " arpeggio from the 3rd"
    )
    assert rows[4].startswith("bar 1, beat 3, chord G7, note C, degree 11, role ")
    assert rows[7].endswith("role target, guide tone; 3 eighths late")


def test_the_warnings_stand_in_it(shed):
    """E4 to G5 in an octave from C4: seven too high as written; each key is named as it is read."""
    assert "check:" not in shed("show", "green").out
    shed("settings", "instrument", "C C4-C5")
    out = shed("--ascii", "show", "green").out
    assert "check: Out of range for C C4-C5, by semitones: C 7 too high, " in out


def test_a_phrase_without_a_melody_has_its_chords_told(kettle):
    """Function and scale need no line; there are no targets to tell."""
    out = kettle("--ascii", "show", "blue", "--notes").out
    assert "bar 1, beat 1, chord Cm7, function ii, scale Dorian" in out
    assert "targets" not in out
    assert "role" not in out


def test_a_key_that_is_not_started_has_no_tempo(kettle):
    """A drill decides its first one; a key that was played shows the tempo it has reached."""
    kettle("drill", keys="c\nq\n")
    rows = [line for line in kettle("show", "blue").out.splitlines() if line.startswith("key ")][1:]
    assert rows[0].startswith("key B♭, tempo 78, ")
    assert len(rows) == 12
    assert all(", tempo –, clean at goal –, goes 0, not started yet" in row for row in rows[1:])


@pytest.mark.parametrize("columns", [80, 64, 40])
def test_every_key_has_its_chart_whole_in_a_terminal(kettle, place: Path, columns: int):
    """Turnaround and all; on a narrow one the charts stand below."""
    kettle("edit", "blue", "--chart", "Cm7 | F7 | Bbmaj7 | Bbmaj7 (G7)")
    kettle("round", "blue", "--all", keys="c\n" * 12)
    child = spawn(place, "show", "blue", size=(24, columns), NO_COLOR="1")
    shown = re.sub("\x1b\\[[0-9;]*m", "", ended(child))
    assert "…" not in shown
    charts = " ".join(shown.split("due", 1)[1].split())
    for turnaround in ("(G7)", "(C7)", "(F7)", "(B♭7)", "(E♭7)", "(G♯7)", "(C♯7)", "(F♯7)", "(B7)",
                       "(E7)", "(A7)", "(D7)"):  # fmt: skip
        assert turnaround in charts


def test_on_forty_columns_no_word_of_its_table_is_cut(kettle, place: Path):
    """Its headings, keys not started and keys put aside, in a terminal."""
    kettle("drill", keys="c\nq\n")
    kettle("edit", "blue", "--aside", "Gb")
    child = spawn(place, "show", "blue", size=(24, 40), NO_COLOR="1")
    shown = re.sub("\x1b\\[[0-9;]*m", "", ended(child))
    assert "…" not in shown
    for words in (["key", "tempo", "at", "goal", "due"], ["E♭", "–", "–", "new"],
                  ["G♭", "–", "–", "put", "aside"]):  # fmt: skip
        assert words in [line.split() for line in shown.splitlines()]
