"""The WAV file: its form, its exact length, its onsets, and that it never clips."""

import io
import wave
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from drillbox.music.phrases import LineNote
from drillbox.music.pitch import parse_pitch
from drillbox.sound.loop_parts import LoopOptions, LoopPart
from drillbox.sound.ticks import RATE
from drillbox.sound.wave import mixed_blocks, render_wav
from tests.sound.parts import EVERY, LONG, TWO_FIVE
from tests.sound.test_patterns import OPTIONS


def samples(parts: list[LoopPart], options: LoopOptions) -> NDArray[np.int16]:
    with wave.open(io.BytesIO(render_wav(parts, options))) as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, 44_100)
        frames = file.readframes(file.getnframes())
    return np.frombuffer(frames, dtype="<i2")


def onsets(strip: NDArray[np.float64], threshold: float) -> NDArray[np.float64]:
    """Return where a strip grows loud after 40 ms below the threshold, in seconds.

    An onset finder that knows nothing of the renderer.
    """
    loud = np.flatnonzero(np.abs(strip) > threshold)
    gaps = np.diff(loud, prepend=-RATE)
    return loud[gaps > RATE * 0.04] / RATE


def beats(tempo: int, count: int) -> list[float]:
    return [n * 60 / tempo for n in range(count)]


@pytest.mark.parametrize("tempo", [60, 97, 132, 233, 300])
def test_each_click_begins_within_a_millisecond_of_its_time(tempo: int) -> None:
    """Proves number and place of all clicks by the onset finder, over four loops."""
    strip = samples([LONG], LoopOptions(tempo, loops=4, bass=None, chords=False))
    found = onsets(strip.astype(float), 300)
    bars = 4 * 4 + (2 if tempo > 160 else 1)
    assert len(found) == bars * 4
    assert np.max(np.abs(found - beats(tempo, bars * 4))) < 0.001


def test_clicks_are_found_in_the_full_mix_too() -> None:
    """Proves the same under bass and chords, by the second difference (a high-pass filter)."""
    strip = samples([LONG], LoopOptions(120, loops=4, bass="walking"))
    found = onsets(np.diff(strip.astype(float), 2), 110)
    assert len(found) == 4 + 64
    assert np.max(np.abs(found - beats(120, 68))) < 0.001


def test_double_time_clicks_lie_half_as_far_apart() -> None:
    """Proves the doubled beat at 110 by the onset finder, in a loop as long as the single one."""
    options = LoopOptions(110, loops=1, doubled=True, bass=None, chords=False)
    strip = samples([TWO_FIVE], options)
    assert np.max(np.abs(onsets(strip.astype(float), 300) - beats(220, 24))) < 0.001
    assert len(strip) == len(samples([TWO_FIVE], LoopOptions(110, loops=1)))


@pytest.mark.parametrize(
    ("tempo", "loops", "expected"),
    [
        (120, 2, 20 * 22_050),
        (133, 3, 557_053),  # 28 quarters: 28 × 60 / 133 × 44100 = 557052.63…
        (300, 1, 16 * 8_820),  # two bars counted in
    ],
)
def test_the_length_is_exact_to_the_sample(tempo: int, loops: int, expected: int) -> None:
    """Proves counted-in bars and loops by hand."""
    assert len(samples([TWO_FIVE], LoopOptions(tempo, loops=loops))) == expected


def test_bass_and_chords_begin_where_the_bars_do() -> None:
    """Proves that after a count-in without clicks following it the music enters on its bar."""
    strip = samples([LONG], LoopOptions(60, loops=1, clicks=None)).astype(float)
    silence = strip[round(3.1 * RATE) : 4 * RATE]
    assert not silence.any()
    entry = np.flatnonzero(np.abs(strip[4 * RATE :]) > 300)[0] / RATE
    assert entry < 0.01


def test_the_bass_sounds_at_the_pitch_of_its_root() -> None:
    """Proves by a Fourier transform that the first bass note is C2 (65.41 Hz)."""
    strip = samples([LONG], LoopOptions(60, loops=1, clicks=None, chords=False)).astype(float)
    piece = strip[4 * RATE : 5 * RATE] * np.hanning(RATE)
    spectrum = np.abs(np.fft.rfft(piece))
    assert int(np.argmax(spectrum)) == pytest.approx(65.41, abs=1)


@given(st.sampled_from(EVERY), OPTIONS, st.integers(5_000, 200_000))
@settings(max_examples=8)
def test_nothing_clips_and_blocks_leave_no_seam(
    each: LoopPart, options: LoopOptions, block: int
) -> None:
    """Proves the bound on the sum, the length, and that how it is cut changes no sample."""
    whole = np.concatenate(mixed_blocks([each], options))
    assert np.array_equal(whole, np.concatenate(mixed_blocks([each], options, block)))
    assert np.max(np.abs(whole.astype(int))) < 32_767
    bars = options.loops * len(each.chart.bars)
    bar = each.chart.meter.bar * 60 / Fraction(options.tempo)
    counted = 2 if bar < Fraction(3, 2) else 1
    assert len(whole) == round((bars + counted) * bar * RATE)


def test_it_is_loud_enough_to_play_along_with() -> None:
    """Proves that the mix uses a fair part of the range."""
    assert np.max(np.abs(samples([LONG], LoopOptions(120)).astype(int))) > 11_000


def test_no_crackle_between_bass_notes() -> None:
    """Proves that no two neighbouring samples jump without a click being struck."""
    strip = samples([LONG], LoopOptions(120, clicks=None)).astype(int)[2 * RATE :]
    assert np.max(np.abs(np.diff(strip))) < 2_000


def test_stacked_notes_are_held_at_full_scale() -> None:
    """Proves that eight notes at once, which only an import can bring, don't wrap around."""
    held = LineNote(Fraction(0), Fraction(4), parse_pitch("C4"))
    strip = samples([replace(TWO_FIVE, line=(held,) * 8)], LoopOptions(60)).astype(int)
    assert np.max(np.abs(strip)) == 32_767
    assert np.max(np.abs(np.diff(strip))) < 20_000
