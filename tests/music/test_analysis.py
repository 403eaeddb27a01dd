"""Analysis of whole lines, worked by hand, and its sameness in every key."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.music.analysis import Analysis, analyse, function_text, role_text, scale_text
from drillbox.music.cautions import CautionKind
from drillbox.music.hearing import beat_text
from drillbox.music.keys import twelve
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import Name, Pitch, parse_pitch
from drillbox.music.transposition import phrase_to

from .worked import Worked, phrase, worked

# The rules that the tables below are worked by (stated in full beside each function):
# target     marked, or for each span the chord tone at the change, guide tones first
# enclosure  2-4 notes within a whole tone of a chord tone on a pulse, from both sides
# passing    not a chord tone, between two chord tones by step in one direction
# approach   not a chord tone, off the pulse or chromatic, by step to a chord tone
# tension    not a chord tone, in the chord's scale, none of the above; outside: not in it
# arpeggio   3 notes or more by thirds (fourths between chord tones), one way, one chord; its
#            own steps enclose nothing
# scale run  4 notes or more by step in one direction, not all semitones
# chromatic  outside the scale that the chord is paired with
# early      across or up to the change, heard with the coming chord

# Major. Dorian, Mixolydian, Ionian, A Mixolydian b13. Bar 1 rises through the chord to its 9
# and falls to A C around B: both in D Dorian. Bar 2 rises to its b9 and goes F D D# around E:
# Ab and D# are outside G Mixolydian. In bar 3 the D passes, in bar 4 the F (b13) does.
MAJOR = worked(
    "| Dm7 | G7 | Cmaj7 | (A7) |",
    """
    1.1  | F4  | 1/2 | b3  | target, guide tone, arpeggio
    1.1& | A4  | 1/2 | 5   | chord tone, arpeggio
    1.2  | C5  | 1/2 | b7  | guide tone, arpeggio
    1.2& | E5  | 1/2 | 9   | diatonic approach from above, arpeggio
    1.3  | D5  | 1/2 | 1   | chord tone
    1.3& | C5  | 1/2 | b7  | guide tone
    1.4  | A4  | 1/2 | 5   | part of a diatonic enclosure of 2 notes, chord tone
    1.4& | C5  | 1/2 | b7  | part of a diatonic enclosure of 2 notes, guide tone
    2.1  | B4  | 1/2 | 3   | target, guide tone, arpeggio
    2.1& | D5  | 1/2 | 5   | chord tone, arpeggio
    2.2  | F5  | 1/2 | b7  | guide tone, arpeggio
    2.2& | Ab5 | 1/2 | b9  | chromatic approach from above, arpeggio
    2.3  | G5  | 1/2 | 1   | chord tone
    2.3& | F5  | 1/2 | b7  | part of a chromatic enclosure of 3 notes, guide tone
    2.4  | D5  | 1/2 | 5   | part of a chromatic enclosure of 3 notes, chord tone
    2.4& | D#5 | 1/2 | b13 | part of a chromatic enclosure of 3 notes
    3.1  | E5  | 1/2 | 3   | target, guide tone, scale run
    3.1& | D5  | 1/2 | 9   | diatonic passing, scale run
    3.2  | C5  | 1/2 | 1   | chord tone, scale run
    3.2& | B4  | 1/2 | 7   | guide tone, scale run
    3.3  | G4  | 1   | 5   | chord tone
    4.1  | C#5 | 1/2 | 3   | target, guide tone, arpeggio
    4.1& | E5  | 1/2 | 5   | chord tone, arpeggio
    4.2  | G5  | 1/2 | b7  | guide tone, arpeggio
    4.2& | F5  | 1/2 | b13 | diatonic passing
    4.3  | E5  | 1/2 | 5   | chord tone
    """,
)

# Minor. D Locrian, G Mixolydian b9 b13, C melodic minor. In bar 1 no guide tone falls on the
# change, so that the one on beat 2 is the target: two eighths late. B over the bar line is the
# third of the coming G7: one eighth early. The half note D in bar 3 rests: a tension. Bar 4
# holds the chord, so that its target has no change to be late for.
MINOR = worked(
    "| Dm7b5 | G7 | Cm6 | Cm6 |",
    """
    1.1  | Ab4 | 1/2 | b5  | chord tone, arpeggio
    1.1& | C5  | 1/2 | b7  | guide tone, arpeggio
    1.2  | F5  | 1/2 | b3  | target, guide tone, arpeggio, scale run; 2 late
    1.2& | Eb5 | 1/2 | b9  | diatonic passing, scale run
    1.3  | D5  | 1/2 | 1   | chord tone, scale run
    1.3& | C5  | 1   | b7  | guide tone, scale run
    1.4& | B4  | 1   | 3   | target, guide tone, scale run; 1 early
    2.1& | Ab4 | 1/2 | b9  | diatonic approach from above
    2.2  | G4  | 1/2 | 1   | chord tone, arpeggio
    2.2& | B4  | 1/2 | 3   | guide tone, arpeggio
    2.3  | D5  | 1/2 | 5   | chord tone, arpeggio
    2.3& | F5  | 1/2 | b7  | guide tone, arpeggio
    2.4  | Eb5 | 1/2 | b13 | diatonic passing
    2.4& | D5  | 1/2 | 5   | chord tone
    3.1  | Eb5 | 1/2 | b3  | target, guide tone
    3.1& | G5  | 1/2 | 5   | chord tone
    3.2  | D5  | 2   | 9   | tension
    4.1  | A4  | 1   | 6   | target, guide tone
    4.2  | B4  | 1/2 | 7   | diatonic passing
    4.2& | C5  | 1   | 1   | chord tone
    """,
    key="Cm",
)

# Double time: sixteenths, so that the pulse is the eighth. Bar 1 goes D F around E in
# G Dorian; at its end B Bb G close in on A from both sides, B outside C Mixolydian. The A
# over C7 leaps away: a tension.
DOUBLE_TIME = worked(
    "| Gm7 C7 | Fmaj7 |",
    """
    1.1  | Bb4 | 1/4 | b3  | target, guide tone, arpeggio
    1.1e | D5  | 1/4 | 5   | chord tone, arpeggio
    1.1& | F5  | 1/4 | b7  | guide tone, arpeggio
    1.1a | A5  | 1/4 | 9   | diatonic approach from above, arpeggio
    1.2  | G5  | 1/4 | 1   | chord tone
    1.2e | F5  | 1/4 | b7  | guide tone
    1.2& | D5  | 1/4 | 5   | part of a diatonic enclosure of 2 notes, chord tone
    1.2a | F5  | 1/4 | b7  | part of a diatonic enclosure of 2 notes, guide tone
    1.3  | E5  | 1/4 | 3   | target, guide tone, arpeggio
    1.3e | G5  | 1/4 | 5   | chord tone, arpeggio
    1.3& | Bb5 | 1/4 | b7  | guide tone, arpeggio
    1.3a | A5  | 1/4 | 13  | tension
    1.4  | C5  | 1/4 | 1   | chord tone
    1.4e | B4  | 1/4 | 7   | part of a chromatic enclosure of 3 notes
    1.4& | Bb4 | 1/4 | b7  | part of a chromatic enclosure of 3 notes, guide tone
    1.4a | G4  | 1/4 | 5   | part of a chromatic enclosure of 3 notes, chord tone
    2.1  | A4  | 1/4 | 3   | target, guide tone, arpeggio
    2.1e | C5  | 1/4 | 5   | chord tone, arpeggio
    2.1& | E5  | 1/4 | 7   | guide tone, arpeggio
    2.1a | G5  | 1/4 | 9   | diatonic approach from above, arpeggio
    2.2  | F5  | 1   | 1   | chord tone
    """,
    key="F",
    tempo=160,
)

# Tritone substitute, with a pickup. D B sound over the last bar's E7 and enclose C. The C over
# the bar line belongs to both chords and sounds on: it is the third of Ab7, one early. D is
# the #11 that makes Ab Lydian b7; C A enclose B, with A outside that scale.
SUBSTITUTE = worked(
    "| Am7 | Ab7 | Gmaj7 | (E7) |",
    """
    0.4  | D5  | 1/2 | b7  | part of a diatonic enclosure of 2 notes, guide tone
    0.4& | B4  | 1/2 | 5   | part of a diatonic enclosure of 2 notes, chord tone
    1.1  | C5  | 1/2 | b3  | target, guide tone, arpeggio
    1.1& | E5  | 1/2 | 5   | chord tone, arpeggio
    1.2  | G5  | 1/2 | b7  | guide tone, arpeggio, scale run
    1.2& | F#5 | 1/2 | 13  | diatonic passing, scale run
    1.3  | E5  | 1/2 | 5   | chord tone, scale run
    1.3& | D5  | 1/2 | 11  | diatonic passing, scale run
    1.4  | Db5 | 1/2 | 3   | chromatic passing, scale run
    1.4& | C5  | 1   | 3   | target, guide tone, arpeggio, scale run; 1 early
    2.1& | Eb5 | 1/2 | 5   | chord tone, arpeggio
    2.2  | Gb5 | 1/2 | b7  | guide tone, arpeggio
    2.2& | F5  | 1/2 | 13  | tension
    2.3  | D5  | 1   | #11 | tension
    2.4  | C5  | 1/2 | 3   | part of a chromatic enclosure of 2 notes, guide tone
    2.4& | A4  | 1/2 | b9  | part of a chromatic enclosure of 2 notes
    3.1  | B4  | 1   | 3   | target, guide tone, arpeggio
    3.2  | D5  | 1   | 5   | chord tone, arpeggio
    3.3  | F#5 | 1   | 7   | guide tone, arpeggio
    """,
    key="G",
)

# Marked targets (!), a grace note, a double chromatic approach and an outside note. G is marked
# though it isn't on the change: two eighths late. F F# rise to G; the grace A# leads up to B.
# C# on beat 4 of bar 1 leaps away from outside the scale. Nothing in bar 2 is marked.
MARKED = worked(
    "| C6 | Am7 |",
    """
    1.1& | F4   | 1/4 | 4  | chromatic approach from below
    1.1a | F#4  | 1/4 | #11 | chromatic approach from below
    1.2  | G4!  | 1   | 5  | target, chord tone; 2 late
    1.4  | C#5  | 1/2 | b9 | outside
    2.1  | D#5  | 0   | b5 | chromatic approach from below
    2.1  | E5   | 1   | 5  | chord tone
    """,
)


LINES = [MAJOR, MINOR, DOUBLE_TIME, SUBSTITUTE]


def told(each: Worked, analysis: Analysis) -> tuple[tuple[str, str, str], ...]:
    return tuple(
        (f"{note.bar}.{beat_text(note.beat)}", note.degree or "", role_text(analysis, index))
        for index, note in enumerate(analysis.notes)
    )


@pytest.mark.parametrize("each", LINES, ids=["major", "minor", "double-time", "substitute"])
def test_a_line_is_what_working_it_by_hand_gives(each: Worked) -> None:
    """Every note's place, degree and roles come out as the table says."""
    assert told(each, analyse(each.phrase)) == each.rows
