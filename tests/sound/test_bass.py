"""The bass, note by note; the laws that every line keeps; and lines that walk."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.music.charts import Meter, counted_beat
from drillbox.music.chords import has_minor_third, tones
from drillbox.music.keys import parse_key, twelve
from drillbox.music.moving.transposition import chart_to
from drillbox.music.symbols.parsing import parse_symbol
from drillbox.music.symbols.printed import symbol_text
from drillbox.music.symbols.typed import parse_chart, parse_meter
from drillbox.sound.bass import HIGHEST, LOWEST, Note, bass_step, plain_bass, walking_bass
from drillbox.sound.loop_parts import Held, Layout, LoopOptions, LoopPart, lay_out
from drillbox.sound.patterns import Event, loop_events
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
    notes = plain_bass(held("Cm7 | F7 | Bbmaj7 (G7)"), Fraction(2), Fraction(1))
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
    assert heard(plain_bass(held(symbol), Fraction(2), Fraction(1))) == expected


def test_a_waltz_and_a_compound_bar() -> None:
    """Proves two beats and one in 3/4, and dotted quarters in 6/8."""
    waltz = plain_bass(held("C", "3/4"), bass_step(Meter(3, 4)), Fraction(1))
    assert [(note.start, note.length) for note in waltz] == [(0, 2), (2, 1)]
    assert heard(waltz) == "C2 G1"
    jig = plain_bass(held("C", "6/8"), bass_step(Meter(6, 8)), Fraction(3, 2))
    assert [(note.start, note.length) for note in jig] == [
        (0, Fraction(3, 2)),
        (Fraction(3, 2), Fraction(3, 2)),
    ]
    assert bass_step(Meter(3, 8)) == 1


PUSHED = (
    # meter, chord lengths, onsets of the plain bass, of the walking one; worked by hand
    ("4/4", "3/2 5/2", "0 3/2 3", "0 1 3/2 2 3"),
    ("4/4", "1/2 7/2", "0 1/2 2", "0 1/2 1 2 3"),
    ("4/4", "5/2 3/2", "0 2 5/2", "0 1 2 5/2 3"),
    ("4/4", "7/2 1/2 4", "0 2 7/2 4 6", "0 1 2 3 7/2 4 5 6 7"),
    ("4/4", "4/3 8/3", "0 4/3 3", "0 1 4/3 2 3"),
    ("4/4", "3/2 2 1/2 4", "0 3/2 3 7/2 4 6", "0 1 3/2 2 3 7/2 4 5 6 7"),
    ("4/4", "1 3", "0 1 3", "0 1 2 3"),
    ("3/4", "3/2 3/2", "0 3/2", "0 1 3/2 2"),
    ("3/4", "1/2 5/2", "0 1/2 2", "0 1/2 1 2"),
    ("5/4", "5/2 5/2", "0 2 5/2 4", "0 1 2 5/2 3 4"),
    ("6/8", "1 2", "0 1 3/2", "0 1 3/2"),
    ("12/8", "2 4", "0 3/2 2 3 9/2", "0 3/2 2 3 9/2"),
)


@pytest.mark.parametrize(("meter", "lengths", "plain", "walking"), PUSHED)
def test_under_a_chord_off_the_beat_the_bass_goes_on_on_the_beats(
    meter: str, lengths: str, plain: str, walking: str
) -> None:
    """Proves that a push is the root's alone: what follows under its chord isn't pushed."""
    spans, start = [], Fraction(0)
    for length, chord in zip(map(Fraction, lengths.split()), "CFGC", strict=False):
        spans.append(Held(start, length, parse_symbol(chord)))
        start += length
    read = parse_meter(meter)
    for notes, wanted in (
        (plain_bass(spans, bass_step(read), counted_beat(read)), plain),
        (walking_bass(spans, counted_beat(read)), walking),
    ):
        assert " ".join(str(note.start) for note in notes) == wanted
        assert all(one.start + one.length == two.start for one, two in pairwise(notes))
        assert notes[-1].start + notes[-1].length == start


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
@settings(max_examples=60)
def test_every_bass_line_stays_in_range_and_fills_its_chords(
    symbols: list[tuple[str, str]], length: Fraction, beat: Fraction
) -> None:
    """Proves range E1-G3, no gap, roots where chords begin, and that walking repeats no note."""
    chords = [parse_symbol(root + kind) for root, kind in symbols]
    spans = [Held(n * length, length, chord) for n, chord in enumerate(chords)]
    for notes in (plain_bass(spans, 2 * beat, beat), walking_bass(spans, beat)):
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
        notes = plain_bass([span], Fraction(1), Fraction(1))
        allowed = {name.pitch_class for name in tones(span.chord)} if span.chord else set()
        assert {note.pitch % 12 for note in notes} <= allowed, symbol_text(span.chord)


# Invented, each with minor chords of two beats that go on by all sorts of intervals.
CHARTS = (
    ("4/4", "Dm7 G7 | Cmaj7 Am7 | Fm7 Bb7 | C6"),
    ("4/4", "Em7 A7 | Am7 D7 | Fm6 Em7 | Dm7 G7"),
    ("4/4", "Cmaj7 Cm7 | Bm7b5 E7 | Am7 Abm7 | Gm7 C7"),
    ("4/4", "Fm7 Abm7 | Dbmaj7 Gm7 | Bbm7 Em7 | C6 G7"),
    ("4/4", "Am7 Bm7 | Cm7 F#m7 | Dm7 Fm7 | Em7 Cm6"),
    ("4/4", "Dm Dm(maj7) | Dm7 Dm6 | Gm7 C7 | Fmaj7 A7"),
    ("12/8", "Dm7 | Em7 A7 | Dm7 G7 | C6"),
    ("6/8", "Dm7 | G7 | Em7 | Am7"),
    ("3/4", "Dm7 | G7 | Cm7 | F7"),
)


def walks() -> Iterator[tuple[Layout, list[Event]]]:
    """Yield three choruses of each chart in each key."""
    home = parse_key("C")
    for meter, text in CHARTS:
        chart = parse_chart(text, parse_meter(meter))
        for key in twelve("major"):
            part = LoopPart(chart_to(chart, home.interval_to(key)))
            options = LoopOptions(120, loops=3, clicks=None, bass="walking", chords=False)
            layout, found = loop_events([part], options)
            yield layout, [each for each in found if each.voice == "bass"]


def within(found: list[Event], start: Fraction, length: Fraction) -> list[Event]:
    return [each for each in found if start <= each.start < start + length]


def minor_chords() -> Iterator[bool]:
    """Yield for each minor chord of three choruses whether its major third is left alone."""
    for layout, found in walks():
        for loop in range(3):
            for held in layout.held:
                if held.chord and has_minor_third(held.chord):
                    start = layout.count_in + loop * layout.once + held.start
                    wrong = (held.chord.root.pitch_class + 4) % 12
                    notes = within(found, start, held.length)
                    yield all(each.pitch % 12 != wrong for each in notes)


def bars() -> Iterator[bool]:
    """Yield for each bar of the second and third chorus whether it differs from the last one."""
    for layout, found in walks():
        bar = layout.pulse.meter.bar
        for place in range(int(layout.once / bar), int(3 * layout.once / bar)):
            start = layout.count_in + place * bar
            now = [each.pitch for each in within(found, start, bar)]
            yield now != [each.pitch for each in within(found, start - layout.once, bar)]


def seams() -> Iterator[bool]:
    """Yield for each chorus whether it goes on to the next, or back to the first, in an octave."""
    for layout, found in walks():
        for loop in range(3):
            notes = within(found, layout.count_in + loop * layout.once, layout.once)
            ahead = within(found, layout.count_in + (loop + 1) * layout.once, layout.once)
            yield abs(notes[-1].pitch - (ahead or found)[0].pitch) <= 12


def steps() -> Iterator[bool]:
    """Yield for each chart with room whether 2, 4 or 6 sounds between a root and an approach."""
    for layout, found in walks():
        inner = [
            (each.pitch - held.chord.root.pitch_class) % 12
            for loop in range(3)
            for held in layout.held
            if held.chord
            for each in within(
                found, layout.count_in + loop * layout.once + held.start, held.length
            )[1:-1]
        ]
        if len(inner) > 6:
            yield bool({2, 5, 9} & set(inner))


@pytest.mark.parametrize("case", [minor_chords, bars, seams, steps])
def test_the_walk_has_none_of_a_beginners_faults(case) -> None:  # type: ignore[no-untyped-def]
    """Proves no major third under minor, no bar twice running, near seams, some scale steps."""
    found = list(case())
    assert len(found) >= 24
    assert all(found), f"{sum(found)} of {len(found)}"


@pytest.mark.parametrize(
    ("key", "text", "place", "ways"),
    [
        # Above the second chord, the dominant of C minor: 1 3 5 b7 and its b9 and b13.
        ("Cm", "Dm7b5 | G7 | Cm6 | %", 1, {0, 1, 4, 7, 8, 10}),
        ("C", "Dm7 | G7 | Cmaj7 | %", 1, {0, 2, 4, 7, 9, 10}),
        ("C", "Cmaj7 | Em7 | Fmaj7 | G7", 1, {0, 1, 3, 5, 7, 10}),  # Phrygian
        ("E Phrygian", "Em7 | Fmaj7", 0, {0, 1, 3, 5, 7, 10}),
        ("C", "Cmaj7 | A7 | Dm7 | G7", 1, {0, 2, 4, 7, 8, 10}),  # V of ii: Mixolydian b13
        ("C", "Cmaj7 | A7b9 | D7 | G7", 1, {0, 1, 4, 7, 9, 10}),  # half-whole diminished
        ("C", "Dm7b5/G | G7 | Am7 | %", 0, {0, 3, 5, 6, 8, 10}),  # G Phrygian: G7sus4b9
    ],
)
def test_the_steps_are_those_of_the_scale_in_use(
    key: str, text: str, place: int, ways: set[int]
) -> None:
    """The walk plays the second and the sixth (the fourth under minor) as the key has them, and
    each of them some time; only the last note, which approaches the next root, may be another."""
    home, chart = parse_key(key), parse_chart(text, parse_meter("4/4"))
    found: set[int] = set()
    for there in twelve(home.mode)[::4]:
        part = LoopPart(chart_to(chart, home.interval_to(there), there), there.text())
        options = LoopOptions(120, loops=40, clicks=None, bass="walking", chords=False)
        layout, events = loop_events([part], options)
        span = layout.held[place]
        assert span.chord
        for loop in range(40):
            start = layout.count_in + loop * layout.once + span.start
            inner = within(events, start, Fraction(3))
            found |= {(each.pitch - span.chord.root.pitch_class) % 12 for each in inner}
    assert found == ways


def test_a_compound_bar_walks_in_dotted_beats() -> None:
    """Proves four bass notes and four clicks in a bar of 12/8, two in one of 6/8."""
    for meter, count in (("12/8", 4), ("6/8", 2), ("9/8", 3)):
        part = LoopPart(parse_chart("C6", parse_meter(meter)))
        _, found = loop_events([part], LoopOptions(120, loops=1, bass="walking", chords=False))
        clicks = [each for each in found if each.voice in ("accent", "plain")]
        bass = [each for each in found if each.voice == "bass"]
        assert [each.length for each in bass] == [Fraction(3, 2)] * count
        assert len(bass) == count
        gaps = {after.start - before.start for before, after in pairwise(clicks)}
        assert gaps == {Fraction(3, 2)}


@pytest.mark.parametrize("way", [1, -1], ids=["up", "down"])
def test_the_walk_sets_out_for_the_next_root(way: int) -> None:
    """From a chord's root most first steps go the way in which the next root lies."""
    walk = walking_bass(held("Gm7 | C7 | Fmaj7 | D7"), Fraction(1), choruses=200)
    pitches = [note.pitch for note in walk]
    there = [
        (second - root) * way > 0
        for root, second, after in zip(pitches[::4], pitches[1::4], pitches[4::4], strict=False)
        if (after - root) * way > 0
    ]
    assert len(there) > 300
    assert sum(there) > 0.5 * len(there)


def test_the_same_file_walks_the_same_way_again() -> None:
    """Proves that the choices are seeded: two renderings are alike, note for note."""
    first, second = ([each for _, notes in walks() for each in notes] for _ in range(2))
    assert first == second
