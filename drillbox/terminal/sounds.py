"""What is heard: the beat by a sound device, by the terminal's bell or not at all; a line once."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal, Protocol, TextIO

from drillbox.music.charts import Chart
from drillbox.music.pulse import CountedBeats, Position, Pulse, clicked
from drillbox.output import drawing
from drillbox.sound.ticks import ClickTrack
from drillbox.terminal.device import PERIOD, Device, Track, open_device
from drillbox.terminal.presses import Press

if TYPE_CHECKING:
    from drillbox.sound.loop_parts import LoopOptions, LoopPart

Backing = Literal["off", "bass", "bass-and-chords"]
"""What sounds under a drill besides the click."""


@dataclass(frozen=True, slots=True)
class ClickChoice:
    """What the player wants to hear. ``volume`` is 0 to 100."""

    kind: Literal["sound", "bell", "off"] = "sound"
    which: CountedBeats = "every"
    volume: int = 70
    backing: Backing = "off"


class Click(Protocol):
    """Something that makes the beat heard, through a ``device`` that it keeps open, if any."""

    device: Device | None

    def accompany(self, charts: Sequence[Chart]) -> None:
        """Be told the charts, at concert pitch, that what begins next goes through."""

    def begin(self, pulse: Pulse, first: int) -> float:
        """Sound the pulse from beat ``first``; return the ``time.monotonic`` of that beat."""

    def beat(self, position: Position) -> None:
        """Be told that a beat falls now."""

    def stop(self) -> None:
        """Fall silent until the next ``begin``."""

    def close(self) -> None:
        """Fall silent and release the device."""


class SilentClick:
    """No click: the beat is only seen."""

    device: Device | None = None

    def accompany(self, charts: Sequence[Chart]) -> None:
        """Do nothing."""

    def begin(self, pulse: Pulse, first: int) -> float:
        """Return now."""
        del pulse, first
        return time.monotonic()

    def beat(self, position: Position) -> None:
        """Do nothing."""

    def stop(self) -> None:
        """Do nothing."""

    def close(self) -> None:
        """Do nothing."""


class BellClick(SilentClick):
    """The terminal's bell on each beat that is to be heard; it knows neither accent nor volume."""

    def __init__(self, which: CountedBeats, out: TextIO | None = None) -> None:
        self._which, self._out = which, out or drawing(sys.stdout)

    def beat(self, position: Position) -> None:
        """Ring, where this beat is to be heard."""
        if clicked(position, self._which):
            self._out.write("\a")
            self._out.flush()


class DeviceClick(SilentClick):
    """Clicks from a sound device, each begun on its exact sample, and a backing under them."""

    def __init__(self, device: Device, choice: ClickChoice) -> None:
        self.device: Device = device
        self._choice = choice
        self._charts: Sequence[Chart] = ()

    def accompany(self, charts: Sequence[Chart]) -> None:
        """Play these charts under what begins next, as the player has chosen."""
        self._charts = charts

    def begin(self, pulse: Pulse, first: int) -> float:
        """Sound the pulse from beat ``first``; return the moment at which that beat is heard."""
        return self.device.start(self.track(pulse, first))

    def stop(self) -> None:
        """Fall silent until the next ``begin``."""
        self.device.stop()

    def close(self) -> None:
        """Fall silent and release the device."""
        self.device.close()

    def track(self, pulse: Pulse, first: int) -> Track:
        """Return what sounds: clicks alone, or with bass and chords."""
        mine, loudness = self._choice, loudness_of(self._choice.volume)
        if mine.backing == "off" or not self._charts:
            return ClickTrack(pulse, mine.which, loudness, first)
        from drillbox.sound.backing import BackingTrack  # brings numpy with its first samples
        from drillbox.sound.loop_parts import LoopOptions, LoopPart

        options = LoopOptions(
            pulse.tempo,
            loops=1,
            doubled=pulse.doubled,
            clicks=None if mine.kind == "off" else mine.which,
            chords=mine.backing == "bass-and-chords",
        )
        parts = [LoopPart(chart) for chart in self._charts]
        return BackingTrack(parts, options, pulse, loudness, first)


def loudness_of(volume: int) -> float:
    """Return the factor on the amplitude for a volume of 0 to 100."""
    return (volume / 100) ** 2  # the ear hears the square root or so


def open_click(choice: ClickChoice, *, backends: list[Any] | None = None) -> tuple[Click, str]:
    """Return the click wanted, or a silent one and a line that says why.

    With a backing the device sounds the click, too, where it isn't off. ``backends`` as in
    ``open_device``.
    """
    if choice.volume <= 0 or (choice.kind == "off" and choice.backing == "off"):
        return SilentClick(), ""
    if choice.kind == "bell" and choice.backing == "off":
        return BellClick(choice.which), ""
    if choice.backing != "off":
        import numpy  # noqa: F401 # here, and not while the first beat is waited for
    device = open_device(backends)
    return (SilentClick(), device) if isinstance(device, str) else (DeviceClick(device, choice), "")


DYING_AWAY = 0.3  # seconds after the last note


def play_loop(
    parts: Sequence[LoopPart],
    options: LoopOptions,
    volume: int,
    wait: Callable[[float], Press],
    device: Device | None = None,
    backends: list[Any] | None = None,
) -> Press | str:
    """Play a loop to its end or until ``wait`` returns early; return what ``wait`` did.

    It sounds through an open ``device``, which stays open, or else through one of its own. Where
    nothing can be heard, return a line that says why. ``backends`` as in ``open_device``.
    """
    used = device or open_device(backends)
    if isinstance(used, str):
        return used
    from drillbox.sound.backing import BackingTrack  # brings numpy
    from drillbox.sound.loop_parts import lay_out

    layout = lay_out(parts, options)
    try:
        used.start(BackingTrack(parts, options, layout.pulse, loudness_of(volume)))
        return wait(float(layout.seconds(layout.total)) + PERIOD + DYING_AWAY)
    finally:
        used.stop()
        if device is None:
            used.close()
