"""Analysis of whole lines, worked by hand, and its sameness in every key."""

from __future__ import annotations

import hashlib
import json
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.music.analysis.cautions import CautionKind
from drillbox.music.analysis.motion import Enclosure
from drillbox.music.analysis.roles import Role
from drillbox.music.analysis.whole import (
    RULES,
    Analysis,
    analyse,
    analysis_from,
    analysis_json,
    function_text,
    is_current,
    role_text,
    scale_text,
)
from drillbox.music.charts import Meter, beat_text
from drillbox.music.keys import Key, twelve
from drillbox.music.moving.transposition import phrase_to
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.pitch import Name, Pitch, parse_pitch

from .worked import Worked, phrase, worked

# The rules that the tables below are worked by (stated in full beside each function):
# target     marked; under a chord without marks, for each span the chord tone at the change,
#            guide tones first
# enclosure  2-4 notes within a whole tone of a chord tone on a pulse, from both sides
# passing    not a chord tone, between two chord tones by step in one direction
# approach   not a chord tone, off the pulse or chromatic, by step to a chord tone
# tension    not a chord tone, in the chord's scale, none of the above; outside: not in it
# implied    a dominant over its goal, a triad or a minor line over a dominant: ``implied_harmony``
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
    1.1  | F4  | 1/2 | b3  | target, guide tone, arpeggio from the 3rd
    1.1& | A4  | 1/2 | 5   | chord tone, arpeggio from the 3rd
    1.2  | C5  | 1/2 | b7  | guide tone, arpeggio from the 3rd
    1.2& | E5  | 1/2 | 9   | diatonic approach from above, arpeggio from the 3rd
    1.3  | D5  | 1/2 | 1   | chord tone
    1.3& | C5  | 1/2 | b7  | guide tone
    1.4  | A4  | 1/2 | 5   | part of a diatonic enclosure of 2 notes, chord tone
    1.4& | C5  | 1/2 | b7  | part of a diatonic enclosure of 2 notes, guide tone
    2.1  | B4  | 1/2 | 3   | target, guide tone, arpeggio from the 3rd
    2.1& | D5  | 1/2 | 5   | chord tone, arpeggio from the 3rd
    2.2  | F5  | 1/2 | b7  | guide tone, arpeggio from the 3rd
    2.2& | Ab5 | 1/2 | b9  | chromatic approach from above, arpeggio from the 3rd
    2.3  | G5  | 1/2 | 1   | chord tone
    2.3& | F5  | 1/2 | b7  | part of a chromatic enclosure of 3 notes, guide tone
    2.4  | D5  | 1/2 | 5   | part of a chromatic enclosure of 3 notes, chord tone
    2.4& | D#5 | 1/2 | b13 | part of a chromatic enclosure of 3 notes
    3.1  | E5  | 1/2 | 3   | target, guide tone, scale run
    3.1& | D5  | 1/2 | 9   | diatonic passing, scale run
    3.2  | C5  | 1/2 | 1   | chord tone, scale run
    3.2& | B4  | 1/2 | 7   | guide tone, scale run
    3.3  | G4  | 1   | 5   | chord tone
    4.1  | C#5 | 1/2 | 3   | target, guide tone, arpeggio from the 3rd
    4.1& | E5  | 1/2 | 5   | chord tone, arpeggio from the 3rd
    4.2  | G5  | 1/2 | b7  | guide tone, arpeggio from the 3rd
    4.2& | F5  | 1/2 | b13 | diatonic passing
    4.3  | E5  | 1/2 | 5   | chord tone
    """,
)

# Minor. D Locrian, G Mixolydian b9 b13, C melodic minor. In bar 1 no guide tone falls on the
# change, so that the one on its heels is the target: an eighth late. B over the bar line is the
# third of the coming G7: one eighth early. The half note D in bar 3 rests: a tension. Bar 4
# holds the chord, so that its target has no change to be late for.
MINOR = worked(
    "| Dm7b5 | G7 | Cm6 | Cm6 |",
    """
    1.1  | Ab4 | 1/2 | b5  | chord tone, arpeggio from the 5th
    1.1& | C5  | 1/2 | b7  | target, guide tone, arpeggio from the 5th; 1 late
    1.2  | F5  | 1/2 | b3  | guide tone, arpeggio from the 5th, scale run
    1.2& | Eb5 | 1/2 | b9  | diatonic passing, scale run
    1.3  | D5  | 1/2 | 1   | chord tone, scale run
    1.3& | C5  | 1   | b7  | guide tone, scale run
    1.4& | B4  | 1   | 3   | target, guide tone, scale run; 1 early
    2.1& | Ab4 | 1/2 | b9  | diatonic approach from above
    2.2  | G4  | 1/2 | 1   | chord tone, arpeggio from the root
    2.2& | B4  | 1/2 | 3   | guide tone, arpeggio from the root
    2.3  | D5  | 1/2 | 5   | chord tone, arpeggio from the root
    2.3& | F5  | 1/2 | b7  | guide tone, arpeggio from the root
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
    1.1  | Bb4 | 1/4 | b3  | target, guide tone, arpeggio from the 3rd
    1.1e | D5  | 1/4 | 5   | chord tone, arpeggio from the 3rd
    1.1& | F5  | 1/4 | b7  | guide tone, arpeggio from the 3rd
    1.1a | A5  | 1/4 | 9   | diatonic approach from above, arpeggio from the 3rd
    1.2  | G5  | 1/4 | 1   | chord tone
    1.2e | F5  | 1/4 | b7  | guide tone
    1.2& | D5  | 1/4 | 5   | part of a diatonic enclosure of 2 notes, chord tone
    1.2a | F5  | 1/4 | b7  | part of a diatonic enclosure of 2 notes, guide tone
    1.3  | E5  | 1/4 | 3   | target, guide tone, arpeggio from the 3rd
    1.3e | G5  | 1/4 | 5   | chord tone, arpeggio from the 3rd
    1.3& | Bb5 | 1/4 | b7  | guide tone, arpeggio from the 3rd
    1.3a | A5  | 1/4 | 13  | tension
    1.4  | C5  | 1/4 | 1   | chord tone
    1.4e | B4  | 1/4 | 7   | part of a chromatic enclosure of 3 notes
    1.4& | Bb4 | 1/4 | b7  | part of a chromatic enclosure of 3 notes, guide tone
    1.4a | G4  | 1/4 | 5   | part of a chromatic enclosure of 3 notes, chord tone
    2.1  | A4  | 1/4 | 3   | target, guide tone, arpeggio from the 3rd
    2.1e | C5  | 1/4 | 5   | chord tone, arpeggio from the 3rd
    2.1& | E5  | 1/4 | 7   | guide tone, arpeggio from the 3rd
    2.1a | G5  | 1/4 | 9   | diatonic approach from above, arpeggio from the 3rd
    2.2  | F5  | 1   | 1   | chord tone
    """,
    key="F",
    tempo=160,
)

# Tritone substitute, with a pickup. D B are heard with the coming Am7 and enclose C. The C over
# the bar line belongs to both chords and sounds on: it is the third of Ab7, one early. D is
# the #11 that makes Ab Lydian b7; C A enclose B, with A outside that scale.
SUBSTITUTE = worked(
    "| Am7 | Ab7 | Gmaj7 | (E7) |",
    """
    0.4  | D5  | 1/2 | 11  | part of a diatonic enclosure of 2 notes
    0.4& | B4  | 1/2 | 9   | part of a diatonic enclosure of 2 notes
    1.1  | C5  | 1/2 | b3  | target, guide tone, arpeggio from the 3rd
    1.1& | E5  | 1/2 | 5   | chord tone, arpeggio from the 3rd
    1.2  | G5  | 1/2 | b7  | guide tone, arpeggio from the 3rd, scale run
    1.2& | F#5 | 1/2 | 13  | diatonic passing, scale run
    1.3  | E5  | 1/2 | 5   | chord tone, scale run
    1.3& | D5  | 1/2 | 11  | diatonic passing, scale run
    1.4  | Db5 | 1/2 | 3   | chromatic passing, scale run
    1.4& | C5  | 1   | 3   | target, guide tone, arpeggio from the 3rd, scale run; 1 early
    2.1& | Eb5 | 1/2 | 5   | chord tone, arpeggio from the 3rd
    2.2  | Gb5 | 1/2 | b7  | guide tone, arpeggio from the 3rd
    2.2& | F5  | 1/2 | 13  | tension
    2.3  | D5  | 1   | #11 | tension
    2.4  | C5  | 1/2 | 3   | part of a chromatic enclosure of 2 notes, guide tone
    2.4& | A4  | 1/2 | b9  | part of a chromatic enclosure of 2 notes
    3.1  | B4  | 1   | 3   | target, guide tone, arpeggio from the 3rd
    3.2  | D5  | 1   | 5   | chord tone, arpeggio from the 3rd
    3.3  | F#5 | 1   | 7   | guide tone, arpeggio from the 3rd
    """,
    key="G",
)

# Marked targets (!), a grace note, a double approach and an outside note. G is marked though
# it's neither on the change nor a guide tone: two eighths late. F F# rise to it. C# leaps away
# from outside the scale. The grace D# leads up to E. Nothing in bar 2 is marked, so the rule
# decides there: the E, the only chord tone over Am7, begins on the change.
MARKED = worked(
    "| C6 | Am7 |",
    """
    1.1  | F4  | 1/2 | 4   | diatonic approach from below
    1.1& | F#4 | 1/2 | #11 | chromatic approach from below
    1.2  | G4! | 1   | 5   | target, chord tone; 2 late
    1.4  | C#5 | 1/2 | b9  | outside
    2.1  | D#5 | 0   | b5  | chromatic approach from below
    2.1  | E5  | 1   | 5   | target, chord tone
    """,
)

LINES = {
    "major": MAJOR,
    "minor": MINOR,
    "double-time": DOUBLE_TIME,
    "substitute": SUBSTITUTE,
    "marked": MARKED,
}


def told(analysis: Analysis) -> tuple[tuple[str, str, str], ...]:
    return tuple(
        (f"{note.bar}.{beat_text(note.beat)}", note.degree or "", role_text(analysis, index))
        for index, note in enumerate(analysis.notes)
    )


@pytest.mark.parametrize("each", LINES.values(), ids=LINES)
def test_a_line_is_what_working_it_by_hand_gives(each: Worked) -> None:
    """Every note's place, degree and roles come out as the table says."""
    assert told(analyse(each.phrase)) == each.rows


