"""All that sounds in a loop: clicks, bass and chords in their places, and how chords are held."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.music.chords import Chord, guide_tones, tones
from drillbox.music.phrases import LineNote
from drillbox.music.pitch import parse_pitch
from drillbox.music.symbols.parsing import parse_symbol
from drillbox.sound.loop_parts import LoopOptions, LoopPart
from drillbox.sound.patterns import HIGHEST, LOWEST, Event, loop_events, voicing
from tests.sound.parts import EVERY, LONG, TWO_FIVE, part
from tests.sound.test_bass import NAMES, SYMBOLS

OPTIONS = st.builds(
    LoopOptions,
    tempo=st.integers(40, 300),
    loops=st.integers(1, 3),
    doubled=st.booleans(),
    clicks=st.sampled_from([None, "every", "2-and-4", "bar"]),
    bass=st.sampled_from([None, "plain", "walking"]),
    chords=st.booleans(),
)


def starts(found: list[Event], *voices: str) -> list[Fraction]:
    return [each.start for each in found if each.voice in voices]


def test_clicks_fall_on_every_beat_and_the_first_is_accented() -> None:
    """Proves count-in and two loops of two bars, beat by beat."""
    _, found = loop_events([TWO_FIVE], LoopOptions(120))
    assert starts(found, "accent", "plain") == list(range(20))
    assert starts(found, "accent") == [0, 4, 8, 12, 16]


def test_two_and_four_after_a_whole_count_in() -> None:
    """Proves the silent 1 and 3 of each bar."""
    _, found = loop_events([TWO_FIVE], LoopOptions(120, loops=1, clicks="2-and-4"))
    assert starts(found, "accent", "plain") == [0, 1, 2, 3, 5, 7, 9, 11]


def test_without_clicks_the_count_in_is_heard_still() -> None:
    """Proves that one can always come in on time."""
    _, found = loop_events([TWO_FIVE], LoopOptions(120, clicks=None))
    assert starts(found, "accent", "plain") == [0, 1, 2, 3]


def test_double_time_moves_twice_as_fast_under_the_same_changes() -> None:
    """Proves clicks on eighths and bass in quarters, and chords where they were before."""
    _, single = loop_events([LONG], LoopOptions(120, loops=1))
    _, double = loop_events([LONG], LoopOptions(120, loops=1, doubled=True))
    half = Fraction(1, 2)
    assert starts(double, "accent", "plain") == [n * half for n in range(40)]
    assert starts(double, "accent") == starts(single, "accent")
    assert [e for e in double if e.voice == "chord"] == [e for e in single if e.voice == "chord"]
    # A half bar holds one note in single time, root and fifth in double time.
    assert starts(single, "bass") == [4, 6, 8, 10, 12, 14, 16, 18]
    assert starts(double, "bass") == list(range(4, 20))


def test_walking_has_a_note_on_every_beat_counted() -> None:
    """Proves quarters in single time and eighths in double time."""
    _, single = loop_events([LONG], LoopOptions(120, loops=1, bass="walking"))
    _, double = loop_events([LONG], LoopOptions(120, loops=1, bass="walking", doubled=True))
    assert starts(single, "bass") == list(range(4, 20))
    assert starts(double, "bass") == [4 + Fraction(n, 2) for n in range(32)]


def test_nothing_but_the_click_where_nothing_else_is_wanted() -> None:
    """Proves that bass and chords can be left out, each by itself."""
    _, bare = loop_events([LONG], LoopOptions(120, bass=None, chords=False))
    assert {each.voice for each in bare} == {"accent", "plain"}
    _, chords = loop_events([LONG], LoopOptions(120, bass=None))
    assert {each.voice for each in chords} == {"accent", "plain", "chord"}


def test_no_chord_is_silence() -> None:
    """Proves that under N.C. only the click sounds."""
    _, found = loop_events([part("N.C. | C7")], LoopOptions(120, loops=1))
    assert min(starts(found, "bass", "chord")) == 8


@given(st.sampled_from(EVERY), OPTIONS)
@settings(max_examples=60)
def test_every_loop_is_the_same_and_nothing_overlaps_its_own_voice(
    each: LoopPart, options: LoopOptions
) -> None:
    """Proves order, the repeat (a walk goes its own way), the end, and bass notes end to end."""
    layout, found = loop_events([each], options)
    assert found == sorted(found, key=lambda event: event.start)
    assert all(0 <= event.start < event.start + event.length <= layout.total for event in found)
    loops = [
        [
            (
                event.start - layout.count_in - n * layout.once,
                event.voice,
                0 if (event.voice, options.bass) == ("bass", "walking") else event.pitch,
            )
            for event in found
            if layout.count_in + n * layout.once
            <= event.start
            < layout.count_in + (n + 1) * layout.once
        ]
        for n in range(options.loops)
    ]
    assert all(loop == loops[0] for loop in loops)
    bass = [event for event in found if event.voice == "bass"]
    assert all(one.start + one.length <= two.start for one, two in pairwise(bass))


@pytest.mark.parametrize("count", [1, 12])
def test_the_shares_of_a_chord_make_one(count: int) -> None:
    """Proves the bound that keeps the audio from clipping, for one key and for twelve."""
    _, found = loop_events([LONG] * count, LoopOptions(120))
    for start in set(starts(found, "chord")):
        shares = [e.share for e in found if e.voice == "chord" and e.start == start]
        assert sum(shares) == 1


def line(*notes: tuple[str, str, str]) -> tuple[LineNote, ...]:
    return tuple(
        LineNote(Fraction(onset), Fraction(length), parse_pitch(pitch))
        for onset, length, pitch in notes
    )


def sung(*notes: tuple[str, str, str]) -> list[tuple[str, str, int]]:
    """Return what is heard of a line in one loop: onset from its first bar, length, MIDI note."""
    layout, found = loop_events(
        [replace(LONG, line=line(*notes))], LoopOptions(120, loops=1, bass=None, chords=False)
    )
    return [
        (str(each.start - layout.count_in), str(each.length), each.pitch)
        for each in found
        if each.voice == "line"
    ]


def test_a_grace_note_sounds_just_before_its_note() -> None:
    """Proves that it takes its time from the note before, or lies in the rest there."""
    heard = sung(("0", "1", "C5"), ("1", "0", "D#5"), ("1", "1", "E5"), ("3", "0", "F#5"),
                 ("3", "1", "G5"))  # fmt: skip
    assert heard == [
        ("0", "7/8", 72), ("7/8", "1/8", 75), ("1", "1", 76), ("23/8", "1/8", 78), ("3", "1", 79)
    ]  # fmt: skip


def test_a_grace_note_on_the_first_beat_delays_its_note() -> None:
    """Proves that where nothing is before, it begins on the beat, and the end stays."""
    assert sung(("0", "0", "D#5"), ("0", "4", "E5")) == [("0", "1/8", 75), ("1/8", "31/8", 76)]
    short = sung(("0", "0", "D#5"), ("0", "1/8", "E5"))
    assert short == [("0", "1/16", 75), ("1/16", "1/16", 76)]


def test_several_grace_notes_come_one_after_the_other() -> None:
    """Proves order, and that the note before keeps half of its time however many there are."""
    two = sung(("0", "1", "C5"), ("1", "0", "D5"), ("1", "0", "D#5"), ("1", "1", "E5"))
    assert two[:4] == [("0", "3/4", 72), ("3/4", "1/8", 74), ("7/8", "1/8", 75), ("1", "1", 76)]
    many = sung(("0", "1/2", "C5"), *[("1/2", "0", "D5")] * 4, ("1/2", "1", "E5"))
    assert many[0] == ("0", "1/4", 72)
    assert many[1:5] == [(str(Fraction(4 + n, 16)), "1/16", 74) for n in range(4)]
    first = sung(("0", "0", "D5"), ("0", "0", "D#5"), ("0", "1", "E5"))
    assert first == [("0", "1/8", 74), ("1/8", "1/8", 75), ("1/4", "3/4", 76)]


def test_a_pickup_has_its_grace_note_before_it() -> None:
    """Proves the room that the count-in leaves, and a pickup that fills it."""
    assert sung(("-1", "0", "D5"), ("-1", "1", "E5"))[0] == ("-9/8", "1/8", 74)
    assert sung(("-4", "0", "D5"), ("-4", "1", "E5"))[:2] == [
        ("-4", "1/8", 74), ("-31/8", "7/8", 76)
    ]  # fmt: skip


@given(
    st.lists(
        st.tuples(st.integers(0, 63), st.sampled_from([0, 0, 1, 2, 3, 8])), min_size=1, max_size=24
    )
)
@settings(max_examples=60)
def test_every_grace_note_is_heard_and_ends_before_the_next_note(
    drawn: list[tuple[int, int]],
) -> None:
    """Proves for lines of any shape: nothing is lost, and each sound lasts."""
    ordered = sorted(drawn, key=lambda each: (each[0], each[1]))
    heard = sung(*((f"{at}/4", f"{length}/4", "C5") for at, length in ordered))
    assert len(heard) == len(drawn)
    assert all(Fraction(length) > 0 for _, length, _ in heard)
    assert all(Fraction(at) >= 0 for at, _, _ in heard)


def chord(text: str) -> Chord:
    read = parse_symbol(text)
    assert read is not None
    return read


def test_the_sevenths_of_a_two_five_one_move_by_steps() -> None:
    """Proves the trade's own example: Bb-Eb, A-Eb, A-D; common practice in jazz harmony."""
    first = voicing(chord("Cm7"))
    second = voicing(chord("F7"), first)
    third = voicing(chord("Bbmaj7"), second)
    assert [first, second, third] == [(58, 63), (57, 63), (57, 62)]


