"""From frames to notes: the likeliest course of pitch classes, cut where a note is struck again."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

from drillbox.hearing.takes import Played
from drillbox.hearing.tracker import HOP, Frames

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

SILENCE = 12
CHANGE = 0.9
"""What a change of note costs, against a strength of 0 to 1 a frame: a note must stand out for
some 30 ms."""
UNVOICED = 0.45
"""Strength below which a frame is rather silence (the voicing threshold of Boersma 1993)."""
QUIET = 38.0
"""Decibels under the loudest at which nothing counts any more."""
SHORTEST = 0.03
ANEW, APART = 5.0, 0.055
"""Decibels of rise, and seconds from the note's beginning, at which it is struck again."""


def notes_of(found: Frames) -> tuple[Played, ...]:
    """Return the notes heard, in order, each in the octave above middle C."""
    import numpy as np

    course = _course(found)
    if not len(course):
        return ()
    edges = np.flatnonzero(np.diff(course)) + 1
    notes = []
    for first, last in zip((0, *edges), (*edges, len(course)), strict=True):
        if course[first] == SILENCE or (last - first) * HOP < SHORTEST:
            continue
        cuts = [first, *_struck_again(found.attack, int(first), int(last)), last]
        for start, end in pairwise(cuts):
            sure = float(found.strength[start:end, course[first]].mean())
            notes.append(Played(start * HOP, end * HOP, 60 + int(course[first]), min(1.0, sure)))
    return tuple(notes)


def _course(found: Frames) -> NDArray[np.int64]:
    """Return the class of each frame, ``SILENCE`` for none: the best path (Viterbi 1967)."""
    import numpy as np

    loud = found.level > max(found.level.max(initial=-200.0) - QUIET, -90.0)
    worth = np.full((len(loud), 13), UNVOICED)
    worth[:, :12] = np.where(loud[:, None], found.strength, -1.0)
    came = np.empty(worth.shape, dtype=np.int64)
    score = worth[0].copy() if len(worth) else np.zeros(13)
    stay = np.arange(13)
    for frame in range(1, len(worth)):
        best = int(score.argmax())
        moved = score[best] - CHANGE > score
        came[frame] = np.where(moved, best, stay)
        score = np.where(moved, score[best] - CHANGE, score) + worth[frame]
    course = np.empty(len(worth), dtype=np.int64)
    state = int(score.argmax())
    for frame in range(len(worth) - 1, -1, -1):
        course[frame] = state
        state = int(came[frame, state]) if frame else state
    return course


def _struck_again(attack: NDArray[np.float64], first: int, last: int) -> list[int]:
    """Return the frames within a note at which it is struck again."""
    import numpy as np

    apart = round(APART / HOP)
    found, at = [], first
    for frame in range(first + apart, last - round(SHORTEST / HOP)):
        window = attack[max(first, frame - 4) : frame + 5]
        if attack[frame] >= ANEW and attack[frame] == np.max(window) and frame - at >= apart:
            found.append(frame)
            at = frame
    return found