@pytest.mark.parametrize(
    ("each", "chords"),
    [
        (
            MAJOR,
            [
                (1, "ii", "Dorian"),
                (2, "V", "Mixolydian"),
                (3, "I", "Ionian (or Lydian)"),
                (4, "turnaround, V/ii", "Mixolydian b13 (or Mixolydian b9 b13, altered)"),
            ],
        ),
        (
            MINOR,
            [
                (1, "ii", "Locrian (or Locrian natural 2)"),
                (2, "V", "Mixolydian b9 b13 (or altered)"),
                (3, "i", "melodic minor (or Dorian)"),
                (4, "i", "melodic minor (or Dorian)"),
            ],
        ),
        (
            SUBSTITUTE,
            [
                (1, "ii", "Dorian"),
                (2, "sub V (for D7)", "Lydian b7"),
                (3, "I", "Ionian (or Lydian)"),
                (4, "turnaround, V/ii", "Mixolydian b13 (or Mixolydian b9 b13, altered)"),
            ],
        ),
    ],
    ids=["major", "minor", "substitute"],
)
def test_chords_have_bar_function_and_scale(
    each: Worked, chords: list[tuple[int, str, str]]
) -> None:
    """Each chord of a worked line is told by its bar, function and scale."""
    analysis = analyse(each.phrase)
    key = each.phrase.key
    assert [
        (facts.bar, function_text(facts, key), scale_text(facts)) for facts in analysis.chords
    ] == chords


