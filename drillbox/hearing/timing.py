"""How the right notes lay in time: the player's own beat, swing, hesitations, drift.

All in quarter notes against the beat; a swung or a laid-back line isn't a fault, so what
both have in common is taken out before anything is judged.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillbox.hearing.takes import Beat

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

FEWEST = 4
"""Right notes below which nothing is said of time."""
NEAR, FAR = 0.9, 4.0
"""Quarters between two notes whose tempo is compared, in a short line a quarter of it and a half:
over less a note's own place tells, over more a hesitation."""
SWING = (-0.05, 0.3)
"""How late an off-beat may lie as a share of its pair of notes: even to more than dotted (long :
short from 1 : 1 to 4 : 1; Friberg & Sundström 2002 found up to 3.5 : 1 at slow tempos)."""
SIXTEENTH, CLOSE = 0.25, 1e-6
"""Quarters: the subdivision from which sixteenths may be swung, too; and what is the same place."""
ALONE = 0.35
"""Quarters between two notes on the beat from which one of them moved by itself, by most of an
eighth, and says nothing of the swing between them; uneven ones lie less apart."""
JUMP, JUMP_SECONDS = 0.3, 0.07
"""From so much on, in quarters and in seconds, a change from one note to the next is a hesitation
or a skip: an eighth is 0.5, and a flam or a grace note takes up to 60 ms."""

OWN_SPREAD = 0.015
"""Seconds of spread that players have in good time, 10 to 30 ms: in a few quick notes it feigns a
drift."""


@dataclass(frozen=True, slots=True)
class Timing:
    """The time of one pass.

    ``late`` holds, for each right note, quarters after its place once swing, drift and the
    common offset are out; ``jumps`` the indices into it after which the beat stood still
    (positive) or was skipped (negative), with the quarters. ``offset`` is how late it began;
    ``drift`` by what share a quarter became longer than the beat's, or in the player's own time
    the second half's than the first's; ``uneven`` the spread of what is left, in quarters.
    """

    late: tuple[float, ...]
    jumps: tuple[tuple[int, float], ...]
    offset: float
    drift: float
    swing: float
    uneven: float

    @property
    def faster(self) -> float:
        """Return the same change as a share of the tempo, as players count it; below 0 slower."""
        return 1 / max(0.1, 1 + self.drift) - 1


def own_beat(onsets: Sequence[float], starts: Sequence[float]) -> Beat | None:
    """Return the beat that the right notes themselves keep; None where they are too few.

    The median tempo among notes near one another (after Theil 1950 and Sen 1968), so that
    a pause or a wrong match doesn't bend it.
    """
    import numpy as np

    if len(onsets) < FEWEST:
        return None
    on, at = np.array(onsets, dtype=float), np.array(starts)
    first, second = np.triu_indices(len(on), 1)
    apart = on[second] - on[first]
    span = float(on[-1] - on[0])
    near = (apart >= min(NEAR, span / 4)) & (apart <= min(FAR, max(1.0, span / 2))) & (apart > 0)
    near = near if near.any() else apart > 0
    slopes = (at[second] - at[first])[near] / apart[near]
    slopes = slopes[slopes > 0]
    if not len(slopes):
        return None
    quarter = float(np.median(slopes))
    return Beat(float(np.median(at - quarter * on)), quarter)


