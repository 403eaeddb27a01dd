"""The beat clock: wait for a key or the next beat, whichever comes first."""

from __future__ import annotations

import time
from collections.abc import Callable

from drillbox.music.pulse import Position, Pulse
from drillbox.terminal.presses import CONTINUED, TIMEOUT, Press, Presses
from drillbox.terminal.sounds import Click, SilentClick

OVER = Press("over", "all loops were played")
LOST_AFTER = 1.0
"""Seconds behind, as when the machine was stopped, from which the beat is put off; a smaller
delay (a slow screen) skips the beats missed and stays with the click."""


class BeatClock:
    """A pulse in real time. Each beat's deadline is start + number × length, never a sum.

    A clock begins at rest: ``wait`` then only reads keys. ``first_bar`` is the moment (on the
    clock's own time) at which the first full bar begins, None before ``start``; where the beat is
    put off it moves along, and it stays once the beat is over.
    """

    def __init__(
        self,
        keys: Presses,
        pulse: Pulse,
        click: Click | None = None,
        now: Callable[[], float] = time.monotonic,
    ) -> None:
        self._keys, self._pulse, self._now = keys, pulse, now
        self._click: Click = click or SilentClick()
        self._start: float | None = None
        self._next = 0
        self.first_bar: float | None = None

    def beats_now(self) -> float:
        """Return how many beats have gone by since the count-in began; 0 at rest."""
        if self._start is None:
            return 0.0
        return (self._now() - self._start) / float(self._pulse.beat_seconds)

    def start(self) -> None:
        """Begin with the count-in, from the first loop."""
        self._begin(0)

    def pause(self) -> None:
        """Stop the beat; keys are still read."""
        self._click.stop()
        self._start = None

    def wait(self, until: float | None = None) -> Press | Position:
        """Return the next thing to happen: a press, a beat that falls now, or OVER.

        After OVER the clock is at rest. ``until`` is a number of beats as ``beats_now`` counts
        them: where nothing happens before, TIMEOUT comes then.
        """
        while self._start is not None:
            now = self._now()
            late = now - self._deadline(self._start)
            if late >= 0:
                return self._fall(late)
            wait = -late
            if until is not None:
                wait = min(wait, self._start + until * float(self._pulse.beat_seconds) - now)
                if wait <= 0:
                    return TIMEOUT
            press = self._keys.read_key(wait)
            if press.reason == CONTINUED.reason:  # the click stood still while we were stopped
                self._begin(self._next)
            if press != TIMEOUT:
                return press
        return self._keys.read_key(None)

    def _deadline(self, start: float) -> float:
        return start + float(self._pulse.time(self._next))

    def _begin(self, first: int) -> None:
        self._next = first
        self._start = self._click.begin(self._pulse, first) - float(self._pulse.time(first))
        count_in = self._pulse.bar_seconds * self._pulse.count_in_bars
        self.first_bar = self._start + float(count_in)

    def _fall(self, late: float) -> Press | Position:
        """Let the beat fall that is due; where several are, the latest of them."""
        lost = late >= LOST_AFTER
        if not lost:
            self._next += int(late / self._pulse.beat_seconds)
        if self._pulse.beats is not None and self._next >= self._pulse.beats:
            self.pause()
            return OVER
        if lost:
            self._begin(self._next)
        position = self._pulse.at(self._next)
        self._next += 1
        self._click.beat(position)
        return position