def test_bar_and_beat_are_counted_from_one_and_exact() -> None:
    """Two chords in a bar stand on beats 1 and 3, a triplet on 1+1/3; 6/8 counts in two."""
    analysis = analyse(DOUBLE_TIME.phrase)
    assert [(facts.bar, facts.beat) for facts in analysis.chords] == [(1, 1), (1, 3), (2, 1)]
    triplet = LineNote(Fraction(1, 3), Fraction(1, 3), parse_pitch("A4"))
    base = phrase("| Fmaj7 |", key="F")
    assert analyse(replace(base, line=(triplet,))).notes[0].beat == Fraction(4, 3)
    in_six = analyse(phrase("| Fmaj7 |", "1.4 A4 1/2", key="F", meter=Meter(6, 8)))
    assert [note.beat for note in in_six.notes] == [2]


def test_a_phrase_without_a_line_still_tells_its_chords() -> None:
    """A typed chart has functions and scales, no notes and no warnings."""
    analysis = analyse(phrase("| Dm7 | G7 | Cmaj7 | NC |"))
    functions = [facts.function for facts in analysis.chords]
    assert [each and each.roman for each in functions] == ["ii", "V", "I", None]
    assert (analysis.notes, analysis.enclosures, analysis.cautions) == ((), (), ())


