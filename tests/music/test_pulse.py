"""The beat as arithmetic: times, positions, count-in, double time, what is clicked."""

from fractions import Fraction
from itertools import islice

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.music.charts import Bar, Chart, Meter, Span, counted_beat, counted_beats, is_compound
from drillbox.music.pulse import Position, Pulse, clicked, pulse_of

FOUR = Meter(4, 4)
PULSES = st.builds(
    Pulse,
    meter=st.sampled_from([FOUR, Meter(3, 4), Meter(5, 4), Meter(6, 8)]),
    bars=st.integers(1, 12),
    tempo=st.integers(20, 400),
    loops=st.integers(1, 4),
    doubled=st.booleans(),
)


def test_beats_fall_a_minute_over_the_tempo_apart() -> None:
    """Proves that 132 quarters take exactly a minute, with no rounding on the way."""
    pulse = Pulse(FOUR, 4, 132, loops=None)
    assert pulse.time(1) == Fraction(60, 132)
    assert pulse.time(132) == 60
    assert pulse.time(1_000_000 * 132) == 60_000_000


def test_the_tempo_counts_quarters_whatever_the_beat() -> None:
    """Proves that in 6/8 at 120 quarters a minute a dotted quarter lasts three quarter seconds."""
    assert Pulse(Meter(6, 8), 1, 120, 2).beat_seconds == Fraction(3, 4)


@pytest.mark.parametrize(
    ("meter", "beats", "length"),
    [
        (Meter(4, 4), 4, 1),
        (Meter(3, 8), 3, Fraction(1, 2)),
        (Meter(6, 8), 2, Fraction(3, 2)),
        (Meter(9, 8), 3, Fraction(3, 2)),
        (Meter(12, 8), 4, Fraction(3, 2)),
        (Meter(12, 16), 4, Fraction(3, 4)),
        (Meter(6, 4), 6, 1),
        (Meter(5, 8), 5, Fraction(1, 2)),
    ],
)
def test_compound_meters_count_three_written_beats_as_one(
    meter: Meter, beats: int, length: Fraction
) -> None:
    """Proves how many beats a bar counts aloud, and how long one lasts (common practice)."""
    assert (counted_beats(meter), counted_beat(meter)) == (beats, length)
    assert is_compound(meter) == (beats != meter.beats)
    assert Pulse(meter, 1, 120, 2).beats_in_bar == beats


@pytest.mark.parametrize(
    ("meter", "tempo", "bars"),
    [
        (FOUR, 160, 1),
        (FOUR, 161, 2),
        (Meter(3, 4), 120, 1),
        (Meter(3, 4), 121, 2),
        (Meter(6, 8), 121, 2),
        (Meter(5, 4), 200, 1),
    ],
)
def test_fast_tempos_are_counted_in_for_two_bars(meter: Meter, tempo: int, bars: int) -> None:
    """Proves the threshold: a bar of one second and a half, at 160 in 4/4."""
    assert Pulse(meter, 4, tempo, 2).count_in_bars == bars
    assert Pulse(meter, 4, tempo, 2, doubled=True).count_in_bars == bars


def test_positions_of_a_short_chart() -> None:
    """Proves count-in, bars, beats and loops, written out, for two bars of 3/4 played twice."""
    pulse = Pulse(Meter(3, 4), 2, 100, loops=2)
    expected = [Position(True, 0, 0, beat) for beat in range(3)]
    expected += [
        Position(False, loop, bar, beat) for loop in (0, 1) for bar in (0, 1) for beat in range(3)
    ]
    assert [position for _, position in pulse.positions()] == expected
    assert pulse.beats == len(expected) == 15


def test_two_bars_of_count_in_are_told_apart() -> None:
    """Proves that a screen can show which bar of the count-in it is."""
    pulse = Pulse(FOUR, 2, 240, loops=1)
    assert pulse.at(0) == Position(True, 0, 0, 0)
    assert pulse.at(7) == Position(True, 0, 1, 3)
    assert pulse.at(8) == Position(False, 0, 0, 0)


def test_without_an_end_the_beat_goes_on() -> None:
    """Proves that no number of loops is a pulse until stopped."""
    pulse = Pulse(FOUR, 2, 120, loops=None)
    assert pulse.beats is None
    assert pulse.at(4 + 8 * 1000) == Position(False, 1000, 0, 0)
    assert len(list(islice(pulse.positions(), 50))) == 50


def test_there_is_no_beat_outside() -> None:
    """Proves that an impossible beat is refused rather than wrapped."""
    pulse = Pulse(FOUR, 2, 120, loops=1)
    for number in (-1, 12):
        with pytest.raises(ValueError, match="no beat"):
            pulse.at(number)


@given(PULSES)
@settings(max_examples=40)
def test_double_time_doubles_the_beat_and_not_the_changes(pulse: Pulse) -> None:
    """Proves that each bar begins at the same moment with either beat, and so does the end."""
    single = Pulse(pulse.meter, pulse.bars, pulse.tempo, pulse.loops)
    double = Pulse(pulse.meter, pulse.bars, pulse.tempo, pulse.loops, doubled=True)
    assert double.beat_seconds * 2 == single.beat_seconds
    for each in (single, double):
        assert each.beats is not None
        starts = [each.time(n) for n, position in each.positions() if position.beat == 0]
        bars = each.count_in_bars + each.bars * (each.loops or 0)
        assert starts == [n * each.meter.bar * 60 / each.tempo for n in range(bars)]
        assert each.time(each.beats) == bars * each.bar_seconds


def test_what_is_clicked() -> None:
    """Proves the three choices in 4/4, the accent, and that a count-in is heard in full."""
    beats = [Position(False, 0, 0, beat) for beat in range(4)]
    assert [clicked(each, "every") for each in beats] == ["accent", "plain", "plain", "plain"]
    assert [clicked(each, "2-and-4") for each in beats] == [None, "plain", None, "plain"]
    assert [clicked(each, "bar") for each in beats] == ["accent", None, None, None]
    counted = [Position(True, 0, 0, beat) for beat in range(4)]
    for which in ("every", "2-and-4", "bar"):
        assert [clicked(each, which) for each in counted] == ["accent", "plain", "plain", "plain"]


def test_the_pulse_of_a_chart() -> None:
    """Proves that meter and bars are the chart's."""
    bar = Bar((Span(Fraction(0), Fraction(3), None),))
    chart = Chart(Meter(3, 4), (bar, bar))
    assert pulse_of(chart, 90, loops=3, doubled=True) == Pulse(Meter(3, 4), 2, 90, 3, True)
