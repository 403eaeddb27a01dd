"""Is the microphone set up well: what sounds now, how loud, and how late the click comes back."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from drillbox.hearing.tracker import UNVOICED, heard_frames

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

LONGEST_DELAY = 0.5
STANDS_OUT = 6.0
"""How much an echo's correlation must stand over the ordinary one to be the click's."""
TOGETHER = 0.003
"""Seconds within which the clicks come back equally late."""


class Now(NamedTuple):
    """A sounding pitch class, None for none, and the level in decibels under full scale."""

    pitch_class: int | None
    level: float


class Echo(NamedTuple):
    """The click as the microphone hears it: seconds late, decibels under full scale."""

    delay: float
    level: float


def sounding_now(sound: NDArray[np.float64], rate: int) -> Now:
    """Return what sounds at the end of ``sound`` (a fifth of a second will do)."""
    import numpy as np

    level = 10 * float(np.log10(np.mean(sound**2) + 1e-10)) if len(sound) else -100.0
    if level < -70 or len(sound) < rate // 10:
        return Now(None, level)
    strength = heard_frames(sound, rate).strength[5:-5].mean(axis=0)
    best = int(strength.argmax())
    return Now(best if strength[best] > UNVOICED else None, level)


def echo_of_clicks(
    sound: NDArray[np.float64], rate: int, tick: NDArray[np.float64], sent: list[float]
) -> Echo | None:
    """Return how late and how loud clicks come back that were sent at ``sent`` seconds.

    None where the microphone doesn't hear them. The clicks' cross-correlations are summed, so
    that what else sounds weighs less, and most of them have to come back equally late.
    """
    import numpy as np

    reach = round(LONGEST_DELAY * rate)
    pieces, alike = [], []
    for at in sent:
        first = round(at * rate)
        piece = sound[first : first + reach + len(tick) - 1]
        if len(piece) == reach + len(tick) - 1:
            pieces.append(piece)
            alike.append(np.abs(np.correlate(piece, tick, "valid")))
    if not pieces:
        return None
    total = np.sum(alike, axis=0)
    lag = int(total.argmax())
    agreed = sum(abs(int(each.argmax()) - lag) <= TOGETHER * rate for each in alike)
    if total[lag] < STANDS_OUT * (np.median(total) + 1e-9) or agreed * 2 <= len(alike):
        return None
    heard = np.concatenate([piece[lag : lag + len(tick)] for piece in pieces])
    return Echo(lag / rate, 10 * float(np.log10(np.mean(heard**2) + 1e-10)))