def test_enclosures_know_their_notes_their_landing_and_their_kind() -> None:
    """The two enclosures of the major line: A C around B diatonic, F D D# around E chromatic."""
    found = analyse(MAJOR.phrase).enclosures
    assert [(each.notes, each.landing, each.chromatic) for each in found] == [
        ((6, 7), 8, False),
        ((13, 14, 15), 16, True),
    ]


def test_a_line_may_enclose_the_first_note_of_its_next_pass() -> None:
    """G# B at the loop's end enclose the A that the next pass begins on: G# outside D Dorian."""
    looped = phrase("| Am7 | Dm7 |", "1.1 A4 1, 2.1 F4 2, 2.4 G#4 1/2, 2.4& B4 1/2", key="Am")
    analysis = analyse(looped)
    assert analysis.enclosures == (Enclosure((2, 3), 0, chromatic=True),)


def test_notes_over_no_chord_have_only_the_roles_of_their_motion() -> None:
    """Over N.C. there's no degree, no tension and nothing chromatic; a run is still a run."""
    silent = analyse(phrase("| NC |", "1.1 C4 1/2, 1.1& D4 1/2, 1.2 E4 1/2, 1.2& F4 1/2"))
    assert {(note.degree, note.roles, note.chromatic) for note in silent.notes} == {
        (None, (Role.SCALE_RUN,), False)
    }


@pytest.mark.parametrize("each", LINES.values(), ids=LINES)
def test_an_analysis_is_the_same_in_all_twelve_keys(each: Worked) -> None:
    """Degrees, roles, numerals, scales and warnings don't change under transposition."""
    written = analyse(each.phrase)
    for key in twelve(each.phrase.key.mode):
        assert analyse(phrase_to(each.phrase, key)) == written, key.text()


CHARTS = [
    "| Dm7 | G7 | Cmaj7 | (A7) |",
    "| F#m7b5 B7b9 | Em7 Eb7 | Dm7 Db7#11 | C69 |",
    "| C7 | F7 | C7 | Gm7 C7alt |",
    "| Bb7sus4 | NC | Ebdim7 | Abmaj7#5/G |",
]
NAMES = st.builds(Name, st.sampled_from("ABCDEFG"), st.integers(-1, 1))
STRUCK = st.tuples(
    st.sampled_from([Fraction(1, 4), Fraction(1, 3), Fraction(1, 2), Fraction(1), Fraction(3, 2)]),
    st.booleans(),
    st.builds(Pitch, NAMES, st.integers(3, 5)),
    st.integers(0, 9).map(lambda n: n == 0),
)


def phrase_of(
    chart: str, start: Fraction, struck: list[tuple[Fraction, bool, Pitch, bool]]
) -> Phrase:
    """Notes one after the other from ``start``, half of them sounding for half their value."""
    base = phrase(chart)
    notes, at = [], start
    for value, staccato, pitch, marked in struck:
        if at + value > base.chart.length:
            break
        notes.append(LineNote(at, value / 2 if staccato else value, pitch, marked))
        at += value
    return replace(base, line=tuple(notes))


@given(
    st.sampled_from(CHARTS),
    st.sampled_from([Fraction(-1), Fraction(-1, 2), Fraction(0), Fraction(5, 2)]),
    st.lists(STRUCK, min_size=1, max_size=24),
    st.sampled_from(twelve("major")),
)
@settings(max_examples=150)
def test_any_line_is_analysed_the_same_in_any_key(
    chart: str, start: Fraction, struck: list[tuple[Fraction, bool, Pitch, bool]], key: Key
) -> None:
    """Law: for any line over any of the charts the analysis is invariant under transposition."""
    made = phrase_of(chart, start, struck)
    written = analyse(made)
    assert analyse(phrase_to(made, key)) == written
    assert len(written.notes) == len(made.line)
    for note in written.notes:
        assert (Role.APPROACH in note.roles) == (note.side is not None)
        assert (note.arrival is not None) <= (Role.TARGET in note.roles)
        moving = {Role.ENCLOSURE, Role.PASSING, Role.APPROACH} & set(note.roles)
        assert len(moving) <= 1


