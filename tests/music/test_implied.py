"""What a soloist states over the chart's own harmony, and what only looks like it."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.music.analysis.roles import Role
from drillbox.music.analysis.whole import analyse, role_text
from drillbox.music.keys import Key, twelve
from drillbox.music.moving.transposition import phrase_to
from drillbox.music.symbols.printed import symbol_text
from tests.rows import every_row

from .planned_lines import LINES, Planned
from .test_planned_lines import read


def stated(key: str, chart: str, line: str) -> list[str]:
    """Return each implied harmony of a line of eighths as ``0-3 V7b9 G7b9``."""
    planned = read(Planned(key, chart, line, ""))
    found = []
    for each in analyse(planned).implied:
        at = each.span
        if each.resolution is not None:
            at = analyse(planned).notes[each.resolution].span
        over = planned.chart.spans()[at][1].chord
        assert over
        chord = symbol_text(each.chord(over))
        found.append(f"{each.notes[0]}-{each.notes[-1]} {each.text()} {chord}")
    return found


# Common practice; lines of our own.
STATED = [
    ("C", "| Cmaj7 |", "B3 D4 F4 E4", "0-2 V7 G7"),
    ("C", "| Cmaj7 |", "F4 Ab4 B4 D5 C5", "0-3 V7b9 G7b9"),
    ("C", "| Cmaj7 |", "D4 F4 Ab4 G4", "0-2 V7b9 G7b9"),
    ("C", "| Cmaj7 |", "Eb5 B4 Ab4 F4 E4", "0-3 V7alt G7alt"),
    ("C", "| Cmaj7 |", "B4 Ab4 D5 F4 E4", "0-3 V7b9 G7b9"),
    ("C", "| Cmaj7 |", "Ab4 Bb4 B4 Ab4 Db5 C5", "0-4 V7alt G7alt"),
    ("C", "| Cmaj7 |", "Db5 Ab4 F4 E4", "0-2 sub V7 Db7"),
    ("C", "| Cmaj7 |", "B4 Ab4 F4 Db4 C4", "0-3 sub V7 Db7"),
    ("Cm", "| Cm6 |", "F4 G4 Ab4 B4 C5", "0-3 V7b9 G7b9"),
    ("Cm", "| Cm7 |", "D5 B4 Ab4 F4 Eb4", "0-3 V7b9 G7b9"),
    ("F", "| F7 |", "E4 G4 Bb4 Db5 C5", "0-3 V7b9 C7b9"),
    ("Bb", "| Bbmaj7 | G7 |", "A3 C4 Eb4 G4 F4 D4 Bb3", "0-3 V7 F7"),
    ("G", "| Gmaj7 | Am7 |", "B4 G4 D4 B3 G#3 B3 D4 F4 E4", "4-7 V7b9 E7b9"),
    ("C", "| G7 | Cmaj7 |", "D4 F4 G4 B4 Db5 F5 Ab5 B5 C6", "4-7 sub V7 Db7"),
    ("C", "| G7 | Cmaj7 |", "G4 F4 D4 Eb4 Db4 B3 Bb3 Ab3 G3", "3-7 V7alt G7alt"),
    ("C", "| Cmaj7 | Am7 |", "C4 E4 G4 E4 G#4 B4 D5 F5 E5", "3-7 V7b9 E7b9"),
    ("Eb", "| Ebmaj7 | Fm7 |", "G4 Bb4 D5 F5 E5 C5 G4 E4 F4", "4-7 V7 C7"),
    ("C", "| G7 |", "Bb4 G4 Eb4 D4", "0-2 upper-structure triad on the b13 Eb"),
    ("C", "| G7 |", "A4 C#5 E5 D5", "0-2 upper-structure triad on the 9 A"),
    ("C", "| G7 |", "Db5 Ab4 E4 F4", "0-2 upper-structure triad on the #11 C#m"),
    ("C", "| Cmaj7 |", "D4 F#4 A4 G4", "0-2 upper-structure triad on the 9 D"),
    ("C", "| Dm7 |", "C5 E5 G5 F5", "0-2 upper-structure triad on the b7 C"),
    ("C", "| G7 |", "F4 A4 C5 B4", "0-2 minor line on the 5 Dm7"),
    ("C", "| G7 |", "D4 F4 Ab4 C5 B4", "0-3 minor line on the 5 Dm7b5"),
    ("C", "| G7 |", "D4 E4 F4 A4 B4", "0-3 minor line on the 5 Dm7"),
    ("C", "| G7 |", "Ab4 B4 Eb5 G5 F5", "0-3 minor line on the b9 Abm(maj7)"),
    ("Bb", "| F13 | Bb6 |", "C4 Eb4 G4 Bb4 A4", "0-3 minor line on the 5 Cm7"),
    ("Bb", "| F13b9 | Bb6 |", "C4 Eb4 G4 Bb4 A4", "0-3 minor line on the 5 Cm7"),
    ("Cm", "| Cm |", "B3 D4 F4 Ab4 G4", "0-3 V7b9 G7b9"),
    ("Cm", "| Cm(maj7) |", "B3 D4 F4 Ab4 G4", "0-3 V7b9 G7b9"),
    ("Am", "| Am7 |", "G#4 B4 D5 F5 E5", "0-3 V7b9 E7b9"),
]


@every_row(("key", "chart", "line", "expected"), STATED)
def test_a_stated_harmony_is_named(key: str, chart: str, line: str, expected: str) -> None:
    """Dominants over their goal, triads and minor lines over dominants: which notes, what chord."""
    assert stated(key, chart, line) == [expected]


PLAIN = [
    ("C", "| Cmaj7 |", "G4 F4 E4 D4 C4 B3 C4", "the scale of the chord"),
    ("C", "| Cmaj7 |", "E4 G4 B4 D5 C5", "the chord's own arpeggio, on to its 9"),
    ("C", "| Dm7 |", "F4 A4 C5 E5 D5", "likewise"),
    ("C", "| G7 |", "B4 D5 F5 Ab5 G5", "the dominant's own flat ninth"),
    ("C", "| G7 |", "G4 B4 D5 F5 A5 G5", "its own ninth"),
    ("Cm", "| Cm7 |", "Bb4 Ab4 G4 F4 Eb4", "the scale of C minor"),
    ("C", "| Cmaj7 |", "B3 D4 F4 A4 C5 G4", "it doesn't resolve by step to a chord tone"),
    ("C", "| Cmaj7 |", "B3 D4 F4 - - E4", "silence comes between"),
    ("C", "| G7 | Cmaj7 |", "G4 B4 D5 F5 E5 D5 B4 Ab4 G4", "over G7 itself"),
    ("C", "| G7alt | Cmaj7 |", "G4 F4 D4 Eb4 Db4 B3 Bb3 Ab3 G3", "the chart has it altered"),
    ("C", "| Db7 | Cmaj7 |", "Db4 F4 Ab4 B4 Db5 B4 Ab4 F4 E4", "over the substitute itself"),
    ("C", "| Fmaj7 |", "A4 C5 E5 F5", "its own third, fifth and seventh"),
    ("C", "| Cmaj7 |", "E4 G4 B4 D5 D#5 F5 E5", "an enclosure of the 3, and no flat ninth"),
    ("F", "| Fmaj7 |", "A4 C5 E5 G5 G#5 Bb5 A5", "likewise"),
    ("C", "| Cmaj7 |", "B4 D5 Eb5 F5 G5", "four notes without the flat ninth"),
    ("C", "| NC |", "B3 D4 F4 E4", "no chord sounds"),
    ("Cm", "| Dm7b5 | G7 |", "F4 Ab4 C5 Bb4 G4 F4 Eb4 D4", "natural minor"),
    ("Cm", "| Dm7b5 | G7 |", "Eb4 G4 Bb4 Ab4", "a triad of the key"),
    ("C", "| Em7 | Am7 |", "A4 F4 C4 B3", "likewise"),
    ("E Phrygian", "| Em7 |", "E4 F4 A4 G4 A4 C5 B4", "the mode"),
    ("F", "| F7 | C7 |", "C5 B4 Bb4 Ab4 F4 Eb4 F4 - E4", "the blues scale"),
    ("C", "| Dm7 | G7 |", "G4 Gb4 F4 Eb4 C4 - Bb3 C4 B3", "that of the key, over its ii"),
    ("C", "| G7 | C6 |", "G4 Gb4 Eb4 C4 D4 - - - E4", "over its V"),
    ("Cm", "| Fm7 | G7 |", "Bb4 Gb4 F4 Eb4 Gb4 F4 - - F4", "over its iv"),
    ("C", "| C7 | G7 |", "G4 Gb4 F4 Eb4 C4 Bb3 C4 - B3", "likewise"),
    ("G", "| G7 | Am7 |", "G4 F4 Bb4 C5 D5 F5 D5 Bb4 A4", "likewise"),
    ("Am", "| Am Fmaj7 |", "A4 C5 E5 G5 F5*4", "its own seventh chord"),
    ("Am", "| Am/G Fmaj7 |", "A4 C5 E5 G5 F5*4", "likewise"),
    ("Bb", "| F11 | Bb6 |", "C4 Eb4 G4 Bb4 A4", "the symbol names the 11 itself"),
]  # fmt: skip


@every_row(("key", "chart", "line", "why"), PLAIN)
def test_what_belongs_to_the_chart_is_not_implied(
    key: str, chart: str, line: str, why: str
) -> None:
    """A chord's own scale and tones, what doesn't resolve, and a dominant that is in the chart."""
    assert stated(key, chart, line) == [], why


def test_the_notes_are_told_as_part_of_it_and_are_never_outside() -> None:
    """Over Cmaj7 the Ab of G7b9 isn't outside: it belongs to what the line states."""
    found = analyse(read(Planned("C", "| Cmaj7 |", "B3 D4 F4 Ab4 G4", "")))
    assert role_text(found, 3).startswith("part of an implied V7b9")
    assert Role.OUTSIDE not in found.notes[3].roles
    assert Role.TARGET in found.notes[4].roles


def test_an_enclosure_leaves_the_notes_before_it_what_they_are() -> None:
    """Over Cmaj7 the E on the first beat is a target; the dominant isn't what it leads to."""
    found = analyse(read(Planned("C", "| Cmaj7 |", "E4 G4 B4 D5 D#5 F5 E5", "")))
    assert [index for index, note in enumerate(found.notes) if Role.TARGET in note.roles] == [0]


@given(st.sampled_from(LINES), st.sampled_from(twelve("major")))
@settings(max_examples=30)
def test_it_is_the_same_in_every_key(planned: Planned, key: Key) -> None:
    """Law: what a line states doesn't change under transposition."""
    written = read(planned)
    if written.key.mode == key.mode:
        assert analyse(phrase_to(written, key)) == analyse(written)
