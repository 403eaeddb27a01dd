"""What was heard of one attempt, as notes in seconds."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

Ear = Literal["midi", "microphone"]
MOST = 4_000
"""Notes that are judged; a file with more isn't a go, and of a port the last count."""


@dataclass(frozen=True, slots=True)
class Played:
    """One note that was heard. ``start`` and ``end`` are in seconds, ``pitch`` a MIDI number.

    By microphone the octave of ``pitch`` is a guess; nothing here depends on octaves.
    ``sure`` is 0 to 1: how clearly it stood out, 1 by MIDI.
    """

    start: float
    end: float
    pitch: int
    sure: float = 1.0


@dataclass(frozen=True, slots=True)
class Beat:
    """Where the written beat lay: quarter 0 at ``start`` seconds, ``quarter`` seconds each.

    ``found`` tells that ``start`` was found from the notes themselves, so that nobody can say
    whether they came in early or late.
    """

    start: float
    quarter: float
    found: bool = False

    def at(self, onset: float) -> float:
        """Return when an onset in quarter notes falls, in seconds."""
        return self.start + onset * self.quarter


@dataclass(frozen=True, slots=True)
class Take:
    """An attempt as heard; ``beat`` is the click's, None where the player kept their own time."""

    notes: tuple[Played, ...]
    ear: Ear
    beat: Beat | None = None


@dataclass(frozen=True, slots=True)
class Overheard:
    """What a device heard from ``since`` on, all times by one monotonic clock.

    By MIDI ``notes`` are (begin, end, number); by microphone ``sound`` is signed 16 bit in the
    machine's byte order, one channel, ``rate`` a second.
    """

    since: float
    notes: list[tuple[float, float, int]] = field(default_factory=list)
    sound: bytes = b""
    rate: int = 0

    def part(self, first: float, last: float) -> Overheard:
        """Return what was heard between two moments."""
        if not self.rate:
            return Overheard(first, [note for note in self.notes if first <= note[0] < last])
        start, stop = (max(0, round((at - self.since) * self.rate)) * 2 for at in (first, last))
        return Overheard(max(first, self.since), [], self.sound[start:stop], self.rate)