def test_what_a_player_is_warned_of_on_the_way_in() -> None:
    """Of the worked lines the sixteenths at 160 and the marks off the guide tones are warned of."""
    found = {
        name: [caution.kind for caution in analyse(each.phrase).cautions]
        for name, each in LINES.items()
    }
    assert found == {
        "major": [],
        "minor": [],
        "double-time": [CautionKind.TOO_FAST],
        "substitute": [],
        "marked": [CautionKind.NO_GUIDE_TONE, CautionKind.NO_GUIDE_TONE, CautionKind.OPEN_LOOP],
    }


def there_and_back(analysis: Analysis) -> Analysis:
    return analysis_from(json.loads(json.dumps(analysis_json(analysis))))


@pytest.mark.parametrize("name", LINES)
def test_worked_lines_come_back_as_they_were(name: str) -> None:
    """Nothing is lost, fractions and tuples included."""
    analysis = analyse(LINES[name].phrase)
    assert there_and_back(analysis) == analysis


def test_charts_of_every_function_come_back() -> None:
    """Substitutes, turnarounds, chords without function and no chord, without a line."""
    for chart in (*CHARTS, "| Abm7 Db7 | Cmaj7 | NC C5 | (F#maj7) |", "| D7 | Dm7 | G7 | C6 |"):
        analysis = analyse(phrase(chart))
        assert there_and_back(analysis) == analysis


@given(
    st.sampled_from(CHARTS),
    st.sampled_from([Fraction(-1, 2), Fraction(0)]),
    st.lists(STRUCK, max_size=16),
)
@settings(max_examples=100)
def test_any_analysis_comes_back(
    chart: str, start: Fraction, struck: list[tuple[Fraction, bool, Pitch, bool]]
) -> None:
    """Law: reading back what was written is the identity, through JSON text."""
    analysis = analyse(phrase_of(chart, start, struck))
    assert there_and_back(analysis) == analysis


@pytest.mark.parametrize(
    "value",
    [{}, [], None, {"chords": 3}, {"chords": [], "notes": [[1]], "enclosures": [], "cautions": []},
     {"chords": [], "notes": [[1, "1", 0, "3", ["solo"]]], "enclosures": [], "cautions": [],
      "subdivision": "1/2"},
     {"chords": [], "notes": [], "enclosures": [], "cautions": [], "subdivision": "1/0"}],
)  # fmt: skip
def test_what_is_no_analysis_is_refused(value: Any) -> None:
    """Missing parts, wrong types, unknown roles and impossible fractions raise ValueError."""
    with pytest.raises(ValueError, match=r"analysis|Role|unpack"):
        analysis_from(value)


def test_a_note_is_a_short_list() -> None:
    """The form that rows hold: bar, beat, span, degree, roles, then what is out of the ordinary."""
    written = analysis_json(analyse(phrase("| Dm7 |", "1.1 F4 1/2, 1.1& C#5 1/2")))
    assert written["notes"] == [
        [1, "1", 0, "b3", ["target", "guide tone", "chord tone"], False, None, "0"],
        [1, "3/2", 0, "7", ["outside"], True],
    ]


DIGEST = "fe4a6f0f7b61"
"""Of the worked lines' analyses; where it changes, ``RULES`` is raised with it."""


def test_other_rules_have_another_number() -> None:
    """What is kept in a store is believed only if today's rules made it: so they are numbered."""
    written = [analysis_json(analyse(each.phrase)) for each in LINES.values()]
    digest = hashlib.sha256(json.dumps(written).encode()).hexdigest()
    assert digest[:12] == DIGEST
    assert is_current(written[0])
    assert not is_current({**written[0], "rules": RULES - 1})
    assert not is_current({})


def test_an_arpeggio_from_an_altered_tension_names_it() -> None:
    """From the b9 over G7b9, and from the plain 9 over Dm7; a minor third is the 3rd."""
    for chart, line, wanted in (
        ("| G7b9 |", "1.1 Ab4 1, 1.2 B4 1, 1.3 D5 1, 1.4 F5 1", "arpeggio from the b9"),
        ("| Dm7 |", "1.1 E4 1, 1.2 G4 1, 1.3 B4 1", "arpeggio from the 9th"),
        ("| Dm7 |", "1.1 F4 1, 1.2 A4 1, 1.3 C5 1", "arpeggio from the 3rd"),
    ):
        assert wanted in role_text(analyse(phrase(chart, line)), 0)
