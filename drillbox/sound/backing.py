"""What sounds under a drill or a round while it is played: click, bass, chords, and a line."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from drillbox.music.pulse import Pulse, clicked
from drillbox.sound.loop_parts import LoopOptions, LoopPart
from drillbox.sound.patterns import Event, loop_events
from drillbox.sound.ticks import RATE, sample_at
from drillbox.sound.wave import Placed, add_sound, as_samples, full_scale

NEAR = 0.01  # quarter notes: more than rounding to a sample can move a sound


class BackingTrack:
    """A practice loop as a strip of samples that begins on beat ``first`` and may have no end.

    It is mixed as the files of ``render_wav`` are, piece by piece as they are asked for.
    ``loudness`` is a factor of 0 to 1 on the amplitude.
    """

    def __init__(
        self,
        parts: Sequence[LoopPart],
        options: LoopOptions,
        pulse: Pulse,
        loudness: float = 1.0,
        first: int = 0,
    ) -> None:
        once = replace(options, loops=1, clicks=None)
        self._layout, sounding = loop_events(parts, once, longest=None)
        held = [each for each in sounding if each.voice not in {"accent", "plain"}]
        # Floats find what is near in time; where it lies exactly is told by the fractions.
        self._held = [(float(each.start), float(each.start + each.length), each) for each in held]
        self._longest = max((end - start for start, end, _ in self._held), default=0.0)
        self._clicks, self._pulse = options.clicks, pulse
        self._offset = sample_at(pulse.time(first))
        self._full = full_scale(parts) * min(max(loudness, 0.0), 1.0)

    def frames(self, start: int, count: int) -> bytes:
        """Return ``count`` samples from sample ``start`` on as bytes; silence after the end."""
        import numpy as np

        begin = start + self._offset
        mix = np.zeros(count)
        for each in self._sounding(begin, begin + count):
            add_sound(each, mix, begin)
        return as_samples(mix * self._full).tobytes()

    def _sounding(self, begin: int, end: int) -> Iterator[Placed]:
        """Yield what may sound between two samples, counted from the count-in's beginning."""
        quarters = self._pulse.tempo / (60 * RATE)
        low, high = begin * quarters - NEAR, end * quarters + NEAR
        yield from self._clicking(low, high)
        count_in, once = float(self._layout.count_in), float(self._layout.once)
        earliest = math.floor((low - count_in - self._longest) / once)
        latest = math.floor((high - count_in) / once) + 1  # a pickup begins before its loop does
        most = latest + 1 if self._pulse.loops is None else self._pulse.loops
        for loop in range(max(0, earliest), min(latest + 1, most)):
            shift = loop * once
            for start, stop, each in self._held:
                if stop + shift >= low and start + shift <= high:
                    moved = each.start + loop * self._layout.once
                    yield self._placed(replace(each, start=moved))

    def _clicking(self, low: float, high: float) -> Iterator[Placed]:
        beat = self._pulse.meter.bar / self._pulse.beats_in_bar
        number = max(0, math.floor(low / float(beat)) - 1)
        most = math.inf if self._pulse.beats is None else self._pulse.beats
        while number < most and number * beat <= high:
            position = self._pulse.at(number)
            kind = clicked(position, self._clicks or "every")
            if kind and (self._clicks or position.count_in):
                yield self._placed(Event(kind, number * beat, beat))
            number += 1

    def _placed(self, event: Event) -> Placed:
        seconds = self._layout.seconds
        stop = sample_at(seconds(event.start + event.length))
        return Placed(event, sample_at(seconds(event.start)), stop)
