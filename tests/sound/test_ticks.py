"""The click as samples: where each begins, how loud, and that pieces join."""

from array import array
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.music.charts import Meter
from drillbox.music.pulse import Pulse
from drillbox.sound.ticks import RATE, ClickTrack, sample_at, tick

FOUR = Meter(4, 4)


def samples(data: bytes) -> list[int]:
    return array("h", data).tolist()


def onsets(data: bytes) -> list[int]:
    """Find where sound begins after at least 20 ms of silence: no knowledge of the clicks."""
    loud = [n for n, value in enumerate(samples(data)) if abs(value) > 300]
    return [n for before, n in zip([-RATE, *loud], loud, strict=False) if n - before > RATE // 50]


def test_a_tick_starts_from_nothing_and_dies_away_within_30_ms() -> None:
    """Proves length, silence at both ends (no crackle), and that the accent is louder."""
    accent, plain = tick("accent"), tick("plain")
    assert len(accent) == len(plain) == 1323
    assert accent[0] == plain[0] == 0
    assert abs(accent[-1]) < 10
    assert 30_000 < max(map(abs, accent)) <= 32_767
    assert 15_000 < max(map(abs, plain)) < 20_000


def test_loudness_is_a_factor_and_is_kept_in_bounds() -> None:
    """Proves that nothing wraps round at a silly volume, and nought is silence."""
    assert tick("accent", 7.0) == tick("accent")
    assert set(tick("accent", 0.0)) == {0}
    assert max(tick("plain", 0.5)) == pytest.approx(max(tick("plain")) / 2, abs=1)


@pytest.mark.parametrize("tempo", [37, 60, 133, 173, 300, 400])
def test_clicks_begin_within_a_millisecond_of_their_time(tempo: int) -> None:
    """Proves by an onset finder that over half a minute no click is early, late or lost."""
    pulse = Pulse(FOUR, 4, tempo, loops=None)
    seconds = 30
    found = onsets(ClickTrack(pulse).frames(0, seconds * RATE))
    expected = [n * 60 / tempo for n in range(-(-seconds * tempo // 60))]
    assert len(found) == len(expected)
    for at, due in zip(found, expected, strict=True):
        assert 0 <= at / RATE - due + 0.5 / RATE < 0.001


def test_the_hundred_thousandth_click_is_exact() -> None:
    """Proves that placing is by multiplication: no drift after a day of clicks."""
    track = ClickTrack(Pulse(FOUR, 4, 133, loops=None))
    assert track.onset(133_000) == 60_000 * RATE
    assert sample_at(Fraction(1, 3)) == 14_700


@given(
    st.builds(
        Pulse,
        meter=st.sampled_from([FOUR, Meter(3, 4)]),
        bars=st.integers(1, 2),
        tempo=st.integers(100, 400),
        loops=st.integers(1, 2),
        doubled=st.booleans(),
    ),
    st.sampled_from(["every", "2-and-4", "bar"]),
    st.lists(st.integers(1, 3000), min_size=1, max_size=8),
    st.integers(0, 3),
    st.integers(0, 400_000),
)
@settings(max_examples=40)
def test_pieces_of_any_size_join(
    pulse: Pulse, which: str, sizes: list[int], first: int, start: int
) -> None:
    """Proves that how the device cuts the strip changes no sample of it, ticks cut in two too."""
    track = ClickTrack(pulse, which, first=first)  # type: ignore[arg-type] # sampled literals
    joined, at = b"", start
    for size in sizes:
        joined, at = joined + track.frames(at, size), at + size
    assert joined == track.frames(start, sum(sizes))


def test_after_the_last_beat_there_is_silence() -> None:
    """Proves that a track ends with its loops: 12 clicks, then nothing."""
    pulse = Pulse(FOUR, 1, 120, loops=2)
    data = ClickTrack(pulse).frames(0, 10 * RATE)
    assert len(onsets(data)) == 12
    assert set(samples(data)[6 * RATE :]) == {0}


def test_a_track_may_begin_with_a_later_beat() -> None:
    """Proves that after a pause beat 5 is at sample 0 and the accent at its own place."""
    pulse = Pulse(FOUR, 2, 60, loops=None)
    data = ClickTrack(pulse, first=5).frames(0, 4 * RATE)
    assert onsets(data)[0] < RATE // 1000
    assert data[6 * RATE : 6 * RATE + 2646] == tick("accent").tobytes()