@pytest.mark.parametrize(
    ("symbol", "classes"),
    [
        ("C", {4, 7}),  # a triad has one guide tone: its fifth joins
        ("Cm", {3, 7}),
        ("C5", {7, 0}),
        ("Csus4", {5, 7}),
        ("C6", {4, 9}),
        ("Cdim7", {3, 9}),
        ("Cdim", {3, 6}),
        ("Fm7/C", {8, 3}),
    ],
)
def test_two_tones_say_what_the_chord_is(symbol: str, classes: set[int]) -> None:
    """Proves which tones are held, as pitch classes."""
    assert {note % 12 for note in voicing(chord(symbol))} == classes


@given(
    st.lists(st.tuples(st.sampled_from(NAMES), st.sampled_from(SYMBOLS)), min_size=2, max_size=16)
)
@settings(max_examples=100)
def test_voicings_hold_the_guide_tones_in_the_middle_and_move_little(
    symbols: list[tuple[str, str]],
) -> None:
    """Proves register, content and voice leading over any row of chords.

    The nearest note of any pitch class lies at most six semitones away, a little more at the
    edge of the register.
    """
    before: tuple[int, ...] = ()
    rows = []
    for root, kind in symbols:
        before = voicing(chord(root + kind), before)
        rows.append(before)
    for (root, kind), notes in zip(symbols, rows, strict=True):
        read = chord(root + kind)
        assert all(LOWEST <= note <= HIGHEST for note in notes)
        assert 2 <= len(notes) <= 3
        classes = {note % 12 for note in notes}
        assert {name.pitch_class for name in guide_tones(read)} <= classes
        assert classes <= {name.pitch_class for name in tones(read)}
    for one, two in pairwise(rows):
        assert all(min(abs(note - old) for old in one) <= 9 for note in two)