def timing_of(
    onsets: Sequence[float], starts: Sequence[float], beat: Beat, smallest: float, *, own: bool
) -> Timing:
    """Work out how notes at ``starts`` seconds lay against ``onsets`` on a beat.

    ``own`` tells that the beat is the player's, found from these notes: then drift is how the
    tempo of the second half differs from the first half's.
    """
    import numpy as np

    on = np.array(onsets, dtype=float)
    off = (np.array(starts) - beat.start) / beat.quarter - on
    swing = 0.0
    for pair in (1.0, 0.5) if smallest <= SIXTEENTH else (1.0,):
        weak = _weak(on, pair)
        late = _swing(on, off, weak, pair)
        off, swing = off - late * weak, swing or late
    least = max(JUMP, JUMP_SECONDS / beat.quarter)
    steps = np.diff(off)
    jumps = tuple((int(i), float(steps[i])) for i in np.flatnonzero(np.abs(steps) >= least))
    held = off - np.concatenate(([0.0], np.cumsum(_lasting(off, steps, least))))
    usual = OWN_SPREAD / beat.quarter
    if own:
        drift, flat = _bend(on, held, usual)
    else:
        drift = _slope(on, held, usual)
        flat = held - drift * (on - on[0])
    spread = _spread(flat)
    level = off - np.median(off)
    first = (off - (0.0 if own else drift) * (on - on[0]))[: max(FEWEST, len(on) // 2)]
    began = float(np.median(first))
    return Timing(tuple(float(each) for each in level), jumps, began, drift, swing, spread)


def _lasting(
    off: NDArray[np.float64], steps: NDArray[np.float64], least: float
) -> NDArray[np.float64]:
    """Return the steps after which the notes stay where they are; others are 0.

    A note that alone was late isn't a change of level, and would bend the tempo if it were.
    """
    import numpy as np

    found = np.where(np.abs(steps) >= least, steps, 0.0)
    for at in np.flatnonzero(found):
        before, after = off[max(0, at - 4) : at + 1], off[at + 1 : at + 6]
        if abs(np.median(after) - np.median(before)) < least:
            found[at] = 0.0
    return found


def _weak(on: NDArray[np.float64], pair: float) -> NDArray[np.bool_]:
    """Tell which notes swing would make late: those that part a pair of notes in two.

    A pair that other notes divide as well isn't swung.
    """
    import numpy as np

    within = on % pair
    halves = np.abs(within - pair / 2) < CLOSE
    other = ~halves & (np.minimum(within, pair - within) > CLOSE)
    divided = np.isin(np.floor(on / pair + CLOSE), np.floor(on[other] / pair))
    return np.asarray(halves & ~divided)


def _swing(
    on: NDArray[np.float64], off: NDArray[np.float64], weak: NDArray[np.bool_], pair: float
) -> float:
    """Return how much later than their neighbours the weak notes lie, where that is swing.

    A neighbour that moved by itself tells nothing.
    """
    import numpy as np

    strong_at = np.flatnonzero(~weak)
    if weak.sum() < 2 or len(strong_at) < 2:
        return 0.0
    level = np.interp(on[weak], on[strong_at], off[strong_at])
    after = np.searchsorted(strong_at, np.flatnonzero(weak)).clip(1, len(strong_at) - 1)
    held = np.abs(off[strong_at[after]] - off[strong_at[after - 1]]) < ALONE
    late = float(np.median((off[weak] - level)[held if held.sum() >= 2 else slice(None)]))
    low, high = (pair * each for each in SWING)
    return late if low <= late <= high else 0.0


def _slope(on: NDArray[np.float64], off: NDArray[np.float64], usual: float) -> float:
    """Return the median slope among notes far apart, 0 where the ``usual`` spread may feign it.

    Twice the standard error of a straight line's slope over notes at even distances.
    """
    import numpy as np

    first, second = np.triu_indices(len(on), 1)
    apart = on[second] - on[first]
    far = apart >= max(1.0, (on[-1] - on[0]) / 3)
    if not far.any():
        return 0.0
    slope = float(np.median((off[second] - off[first])[far] / apart[far]))
    feigned = 2 * usual * (12 / len(on)) ** 0.5 / float(on[-1] - on[0])
    return slope if abs(slope) > feigned else 0.0


_TURNS = 3  # so many onsets at least make a parabola


def _bend(
    on: NDArray[np.float64], off: NDArray[np.float64], usual: float
) -> tuple[float, NDArray[np.float64]]:
    """Return how much slower the second half is than the first, as a share, and what is left.

    A parabola's bend (a tempo that changes evenly), 0 where the notes' own spread, or the
    ``usual`` one, may feign it.
    """
    import numpy as np

    span = float(on[-1] - on[0])
    if len(on) < 2 * FEWEST - 1 or len(np.unique(on)) < _TURNS:
        return 0.0, off - off.mean()
    curve = np.polyfit(on, off, 2)
    for _ in range(2):  # without the notes that were late by themselves
        rest = np.abs(off - np.polyval(curve, on))
        near = rest <= np.sort(rest)[max(2 * FEWEST - 2, len(on) * 4 // 5 - 1)]
        if len(np.unique(on[near])) < _TURNS:
            break
        curve = np.polyfit(on[near], off[near], 2)
    flat = off - np.polyval(curve, on)
    feigned = 2 * max(_spread(flat), usual) * (180 / len(on)) ** 0.5 / span
    bend = float(curve[0]) * span
    return (bend if abs(bend) > feigned else 0.0), flat


def _spread(flat: NDArray[np.float64]) -> float:
    """Return the standard deviation without the fifth that lies farthest out, scaled for it."""
    import numpy as np

    near = np.sort(np.abs(flat - np.median(flat)))[: max(FEWEST, len(flat) * 4 // 5)]
    return 1.5 * float(np.sqrt(np.mean(near**2)))  # a normal spread's middle 80 % has 0.66
