"""Lay what was played on the line: a plain dynamic programme, each row of it at once.

The least cost of turning the line into what was heard, where a note may be matched, left out
or put in (Needleman & Wunsch 1970); a match costs by pitch class and by how far off its time
it is, so that an octave is free and a hesitation is dear but not fatal. What is struck together
with a higher note, or sounds on under one far above it, is the left hand's and costs nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from drillbox.hearing.takes import Beat, Played

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

MISSED, EXTRA, PASSING = 1.0, 1.0, 0.35
"""What a note left out, one put in, and an ornament's quick note or a chord's top one cost."""
WRONG = 1.1
"""Another pitch in its place: dearer than either fault, cheaper than both."""
UNDER = 0.01
"""What a note under another costs in its place: of an octave the upper one is the line's."""
SLACK, PER_QUARTER, MOST = 0.25, 0.4, 0.8
"""Quarters off the beat that cost nothing, the cost of each beyond, and the most that it costs."""
TOGETHER = 0.04
"""Seconds within which notes are struck together."""
TENTH = 16
"""Semitones: a left hand's widest chord of two notes, and how far a bass lies under the line."""
ALONG = 0.02
"""Seconds for which both must sound: a bass runs on under the line's next notes."""
REACH = 8.0
"""Quarters off the beat at which a note is no longer the one that was meant."""
SAT_OUT = 0.5
"""What each note of a loop costs where one or more were sat out before the first one played."""
NEAR = 0.5
"""Quarters off the beat within which another pitch stands for the note, or one under another."""


@dataclass(frozen=True, slots=True)
class Alignment:
    """``pairs`` are (note of the line, note played), in order; ``cost`` the least there is."""

    pairs: tuple[tuple[int, int], ...]
    cost: float


def align(
    onsets: Sequence[float],
    classes: Sequence[int],
    notes: Sequence[Played],
    beat: Beat | None,
    *,
    whole: int | None = None,
    quick: float = 0.0,
) -> Alignment:
    """Return the cheapest way to lay ``notes`` on a line.

    ``onsets`` are in quarters. Without a ``beat`` time costs nothing. From index ``whole`` on
    the line may be left unplayed at no cost, and any number of first loops of that many notes
    at less: once through is enough. A note shorter than ``quick`` seconds costs less to put in.
    """
    import numpy as np

    spare = np.array(extra_costs(notes, quick))
    cost = _match_costs(onsets, classes, notes, beat)
    rows = len(onsets) + 1
    table = np.empty((rows, len(notes) + 1))
    put_in = np.concatenate(([0.0], np.cumsum(spare)))
    table[0] = put_in
    for row in range(1, rows):
        before = table[row - 1] + MISSED
        before[1:] = np.minimum(before[1:], table[row - 1, :-1] + cost[row - 1])
        if whole and row % whole == 0:
            before[0] = SAT_OUT * whole
        table[row] = np.minimum.accumulate(before - put_in) + put_in
    last = table[:, -1]
    end = rows - 1 if whole is None else whole + int(np.argmin(last[whole:]))
    return Alignment(_back(table, cost, end), float(last[end]))


def extra_costs(notes: Sequence[Played], quick: float) -> list[float]:
    """Return what each note costs where it isn't in the line: one under another, nothing."""
    costs = []
    for index in range(len(notes)):
        if _is_under(notes, index):
            costs.append(0.0)
            continue
        passing = _is_on_top(notes, index) or alone_for(notes, index) <= quick
        costs.append(PASSING if passing else EXTRA)
    return costs


def alone_for(notes: Sequence[Played], index: int) -> float:
    """Return the seconds from a note to its end or the next one, what is struck with it or goes on
    in the bass aside."""
    note = notes[index]
    following = (
        each
        for each in notes[index + 1 : index + 6]
        if not together(note, each) and note.pitch - each.pitch < TENTH
    )
    after = next(following, None)
    return (min(after.start, note.end) if after else note.end) - note.start


def of_chord(notes: Sequence[Played], index: int) -> bool:
    """Return whether a note is one of a chord, under or on top, or of a bass under the line."""
    return _is_under(notes, index) or _is_on_top(notes, index)


def _is_under(notes: Sequence[Played], index: int) -> bool:
    """Return whether a note is struck together with a higher one, or sounds along with one a tenth
    or more above."""
    note = notes[index]
    return any(
        (each.pitch > note.pitch and together(note, each))
        or (each.pitch - note.pitch >= TENTH and _overlap(note, each) >= ALONG)
        for each in _near(notes, index)
    )


def _overlap(one: Played, other: Played) -> float:
    """Return for how many seconds two notes sound at once."""
    return min(one.end, other.end) - max(one.start, other.start)


def _is_on_top(notes: Sequence[Played], index: int) -> bool:
    """Return whether a note is struck together with one a tenth below at most, and no octave.

    Farther above, or an octave, it is a note of its own over a bass.
    """
    note = notes[index]
    above = (note.pitch - each.pitch for each in _near(notes, index) if together(note, each))
    return any(0 < semitones <= TENTH and semitones != 12 for semitones in above)


def _near(notes: Sequence[Played], index: int) -> Sequence[Played]:
    return notes[max(0, index - 4) : index + 5]


def together(one: Played, other: Played) -> bool:
    """Return whether two notes are struck together; side by side they are none of a chord."""
    return abs(one.start - other.start) <= TOGETHER and abs(one.pitch - other.pitch) > 2


def _match_costs(
    onsets: Sequence[float], classes: Sequence[int], notes: Sequence[Played], beat: Beat | None
) -> NDArray[np.float64]:
    """Return the cost of each note of the line (rows) as each one played (columns)."""
    import numpy as np

    heard = np.array([note.pitch % 12 for note in notes], dtype=int)
    other = np.array(classes, dtype=int)[:, None] != heard[None, :]
    under = np.array([_is_under(notes, index) for index in range(len(notes))], dtype=bool)
    cost = np.where(other, WRONG, 0.0) + UNDER * under
    if beat is None:
        return cost
    starts = np.array([note.start for note in notes])
    due = beat.start + beat.quarter * np.array(onsets, dtype=float)
    off = np.abs(starts[None, :] - due[:, None]) / beat.quarter
    cost += np.minimum(MOST, PER_QUARTER * np.maximum(0.0, off - SLACK))
    cost[(off > REACH) | ((other | under[None, :]) & (off > NEAR))] = 2 * (MISSED + EXTRA)
    return cost


def _back(
    table: NDArray[np.float64], cost: NDArray[np.float64], end: int
) -> tuple[tuple[int, int], ...]:
    """Walk back through the table from its end; where ways cost the same, match."""
    row, column = end, table.shape[1] - 1
    pairs = []
    close = 1e-9
    while row and column:
        here = table[row, column]
        if here >= table[row - 1, column - 1] + cost[row - 1, column - 1] - close:
            row, column = row - 1, column - 1
            if cost[row, column] < MISSED + EXTRA:
                pairs.append((row, column))
        elif here >= table[row - 1, column] + MISSED - close:
            row -= 1
        else:
            column -= 1
    return tuple(reversed(pairs))
