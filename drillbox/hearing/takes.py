"""What was heard of one attempt, as notes in seconds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Ear = Literal["midi", "microphone"]


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
    """Where the written beat lay: quarter 0 at ``start`` seconds, ``quarter`` seconds each."""

    start: float
    quarter: float

    def at(self, onset: float) -> float:
        """Return when an onset in quarter notes falls, in seconds."""
        return self.start + onset * self.quarter


@dataclass(frozen=True, slots=True)
class Take:
    """An attempt as heard; ``beat`` is the click's, None where the player kept their own time."""

    notes: tuple[Played, ...]
    ear: Ear
    beat: Beat | None = None
