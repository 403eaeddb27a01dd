"""Chord functions: what each chord of a chart does in the key."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.music.analysis.functions import function_at, functions_of
from drillbox.music.analysis.numerals import Function
from drillbox.music.analysis.whole import chord_facts
from drillbox.music.charts import Bar, Chart, Span
from drillbox.music.chords import Chord, family_of
from drillbox.music.heard import chord_begins, heard_chart
from drillbox.music.keys import MODES, Key, Third, parse_key, twelve
from drillbox.music.moving.transposition import chart_to
from drillbox.music.pitch import Interval, parse_name
from tests.rows import every_row

from .chord_strategies import chords
from .worked import FOUR, phrase

# Charts of our own with the function of each chord, worked by the rules of `function_at`
# (common practice). "-" isn't a function; the chart loops.
CHARTS = [
    ("C", "| Dm7 | G7 | Cmaj7 | C6 |", "ii, V, I, I"),
    ("C", "| Dm7 G7 | Em7 A7 | Dm9 G13 | C69 |", "ii, V, iii, V/ii, ii, V, I"),
    ("C", "| Cmaj7 | Am7 | Fmaj7 | Gsus4 G7 |", "I, vi, IV, V, V"),
    # Secondary dominants name the chord that they lead to as it is: minor small, else capital.
    ("C", "| Cmaj7 | E7 | Am7 | D7 | G7 | C7 | Fmaj7 | Fm7 |",
     "I, V/vi, vi, V/V, V, V/IV, IV, iv"),
    ("C", "| E7 | A7 | D7 | G7 |", "V/VI, V/II, V/V, V"),
    ("C", "| Bm7b5 | E7b9 | Am7 | C6 |", "ii/vi, V/vi, vi, I"),
    ("C", "| F#m7b5 | B7 | Em7 | G7 |", "ii/iii, V/iii, iii, V"),
    ("C", "| Gm7 C7 | Fmaj7 | Fm6 | C6 |", "ii/IV, V/IV, IV, iv, I"),
    # A ii may come between a dominant and its return, or between a dominant and its goal.
    ("C", "| A7 | Em7 A7 | Dm7 | G7 |", "V/ii, iii, V/ii, ii, V"),
    ("C", "| D7 | Dm7 | G7 | C6 |", "V/V, ii, V, I"),
    ("C", "| D7 | Dm7 | Db7 | C6 |", "V/V, ii, sub V (for G7), I"),
    ("C", "| D | G | C | F |", "V/V, V, I, IV"),
    # Substitutes lie a semitone above their goal.
    ("C", "| Dm7 | Db7 | Cmaj7 | Eb7 |", "ii, sub V (for G7), I, turnaround, sub V/ii (for A7)"),
    ("C", "| Abm7 | Db7 | Cmaj7 | Ab7 | G7 |", "ii/sub V, sub V (for G7), I, sub V/V (for D7), V"),
    ("Gb", "| Abm7 | G7 | Gbmaj7 | Gb6 |", "ii, sub V (for Db7), I, I"),
    ("B", "| C#m7 | C7 | Bmaj7 | B6 |", "ii, sub V (for F#7), I, I"),
    # Borrowed chords and the back door.
    ("C", "| Fm7 | Bb7 | Cmaj7 | C6 |", "iv, bVII7 (backdoor), I, I"),
    ("C", "| Fm7 | Bb7 | Ebmaj7 | G7 |", "ii/bIII, V/bIII, bIII (ii-V-I in Eb), V"),
    ("C", "| Cmaj7 | Abmaj7 | Dbmaj7 | Dm7b5 |", "I, bVI, bII, ii"),
    ("C", "| F#m7 | B7 | Emaj7 | G7 |", "ii/III, V/III, III (ii-V-I in E), V"),
    # Diminished chords.
    ("C", "| Cmaj7 | C#dim7 | Dm7 | G7 |", "I, viidim/ii, ii, V"),
    ("C", "| Em7 | Ebdim7 | Dm7 | G7 |", "iii, biiidim (passing), ii, V"),
    ("C", "| Cmaj7 | Cdim7 | Cmaj7 | Bdim7 |", "I, idim (common tone), I, viidim"),
    ("C", "| Cmaj7 | Gbdim7 | Abdim7 | Fmaj7 |", "I, -, -, IV"),
    # The blues: its home and its fourth are dominants.
    ("F", "| F7 | Bb7 | F7 | Cm7 F7 | Bb7 | Bdim7 | F7 | D7 | Gm7 | C7 |",
     "I7, IV7, I7, ii/IV, V/IV, IV7, #ivdim, I7, V/ii, ii, V"),
    ("F", "| F7 |", "I7"),
    # Minor.
    ("Cm", "| Dm7b5 | G7b9 | Cm6 | Cm7 |", "ii, V, i, i"),
    ("Cm", "| Cm7 | Fm7 | Bb7 | Ebmaj7 | Abmaj7 | Am7b5 | D7 | G7 |",
     "i, iv, V/bIII, bIII, bVI, vi, V/V, V"),
    ("Cm", "| Cm7 | Bb7 | Ab7 | G7 |", "i, bVII7, sub V/V (for D7), V"),
    ("Cm", "| Cm7 | C7 | Fm7 | Bdim7 |", "i, V/iv, iv, viidim"),
    ("Cm", "| Cm7 | F7 | Cm7 | Gm7 |", "i, IV7, i, v"),
    # Unclear ones have none; no chord has none.
    ("C", "| NC | C5 | F#maj7 | C6 |", "-, -, -, I"),
    ("C", "| Daug | Fmaj7 | Esus4 | Dbm7 |", "-, IV, -, -"),
    ("C", "| Caug | Am7 | G7 |", "I, vi, V"),
    # A ii and V that only turn round.
    ("F", "| Dm7 | G7 |", "vi, V/V (unresolved)"),
    ("C", "| Am9 | D13 |", "vi, V/V (unresolved)"),
    ("C", "| Am7 | % | D7 | % |", "vi, vi, V/V (unresolved), V/V (unresolved)"),
    ("C", "| Em7 A7 | Am7 D7 |", "iii, V/II, vi, V/V (deceptive)"),
    ("Cm", "| Fm7 Bb7 | Am7b5 D7 |", "iv, sub V/vi (for E7), vi, V/V (unresolved)"),
]  # fmt: skip


@every_row(("key", "chart", "expected"), CHARTS)
def test_each_chord_has_its_function(key: str, chart: str, expected: str) -> None:
    """The functions of each chart are those written beside it."""
    read = phrase(chart, key=key)
    found = [each.text(read.key) if each else "-" for each in functions_of(read.chart, read.key)]
    assert ", ".join(found) == expected


@pytest.mark.parametrize("mode", ["major", "minor"])
def test_every_loop_of_one_or_two_iis_and_vs_is_read(mode: Third) -> None:
    """On all roots above the tonic, so in all keys: each dominant has a function."""
    key = Key(parse_name("C"), mode)
    twos = [
        (Chord(root, kind), Chord(root.up(Interval(3, 5)), "dominant"))
        for root in (each.tonic for each in twelve("major"))
        for kind in ("minor-seventh", "half-diminished")
    ]
    for those in (*twos, *(one + two for one, two in product(twos, twos))):
        bars = tuple(Bar((Span(Fraction(0), FOUR.bar, chord),)) for chord in those)
        assert all(functions_of(Chart(FOUR, bars), key)[1::2]), those


NEAR = [
    Chord(parse_name(root), kind)
    for root in "CDEGA"
    for kind in (
        "minor-seventh",
        "half-diminished",
        "dominant",
        "suspended-fourth",
        "major-seventh",
    )
]


@given(
    st.sampled_from([Key(parse_name("C"), mode) for mode in MODES]),
    st.lists(st.sampled_from(NEAR) | chords, min_size=1, max_size=6),
)
@settings(max_examples=60)
def test_any_chart_is_read(key: Key, those: list[Chord]) -> None:
    """Law: whatever chords a chart holds, each span has a function or none."""
    bars = tuple(Bar((Span(Fraction(0), FOUR.bar, chord),)) for chord in those)
    assert len(chord_facts(heard_chart(Chart(FOUR, bars)), key)) == len(those)


@every_row("chart", [chart for key, chart, _ in CHARTS if key == "C"])
def test_functions_are_the_same_in_every_key(chart: str) -> None:
    """Law: as values, functions are invariant under transposition."""
    read = phrase(chart)
    for key in twelve("major"):
        moved = chart_to(read.chart, read.key.interval_to(key))
        assert functions_of(moved, key) == functions_of(read.chart, read.key)


def test_a_marked_turnaround_says_what_it_does() -> None:
    """In parentheses A7 is V/ii too, its own ii likewise, and an unclear chord only turns."""
    read = phrase("| Dm7 | G7 | Cmaj7 | (Em7b5 A7) |")
    assert [each.text(read.key) for each in functions_of(read.chart, read.key)[-2:] if each] == [
        "turnaround, ii/ii",
        "turnaround, V/ii",
    ]
    unclear = phrase("| Dm7 | G7 | Cmaj7 | (F#maj7) |")
    assert functions_of(unclear.chart, unclear.key)[-1] == Function("", turnaround=True)
    assert Function("", turnaround=True).text(unclear.key) == "turnaround"


def test_a_dominant_that_ends_the_chart_on_its_way_back_is_a_turnaround() -> None:
    """A7 before the Dm7 of the next pass turns round without parentheses; G7 home doesn't."""
    found = functions_of(phrase("| Dm7 | G7 | Cmaj7 | A7 |").chart, parse_key("C"))
    assert found[-1] == Function("V/ii", "secondary", aims="minor", turnaround=True)
    found = functions_of(phrase("| Cmaj7 | Dm7 G7 |").chart, parse_key("C"))
    assert found[-1] == Function("V", "dominant", aims="major")


