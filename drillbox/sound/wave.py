"""Practice loops as audio: 16 bit, 44.1 kHz, one channel, built from plain sines."""

from __future__ import annotations

import io
import wave
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillbox.sound.loop_parts import LoopOptions, LoopPart
from drillbox.sound.patterns import Event, loop_events
from drillbox.sound.ticks import FULL, RATE, sample_at
from drillbox.sound.ticks import tick as click_of
from drillbox.tick import Tick, silent

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

BLOCK = 1 << 18
"""Samples mixed at a time, about six seconds: the memory stays small however long the loop."""
_ATTACK, _RELEASE = 0.006, 0.012  # seconds: too short to hear, long enough not to crackle


@dataclass(frozen=True, slots=True)
class Timbre:
    """``gain``: the most that the voice adds to the sum. ``partials``: shares, together 1.

    ``half_life`` is in seconds.
    """

    gain: float
    partials: tuple[float, ...]
    half_life: float


# The gains together stay under 1, those of a line over the rest after it is turned down, so that
# no sum clips where a line has one note at a time.
_CLICK_GAIN = 0.36
_TIMBRES = {
    # Much of the bass lies in its upper partials, or small loudspeakers would swallow it.
    "bass": Timbre(0.38, (0.45, 0.30, 0.17, 0.08), 0.45),
    "chord": Timbre(0.24, (0.72, 0.20, 0.08), 1.6),
    "line": Timbre(0.33, (0.62, 0.22, 0.11, 0.05), 1.0),
}
_UNDER_A_LINE = 0.75
"""What all voices together are turned down to where a line sounds over them."""


@dataclass(frozen=True, slots=True)
class Placed:
    """An event as samples: from ``start`` up to but without ``stop``."""

    event: Event
    start: int
    stop: int


def render_wav(parts: Sequence[LoopPart], options: LoopOptions, tick: Tick = silent) -> bytes:
    """Return the loop as a WAV file, exactly count-in and loops long.

    Each sound begins on the sample nearest to its time. ``tick`` hears of samples mixed. Raises
    as ``lay_out`` does.
    """
    data = io.BytesIO()
    with wave.open(data, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        for block in mixed_blocks(parts, options, tick=tick):
            file.writeframesraw(block.astype("<i2").tobytes())
    return data.getvalue()


def mixed_blocks(
    parts: Sequence[LoopPart], options: LoopOptions, block: int = BLOCK, tick: Tick = silent
) -> list[NDArray[np.int16]]:
    """Return the loop's samples (int16, one axis) in blocks; their size changes no sample."""
    import numpy as np

    layout, sounding = loop_events(parts, options, tick=lambda *_: tick(0, 1))
    total = sample_at(layout.seconds(layout.total))
    placed = [
        Placed(
            each,
            sample_at(layout.seconds(each.start)),
            sample_at(layout.seconds(each.start + each.length)),
        )
        for each in sounding
    ]
    full = full_scale(parts)
    blocks: list[NDArray[np.int16]] = []
    begun: list[Placed] = []
    coming = 0
    for first in range(0, total, block):
        count = min(block, total - first)
        while coming < len(placed) and placed[coming].start < first + count:
            begun.append(placed[coming])
            coming += 1
        mix = np.zeros(count)
        for each in begun:
            add_sound(each, mix, first)
        blocks.append(as_samples(mix * full))
        begun = [each for each in begun if _end(each) > first + count]
        tick(first + count, total)
    return blocks


def _end(placed: Placed) -> int:
    """Return where a sound is over: a click rings as long as it is, whatever the beat."""
    if placed.event.voice in _TIMBRES:
        return placed.stop
    return placed.start + len(click_of(placed.event.voice))


def full_scale(parts: Sequence[LoopPart]) -> float:
    """Return the sample value of a full sum of voices."""
    return FULL * (_UNDER_A_LINE if any(part.line for part in parts) else 1.0)


def as_samples(mix: NDArray[np.float64]) -> NDArray[np.int16]:
    """Return a mix in sample values as samples, held to what they can be."""
    import numpy as np

    return np.clip(np.round(mix), -FULL, FULL).astype(np.int16)


def add_sound(placed: Placed, mix: NDArray[np.float64], first: int) -> None:
    """Add to the mix, which begins at sample ``first``, what falls into it of one sound."""
    begin = max(placed.start, first)
    end = min(_end(placed), first + len(mix))
    if begin < end:
        mix[begin - first : end - first] += _sound(placed, begin - placed.start, end - begin)


def _sound(placed: Placed, offset: int, count: int) -> NDArray[np.float64]:
    """Return ``count`` samples of one sound from ``offset`` samples after its beginning."""
    import numpy as np

    event = placed.event
    timbre = _TIMBRES.get(event.voice)
    if timbre is None:
        samples = np.frombuffer(click_of(event.voice), dtype=np.int16)[offset : offset + count]
        return np.multiply(samples, _CLICK_GAIN / FULL, dtype=np.float64)
    seconds = np.arange(offset, offset + count) / RATE
    frequency = 440.0 * 2 ** ((event.pitch - 69) / 12)
    shape = np.zeros(count)
    for number, share in enumerate(timbre.partials, start=1):
        shape += share * np.sin(2 * np.pi * frequency * number * seconds)
    left = (placed.stop - placed.start) / RATE - seconds
    shape *= np.minimum(1.0, seconds / _ATTACK) * np.minimum(1.0, left / _RELEASE)
    shape *= 0.5 ** (seconds / timbre.half_life) * (timbre.gain * float(event.share))
    return shape
