"""What sounds under a drill is, sample by sample, what a loop's file holds."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.music.charts import Meter
from drillbox.music.phrases import LineNote
from drillbox.music.pitch import parse_pitch
from drillbox.music.pulse import Pulse
from drillbox.sound.backing import BackingTrack
from drillbox.sound.loop_parts import RATIOS, LoopOptions, LoopPart, lay_out, swing_ratio, swung
from drillbox.sound.ticks import RATE, sample_at
from drillbox.sound.wave import mixed_blocks
from tests.sound.parts import LONG, TWO_FIVE

FOUR = Meter(4, 4)


def note(onset: str, length: str = "1/2", pitch: str = "D5") -> LineNote:
    return LineNote(Fraction(onset), Fraction(length), parse_pitch(pitch))


LINE = (note("-1/2"), note("0"), note("1/2"), note("1"), note("3/2", "1"), note("3", "0"))
LINED = replace(TWO_FIVE, line=LINE)


def track(parts: list[LoopPart], options: LoopOptions, first: int = 0) -> BackingTrack:
    return BackingTrack(parts, options, lay_out(parts, options).pulse, first=first)


PARTS = [[TWO_FIVE], [LONG], [LINED], [TWO_FIVE, LINED]]
OPTIONS = [
    LoopOptions(132, loops=3),
    LoopOptions(97, loops=2, chords=False),
    LoopOptions(233, loops=2, doubled=True, clicks="2-and-4"),
    LoopOptions(120, loops=2, clicks=None),
]


@pytest.mark.parametrize(
    ("parts", "options"),
    [
        pytest.param(parts, options, marks=() if (one + other) % 4 < 2 else pytest.mark.slow)
        for one, parts in enumerate(PARTS)
        for other, options in enumerate(OPTIONS)
    ],
)
def test_it_is_the_very_mix_of_a_file(parts: list[LoopPart], options: LoopOptions):
    """Against the renderer of WAV files, which places all events of all loops at once; each
    of the parts with two of the options, in the slow run with all."""
    whole = np.concatenate(mixed_blocks(parts, options)).astype(int)
    played = np.frombuffer(track(parts, options).frames(0, len(whole)), dtype=np.int16).astype(int)
    assert np.max(np.abs(whole - played)) <= 1


@given(st.lists(st.integers(0, 9_000), max_size=5), st.integers(0, 60_000))
@settings(max_examples=30)
def test_where_it_is_cut_changes_no_sample(cuts: list[int], start: int):
    """A device asks for as much as it likes at a time."""
    playing = track([LINED], LoopOptions(180, loops=2))
    pieces, at = [], start
    for count in cuts:
        pieces.append(playing.frames(at, count))
        at += count
    assert b"".join(pieces) == playing.frames(start, sum(cuts))


def test_without_an_end_it_goes_round_for_ever():
    """The hundredth loop sounds as the third, at a tempo whose loops are whole samples long."""
    options = LoopOptions(120, loops=1)
    pulse = Pulse(FOUR, 2, 120, loops=None)
    endless = BackingTrack([TWO_FIVE], options, pulse)
    once, count_in = 4 * RATE, 2 * RATE
    third = endless.frames(count_in + 2 * once, once)
    assert endless.frames(count_in + 99 * once, once) == third
    assert max(third) > 0


def test_it_can_begin_on_any_beat():
    """As after the program was stopped: beat 5 of the whole is sample 0."""
    options = LoopOptions(132, loops=2)
    whole, later = track([TWO_FIVE], options), track([TWO_FIVE], options, first=5)
    at = sample_at(lay_out([TWO_FIVE], options).pulse.time(5))
    assert later.frames(0, 30_000) == whole.frames(at, 30_000)


def test_after_the_last_loop_it_is_silent():
    """Nothing rings on past the end of the last bar but what a click needs to die away."""
    options = LoopOptions(120, loops=1)
    end = sample_at(lay_out([TWO_FIVE], options).seconds(lay_out([TWO_FIVE], options).total))
    assert not any(track([TWO_FIVE], options).frames(end + RATE // 10, 20_000))


def test_a_round_may_last_longer_than_a_file_may():
    """Half an hour is a limit for files; what is played live takes no memory."""
    parts = [LONG] * 200
    assert any(track_of_any_length(parts).frames(0, 1000))


def track_of_any_length(parts: list[LoopPart]) -> BackingTrack:
    bars = sum(len(part.chart.bars) for part in parts)
    return BackingTrack(parts, LoopOptions(60, loops=1), Pulse(FOUR, bars, 60, 1))


def test_the_stated_ratios():
    """Even 1:1, light 3:2, triplet 2:1 (common practice), at 120 where nothing bounds them."""
    found = [swing_ratio(name, 120, FOUR) for name in ("even", "light", "triplet")]
    assert found == [1, Fraction(3, 2), 2] == list(RATIOS.values())


def test_the_short_note_never_falls_under_a_tenth_of_a_second():
    """At 200 a triplet's short note is just .1 s; faster the ratio falls, at 300 it is even.

    Friberg & Sundström (2002): the short note stays at about 100 ms at medium to fast tempi.
    """
    assert swing_ratio("triplet", 200, FOUR) == 2
    assert swing_ratio("triplet", 240, FOUR) == Fraction(3, 2)
    assert swing_ratio("light", 300, FOUR) == swing_ratio("triplet", 400, FOUR) == 1
    for tempo in range(20, 300):
        ratio = swing_ratio("triplet", tempo, FOUR)
        assert ratio == 1 or Fraction(60, tempo) / (1 + ratio) >= Fraction(1, 10)


def test_double_time_and_other_beats_are_even():
    """The eighths of a double-time line are its beats; 6/8 has its own three."""
    assert swing_ratio("triplet", 100, FOUR, double_time=True) == 1
    assert swing_ratio("triplet", 100, Meter(6, 8)) == 1


def test_off_beat_eighths_move_and_nothing_else_does():
    """Triplet: an eighth on the half begins at 2/3; beats, sixteenths and triplets stay."""
    line = [
        note("0"),
        note("1/2"),
        note("1", "1/4"),
        note("5/4", "1/4"),
        note("3/2"),
        note("2", "1/3"),
        note("7/3", "1/3"),
        note("8/3", "1/3"),
        note("-1/2"),
    ]
    moved = swung(line, Fraction(2))
    assert [str(each.onset) for each in moved] == [
        "0", "2/3", "1", "5/4", "3/2", "2", "7/3", "8/3", "-1/3",
    ]  # fmt: skip
    assert moved[0].length == Fraction(2, 3)
    assert moved[1].length == Fraction(1, 3)
    assert swung(line, Fraction(1)) == line


@pytest.mark.parametrize(
    ("notes", "lengths"),
    [
        ([("0", "1/2"), ("1/2", "1/8")], ["2/3", "1/12"]),
        ([("0", "1/4"), ("1/2", "1/4")], ["1/3", "1/6"]),
        ([("0", "3/4")], ["5/6"]),
        ([("0", "1/4"), ("1/4", "1/4"), ("1/2", "1/8")], ["1/4", "1/4", "1/8"]),
    ],
)
def test_short_notes_are_swung_with_their_halves(
    notes: list[tuple[str, str]], lengths: list[str]
) -> None:
    """Triplet: the first half of a beat is a third longer, the second one a third shorter, and so
    is what ends there; none comes to less than nothing."""
    moved = swung([note(*each) for each in notes], Fraction(2))
    assert [str(each.length) for each in moved] == lengths