def test_a_held_chord_has_one_function_and_doesnt_hide_where_it_leads() -> None:
    """A7 held over a bar line leads to the Dm7 after it, in both bars."""
    chart = phrase("| A7 | A7 | Dm7 | G7 |").chart
    assert [each and each.roman for each in functions_of(chart, parse_key("C"))] == [
        "V/ii",
        "V/ii",
        "ii",
        "V",
    ]
    assert chord_begins(chart) == (True, False, True, True)


def test_a_chord_begins_anew_where_it_turns_round_or_after_silence() -> None:
    """The same chord in parentheses, or after a bar without one, isn't held; beside itself it is.

    Each has its own function: the C7 that turns round says so, the one before it doesn't.
    """
    held, turned = phrase("| F6 | C7 | C7 |").chart, phrase("| F6 | C7 | (C7) |").chart
    assert chord_begins(held) == (True, True, False)
    assert chord_begins(turned) == (True, True, True)
    _, before, turning = functions_of(turned, parse_key("F"))
    assert before
    assert turning
    assert (before.turnaround, turning.turnaround) == (False, True)
    assert chord_begins(phrase("| C7 | N.C. | C7 |").chart) == (True, True, True)


def test_a_dominant_before_its_own_minor_seventh_is_told() -> None:
    """D7 before Dm7 becomes a minor seventh; D7 before G7 doesn't."""
    key = parse_key("C")
    becoming = functions_of(phrase("| D7 | Dm7 | G7 | C6 |").chart, key)[0]
    plain = functions_of(phrase("| D7 | D7 | G7 | C6 |").chart, key)[0]
    assert becoming
    assert plain
    assert (becoming.becomes_minor, plain.becomes_minor) == (True, False)


