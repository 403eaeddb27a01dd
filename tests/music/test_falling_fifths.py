"""Chords that lead down a fifth keep a fifth apart by letter in every key; common practice."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.music.analysis.hints import hint
from drillbox.music.analysis.whole import analyse
from drillbox.music.charts import Bar, Chart, Meter, Span
from drillbox.music.chords import Chord, is_written, is_written_under
from drillbox.music.keys import MAJOR, MINOR, Key, Spelling, parse_key, twelve
from drillbox.music.moving.instruments import at_concert_pitch, find_instrument
from drillbox.music.moving.roots import falls
from drillbox.music.moving.transposition import phrase_to, read_in
from drillbox.music.phrases import Phrase
from drillbox.music.pitch import FOURTH, LETTERS, Interval, Name
from drillbox.music.symbols.typed import chart_text
from tests.rows import every_row

from .shorthand import line
from .worked import phrase

FIFTH = Interval(4, 7)
KEYS = {
    "major": (*MAJOR, parse_key("F#")),
    "minor": (*MINOR, parse_key("D#m")),
}

# Written key, chart; then other keys, and the chart there.
EXAMPLES = """
B  : Bmaj7 | Fm7 Bb7 | Ebmaj7      > E   : Emaj7 | Bbm7 Eb7 | Abmaj7
B  : Bmaj7 | Fm7 Bb7 | Ebmaj7      > A   : Amaj7 | Ebm7 Ab7 | Dbmaj7
B  : Bmaj7 | Fm7 Bb7 | Ebmaj7      > D   : Dmaj7 | G#m7 C#7 | F#maj7
B  : Bmaj7 | Fm7 Bb7 | Ebmaj7      > G   : Gmaj7 | C#m7 F#7 | Bmaj7
B  : Bmaj7 | Fm7b5 Bb7b9 | Ebm7    > E   : Emaj7 | A#m7b5 D#7b9 | G#m7
Am : Am7 | Fm7b5 Bb7b9 | Ebm7      > Dm  : Dm7 | Bbm7b5 Eb7b9 | Abm7
Am : Am7 | Fm7b5 Bb7b9 | Ebm7      > Gm  : Gm7 | Ebm7b5 Ab7b9 | Dbm7
Am : Am7 | Fm7b5 Bb7b9 | Ebm7      > Cm  : Cm7 | Abm7b5 Db7b9 | Gbm7
Am : Am7 | Fm7b5 Bb7b9 | Ebm7      > Fm  : Fm7 | C#m7b5 F#7b9 | Bm7
C  : Cmaj7 | Gm7 C7 | Fmaj7        > Gb  : Gbmaj7 | Dbm7 Gb7 | Cbmaj7
C  : Cmaj7 | Gm7 C7 | Fmaj7 Fmaj7  > Gb  : Gbmaj7 | Dbm7 Gb7 | Cbmaj7 Cbmaj7
C  : Cmaj7 | Gm7b5 C7b9 | Fm6      > Gb  : Gbmaj7 | C#m7b5 F#7b9 | Bm6
C  : Cmaj7 | Bbm7 Eb7 | Abmaj7     > Eb  : Ebmaj7 | C#m7 F#7 | Bmaj7
C  : Abmaj7 | Bbm7 Eb7             > Eb  : Bmaj7 | C#m7 F#7
C  : Cmaj7 Eb7 | Abmaj7 B7 | Em7   > Eb  : Ebmaj7 F#7 | Bmaj7 D7 | Gm7
C  : Cmaj7 | F#m7b5 B7b9 | Em7     > B   : Bmaj7 | Fm7b5 Bb7b9 | Ebm7
C  : Cmaj7 | F#m7b5 B7b9 | Em7     > F#  : F#maj7 | Cm7b5 F7b9 | Bbm7
C  : Cmaj7 | Cm7b5 F7b9 | Bbm7     > Db  : Dbmaj7 | C#m7b5 F#7b9 | Bm7
C  : Cmaj7 | Cm7 F7 | Bbmaj7       > Gb  : Gbmaj7 | F#m7 B7 | Emaj7
C  : Dm7/G | Fmaj7/G | G7sus4      > Gb  : Abm7/Db | Cbmaj7/Db | Db7sus4
C  : C7 | F7 | C7 | G7             > Gb  : Gb7 | Cb7 | Gb7 | Db7
C  : C7sus4 C7 | F6                > Gb  : Gb7sus4 Gb7 | Cb6
C  : Em7 A7 | Dm7 G7 | Cmaj7       > B   : D#m7 G#7 | C#m7 F#7 | Bmaj7
C  : F#m7b5 B7 | Em7 A7 | Dm7 G7 | C6 > B : E#m7b5 A#7 | D#m7 G#7 | C#m7 F#7 | B6
Cm : Dm7b5 G7b9 | C6               > G#m : A#m7b5 D#7b9 | G#6
F#m: F#m6 | Bm7b5 E7alt D#dim7 C#7b9 | F#m9 > G#m: G#m6 | C#m7b5 F#7alt Fdim7 D#7b9 | G#m9
"""


@every_row("row", EXAMPLES.strip().splitlines())
def test_a_chain_is_spelled_as_one(row: str) -> None:
    """A ii, its V and the goal stand on one side, and the tonic chord on the letter of its key."""
    (home, chart), (key, shown) = (half.split(":") for half in row.split(">"))
    moved = phrase_to(phrase(chart.strip(), key=home.strip()), parse_key(key.strip()))
    assert chart_text(moved.chart) == shown.strip()


def bars(*chords: Chord) -> Chart:
    return Chart(
        Meter(4, 4), tuple(Bar((Span(Fraction(0), Fraction(4), each),)) for each in chords)
    )


def torn(chart: Chart) -> list[tuple[str, str]]:
    """Chords that lead down a fifth by sound, but not by letter."""
    return [
        (one.root.text(), two.root.text())
        for one, two in pairwise(chart.sounding())
        if falls(one, two) and one.root.up(FOURTH) != two.root
    ]


def two_five(goal: Name, *, minor: bool) -> tuple[Chord, Chord, Chord]:
    five = goal.up(FIFTH)
    if minor:
        kinds = "half-diminished", "dominant", "minor-seventh"
    else:
        kinds = "minor-seventh", "dominant", "major-seventh"
    return Chord(five.up(FIFTH), kinds[0]), Chord(five, kinds[1]), Chord(goal, kinds[2])


ROOTS = [Name(letter, alter) for letter in LETTERS for alter in (-1, 0, 1)]


@pytest.mark.parametrize("step", [3, pytest.param(1, marks=pytest.mark.slow)])
@pytest.mark.parametrize("home", [*KEYS["major"], *KEYS["minor"]], ids=lambda key: key.text())
def test_to_every_goal_in_every_key(home: Key, step: int) -> None:
    """From every key to every other, ii V I to each goal, major and minor, as players write it:
    in each run each goal to every third key, by turns, in the slow one to all."""
    tonic = Chord(home.tonic, "major-seventh" if home.mode == "major" else "minor-seventh")
    goals = ((goal, minor) for goal in ROOTS for minor in (True, False))
    for number, (goal, minor) in enumerate(goals):
        chords = two_five(goal, minor=minor)
        if not all(is_written_under(each) for each in chords):
            continue
        written = Phrase("law", home, 120, bars(tonic, *chords))
        for key in KEYS[home.mode][number % step :: step]:
            moved = phrase_to(written, key)
            if key == home:
                assert moved.chart == written.chart
                continue
            roots = [each.root for each in moved.chart.sounding()]
            assert torn(moved.chart) == []
            assert all(abs(root.alter) < 2 for root in roots)
            assert roots[0] == key.tonic
            unwritten = {root.text() for root in roots if not is_written(root)}
            assert unwritten <= {"Gb": {"Cb"}, "D#m": {"E#"}}.get(key.text(), set())


kinds = st.sampled_from(["minor-seventh", "half-diminished", "dominant", "augmented-seventh"])


@settings(max_examples=100)
@given(
    home=st.sampled_from([*MAJOR, *MINOR]),
    to=st.integers(0, 11),
    goal=st.sampled_from(ROOTS).filter(is_written),
    above=st.lists(kinds, min_size=1, max_size=4),
    last=st.sampled_from(["major", "minor", "major-seventh", "minor-sixth", "dominant"]),
    notes=st.sampled_from(["", "C5 E5 G5 B5"]),
)
def test_chains_hold_together(
    home: Key, to: int, goal: Name, above: list[str], last: str, notes: str
) -> None:
    """A law: chains of up to five chords, none but the last on the tonic, are torn in no key.

    Of those that end on the tonic up to four: the fifth would be a B#m7 in G sharp minor.
    """
    chords = [Chord(goal, last)]
    for kind in above:
        chords.insert(0, Chord(chords[0].root.up(FIFTH), kind))
    on_tonic = [each.root.pitch_class == home.tonic.pitch_class for each in chords]
    if any(on_tonic[:-1]) or (on_tonic[-1] and len(chords) > 4):
        return
    written = Phrase("law", home, 120, bars(*chords), line(notes))
    key = (MAJOR if home.mode == "major" else MINOR)[to]
    moved = phrase_to(written, key).chart
    if key != home:
        assert torn(moved) == []
        assert all(abs(each.root.alter) < 2 for each in moved.sounding())


# Without what players spell either way, which the other key can't tell: F#, and minor on C#.
GOALS = "Db D Dm Eb Ebm E Em F Fm G Gm Ab Abm A Am Bb Bbm B Bm C Cm"


@every_row("goal", GOALS.split())
def test_there_and_back_is_the_same_chart(goal: str) -> None:
    """From C to any key, and from what is read there back to C."""
    chords = two_five(parse_key(goal).tonic, minor=goal.endswith("m"))
    written = Phrase("law", parse_key("C"), 120, bars(Chord(Name("C"), "major-sixth"), *chords))
    for key in KEYS["major"]:
        back = phrase_to(phrase_to(written, key), written.key)
        assert chart_text(back.chart) == chart_text(written.chart), key


def test_notes_and_degrees_go_with_their_chain() -> None:
    """Over Bbm7 Eb7 Abmaj7 in E the line has flats; the degrees are those of the written key."""
    base = phrase("Fm7 Bb7 | Ebmaj7", key="B")
    written = Phrase("line", base.key, 120, base.chart, line("Ab4 C5 Eb5 G5 F5 D5 Ab4 F4 G4 Bb4"))
    moved = phrase_to(written, parse_key("E"))
    assert " ".join(n.pitch.name.text() for n in moved.line) == "Db F Ab C Bb G Db Bb C Eb"

    def degrees(of: Phrase) -> list[tuple[str, ...]]:
        bars = hint(2, of.chart, of.line, analyse(of))
        return [cell.texts for bar in bars for cell in bar.cells]

    assert degrees(moved) == degrees(written)


@pytest.mark.parametrize("instrument", ["trumpet", "alto sax", "horn"])
@pytest.mark.parametrize(
    "chart",
    [
        "Gm7 C7 | Fmaj7 C6",
        "Bbm7 Eb7 | Abmaj7",
        "F#m7b5 B7 | Em7 A7",
        "Am7 A#dim7 | C#dim7 Dm7 | C6",  # to no goal of its own: on the letter that was chosen
    ],
)
def test_a_transposing_player_reads_chains_too(chart: str, instrument: str) -> None:
    """Written in any key, what sounds and what is read of it in any key is torn nowhere."""
    home = phrase(chart)
    for key in twelve("major", Spelling()):
        written = phrase_to(home, key)
        sounding = at_concert_pitch(written, find_instrument(instrument))
        assert torn(sounding.chart) == []
        assert read_in(sounding, key).chart == written.chart
        assert all(torn(read_in(sounding, other).chart) == [] for other in MAJOR)
