"""The click as samples, each one placed to the sample; standard library only."""

from __future__ import annotations

import math
from array import array
from fractions import Fraction
from functools import cache

from drillbox.music.pulse import CLICK_HERTZ, CountedBeats, Pulse, clicked

RATE = 44_100
"""Samples a second, one channel, signed 16 bit in the machine's byte order."""
TICK_SECONDS = 0.03
FULL = 32_767
_LOUDNESS = {"accent": 1.0, "plain": 0.6}
"""Share of full loudness."""


def sample_at(seconds: Fraction, rate: int = RATE) -> int:
    """Return the sample nearest to a moment; from the exact time, so that none drifts."""
    return round(seconds * rate)


@cache
def tick(kind: str, loudness: float = 1.0, rate: int = RATE) -> array[int]:
    """Return one click, ``accent`` or ``plain``: a sine that dies away within 30 ms.

    ``loudness`` is a factor of 0 to 1 on the amplitude.
    """
    frequency, share = CLICK_HERTZ[kind], _LOUDNESS[kind]
    count = round(TICK_SECONDS * rate)
    peak = FULL * share * min(max(loudness, 0.0), 1.0)
    return array(
        "h",
        (
            round(peak * (1 - n / count) ** 3 * math.sin(2 * math.pi * frequency * n / rate))
            for n in range(count)
        ),
    )


class ClickTrack:
    """The clicks of a pulse as an endless strip of samples that begins on beat ``first``."""

    def __init__(
        self,
        pulse: Pulse,
        which: CountedBeats = "every",
        loudness: float = 1.0,
        first: int = 0,
        rate: int = RATE,
    ) -> None:
        self._pulse, self._which, self._first, self._rate = pulse, which, first, rate
        self._ticks = {kind: tick(kind, loudness, rate) for kind in CLICK_HERTZ}
        self._length = len(self._ticks["plain"])

    def onset(self, number: int) -> int:
        """Return the sample on which beat ``number`` begins."""
        return sample_at(self._pulse.time(number - self._first), self._rate)

    def frames(self, start: int, count: int) -> bytes:
        """Return ``count`` samples from sample ``start`` on as bytes; silence after the end."""
        strip = array("h", bytes(2 * count))
        step = self._pulse.beat_seconds * self._rate
        number = self._first + max(0, math.floor((start - self._length) / step))
        last = self._pulse.beats
        while (last is None or number < last) and self.onset(number) < start + count:
            kind = clicked(self._pulse.at(number), self._which)
            if kind:
                _lay(self._ticks[kind], strip, self.onset(number) - start)
            number += 1
        return strip.tobytes()


def _lay(sound: array[int], strip: array[int], offset: int) -> None:
    """Copy the part of ``sound`` that lies within ``strip`` when it begins at ``offset``."""
    begin, end = max(0, -offset), min(len(sound), len(strip) - offset)
    if begin < end:
        strip[offset + begin : offset + end] = sound[begin:end]
