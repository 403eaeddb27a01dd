"""The bass, note by note, and the laws that every line keeps."""

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.music.charts import Meter
from drillbox.music.chords import tones
from drillbox.music.symbols.parsing import parse_symbol
from drillbox.music.symbols.printed import symbol_text
from drillbox.sound.bass import HIGHEST, LOWEST, Note, bass_step, plain_bass
from drillbox.sound.loop_parts import Held, LoopOptions, lay_out
from drillbox.sound.walking import walking_bass
from tests.sound.parts import EVERY, part

NAMES = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")
SYMBOLS = (
    "",
    "m",
    "maj7",
    "m7",
    "7",
    "m7b5",
    "dim7",
    "aug",
    "sus4",
    "5",
    "6",
    "7alt",
    "13",
    "m(maj7)",
)


def held(chart: str, meter: str = "4/4") -> tuple[Held, ...]:
    return lay_out([part(chart, meter)], LoopOptions(120)).held


def heard(notes: list[Note]) -> str:
    return " ".join(f"{NAMES[note.pitch % 12]}{note.pitch // 12 - 1}" for note in notes)


def test_roots_and_fifths_in_half_notes() -> None:
    """Proves the plain bass of a ii-V-I: root on 1, fifth on 3, a root for half a bar."""
    notes = plain_bass(held("Cm7 | F7 | Bbmaj7 (G7)"), Fraction(2))
    assert heard(notes) == "C2 G1 F2 C2 Bb2 G2"
    assert [note.start for note in notes] == [0, 2, 4, 6, 8, 10]
    assert {note.length for note in notes} == {2}


@pytest.mark.parametrize(
    ("symbol", "expected"),
    [
        ("Cm7b5", "C2 Gb1"),
        ("Caug", "C2 Ab1"),
        ("Csus4", "C2 G1"),
        ("Em7", "E2 B1"),
        ("E7/G#", "Ab2 Ab2"),  # a slash bass stays
        ("Eb", "Eb2 Bb1"),
        ("F", "F2 C2"),
        ("N.C.", ""),
    ],
)
def test_the_fifth_is_the_chords_own(symbol: str, expected: str) -> None:
    """Proves flat and sharp fifths, the slash bass, and silence where there is no chord."""
    assert heard(plain_bass(held(symbol), Fraction(2))) == expected


def test_a_waltz_and_a_compound_bar() -> None:
    """Proves two beats and one in 3/4, and dotted quarters in 6/8."""
    waltz = plain_bass(held("C", "3/4"), bass_step(Meter(3, 4)))
    assert [(note.start, note.length) for note in waltz] == [(0, 2), (2, 1)]
    assert heard(waltz) == "C2 G1"
    jig = plain_bass(held("C", "6/8"), bass_step(Meter(6, 8)))
    assert [(note.start, note.length) for note in jig] == [
        (0, Fraction(3, 2)),
        (Fraction(3, 2), Fraction(3, 2)),
    ]
    assert bass_step(Meter(3, 8)) == 1


def test_a_chord_held_for_a_single_beat_still_gets_its_root() -> None:
    """Proves that four chords in a bar are four roots, and a bare root and fifth still walk."""
    four = walking_bass(held("C F G C"), Fraction(1))
    assert heard(four) == "C2 F1 G1 C2"
    assert {note.pitch % 12 for note in walking_bass(held("C5"), Fraction(1))} <= {0, 1, 2, 7, 11}


@given(
    st.lists(st.tuples(st.sampled_from(NAMES), st.sampled_from(SYMBOLS)), min_size=1, max_size=12),
    st.sampled_from([Fraction(1), Fraction(2), Fraction(3), Fraction(4), Fraction(5)]),
    st.sampled_from([Fraction(1), Fraction(1, 2)]),
)
@settings(deadline=None, max_examples=150)
def test_every_bass_line_stays_in_range_and_fills_its_chords(
    symbols: list[tuple[str, str]], length: Fraction, beat: Fraction
) -> None:
    """Proves range E1-G3, no gap, roots where chords begin, and that walking repeats no note."""
    chords = [parse_symbol(root + kind) for root, kind in symbols]
    spans = [Held(n * length, length, chord) for n, chord in enumerate(chords)]
    for notes in (plain_bass(spans, 2 * beat), walking_bass(spans, beat)):
        assert all(LOWEST <= note.pitch <= HIGHEST for note in notes)
        assert notes[0].start == 0
        assert all(one.start + one.length == two.start for one, two in pairwise(notes))
        assert notes[-1].start + notes[-1].length == length * len(chords)
        firsts = [note.pitch % 12 for note in notes if note.start % length == 0]
        assert firsts == [chord.root.pitch_class for chord in chords if chord]
    walking = walking_bass(spans, beat)
    within = [(one, two) for one, two in pairwise(walking) if two.start % length]
    assert all(one.pitch != two.pitch for one, two in within)


@pytest.mark.parametrize("each", EVERY, ids=lambda each: each.chart.meter.text())
def test_plain_bass_plays_chord_tones_only(each: object) -> None:
    """Proves that every note of the plain bass belongs to the symbol above it."""
    spans = lay_out([each], LoopOptions(120)).held  # type: ignore[list-item] # a LoopPart
    for span in spans:
        notes = plain_bass([span], Fraction(1))
        allowed = {name.pitch_class for name in tones(span.chord)} if span.chord else set()
        assert {note.pitch % 12 for note in notes} <= allowed, symbol_text(span.chord)
