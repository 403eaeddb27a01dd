"""The set-up check: what sounds is named, and the click's way back is measured."""

from __future__ import annotations

import numpy as np
import pytest

from drillbox.hearing.check import echo_of_clicks, sounding_now
from drillbox.sound.ticks import RATE, tick
from drillbox.terminal.ears import open_ear
from drillbox.terminal.trying import measured_echo

TICK = np.array(tick("plain"), dtype=float) / 32768
SENT = [0.1, 0.7, 1.3]


def recorded(delay: float, loudness: float, noise: float = 0.003) -> np.ndarray:
    """Return two seconds of hiss in which the clicks come back."""
    out = np.random.default_rng(3).standard_normal(RATE * 2) * noise
    for at in SENT:
        first = round((at + delay) * RATE)
        out[first : first + len(TICK)] += TICK * loudness
    return out


@pytest.mark.parametrize("delay", [0.012, 0.043, 0.21])
def test_the_clicks_delay_is_measured(delay: float):
    """To a millisecond, as it was laid into the sound."""
    found = echo_of_clicks(recorded(delay, 0.1), RATE, TICK, SENT)
    assert found is not None
    assert found.delay == pytest.approx(delay, abs=0.001)
    assert -45 < found.level < -20


def test_a_click_that_does_not_come_back_is_none():
    """Headphones: hiss alone isn't an echo."""
    assert echo_of_clicks(recorded(0.05, 0.0), RATE, TICK, SENT) is None


def test_the_note_that_sounds_is_named():
    """An A in any octave is an A; silence and hiss are none."""
    at = np.arange(RATE // 5) / RATE
    for hertz in (220.0, 440.0, 880.0):
        tone = sum(np.sin(2 * np.pi * hertz * k * at) / k for k in (1, 2, 3)) * 0.2
        assert sounding_now(tone, RATE).pitch_class == 9
    assert sounding_now(np.zeros(RATE // 5), RATE).pitch_class is None
    assert sounding_now(np.random.default_rng(1).standard_normal(9000) * 0.05, RATE)[0] is None


def test_music_meanwhile_is_no_echo():
    """Somebody plays during the check: the click's own notes, but never equally late."""
    out = recorded(0.05, 0.0)
    for at, late in zip(SENT, (0.05, 0.31, 0.17), strict=True):
        first = round((at + late) * RATE)
        out[first : first + len(TICK)] += TICK * 0.2
    assert echo_of_clicks(out, RATE, TICK, SENT) is None


def test_the_check_plays_its_clicks_on_a_real_device():
    """miniaudio's null devices: the clicks go out and none comes back; muted, it says so."""
    miniaudio = pytest.importorskip("miniaudio")
    null = [miniaudio.Backend.NULL]
    ear = open_ear("mic", "", backends=null)
    try:
        assert measured_echo(ear, 70, backends=null) is None
        assert str(measured_echo(ear, 0, backends=null)).startswith("The click's volume is 0.")
    finally:
        ear.close()