GOALS = {
    "ii": (Interval(1, 2), "minor-seventh"),
    "iii": (Interval(2, 4), "minor-seventh"),
    "IV": (Interval(3, 5), "major-seventh"),
    "V": (Interval(4, 7), "dominant"),
    "vi": (Interval(5, 9), "minor-seventh"),
}


@pytest.mark.parametrize("goal", GOALS)
def test_a_dominant_aimed_at_a_chord_lies_a_fifth_above_it(goal: str) -> None:
    """Trade fact: in every major key the V7 of a chord is rooted a fifth above that chord."""
    interval, kind = GOALS[goal]
    for key in twelve("major"):
        target = Chord(key.tonic.up(interval), kind)
        dominant = Chord(target.root.up(Interval(4, 7)), "dominant")
        chords = (Chord(key.tonic, "major-sixth"), dominant, target)
        bars = tuple(Bar((Span(Fraction(0), FOUR.bar, chord),)) for chord in chords)
        assert functions_of(Chart(FOUR, bars), key)[1] == Function(
            f"V/{goal}", "secondary", aims=family_of(target)
        )


# V7 of ii, iii, IV, V, vi: "Twelve keys" in any table of secondary dominants (common practice).
SECONDARIES = {"C": "A B C D E", "Eb": "C D Eb F G", "Gb": "Eb F Gb Ab Bb", "E": "C# D# E F# G#"}


@pytest.mark.parametrize("tonic", SECONDARIES)
def test_secondary_dominants_of_a_key_are_those_of_the_trade(tonic: str) -> None:
    """The roots written down for four keys are the ones that get V/ii, V/iii, V/IV, V/V, V/vi."""
    key = parse_key(tonic)
    for root, (goal, (interval, kind)) in zip(
        SECONDARIES[tonic].split(), GOALS.items(), strict=True
    ):
        chords = (Chord(parse_name(root), "dominant"), Chord(key.tonic.up(interval), kind))
        found = function_at((Chord(key.tonic, "major-sixth"), *chords), 1, key)
        assert found
        assert found.roman == f"V/{goal}"


def test_a_function_prints_in_unicode() -> None:
    """Flats before numerals and in the replaced root become signs; the b of sub stays."""
    key = parse_key("Ab")
    read = phrase("| Bbm7 | A7 | Abmaj7 | Gb7 | Abmaj7 |", key="Ab")
    found = [each.text(key, ascii=False) for each in functions_of(read.chart, key) if each]
    assert found == ["ii", "sub V (for E♭7)", "I", "♭VII7 (backdoor)", "I"]


def test_a_diminished_function_is_written_as_its_chord_is() -> None:
    """With the circle where signs can be shown, in letters where they can't."""
    read = phrase("| Cmaj7 | C#dim7 | Dm7 | Em7 | Ebdim7 | Dm7 |", key="C")
    found = [each for each in functions_of(read.chart, read.key) if each]
    texts = [each.text(read.key, ascii=False) for each in found]
    assert [each for each in texts if "°" in each] == ["vii°/ii", "♭iii° (passing)"]
    assert "viidim/ii" in [each.text(read.key) for each in found]
