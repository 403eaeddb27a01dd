"""Play something once, to listen to: a line over its changes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from drillbox.sound.loop_parts import LoopOptions, LoopPart, lay_out
from drillbox.terminal.click import loudness_of
from drillbox.terminal.device import PERIOD, open_device
from drillbox.terminal.presses import Press

DYING_AWAY = 0.3  # seconds after the last note


def play(
    parts: Sequence[LoopPart],
    options: LoopOptions,
    volume: int,
    wait: Callable[[float], Press],
    backends: list[Any] | None = None,
) -> Press | str:
    """Play a loop to its end or until ``wait`` returns early; return what ``wait`` did.

    Where nothing can be heard, return a line that says why. ``backends`` as in ``open_device``.
    """
    device = open_device(backends)
    if isinstance(device, str):
        return device
    from drillbox.sound.backing import BackingTrack  # brings numpy

    layout = lay_out(parts, options)
    try:
        device.start(BackingTrack(parts, options, layout.pulse, loudness_of(volume)))
        return wait(float(layout.seconds(layout.total)) + PERIOD + DYING_AWAY)
    finally:
        device.close()
