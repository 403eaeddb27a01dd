"""A phrase: the idea, written down in one key."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from drillbox.music.charts import Chart
from drillbox.music.keys import Key
from drillbox.music.pitch import Pitch

LOWEST_TEMPO, HIGHEST_TEMPO = 20, 400


@dataclass(frozen=True, slots=True)
class LineNote:
    """One sounding note of the line, at concert pitch, ties already joined.

    ``onset`` and ``length`` are exact, in quarter notes from the first full bar; a pickup
    has a negative onset. A grace note has length 0. ``target`` is set where the player
    marked the note (an accent in the file) as one that the line aims at.
    """

    onset: Fraction
    length: Fraction
    pitch: Pitch
    target: bool = False


@dataclass(frozen=True, slots=True)
class Phrase:
    """A phrase in its written key. ``tempo`` is the goal in quarter notes a minute.

    ``line`` is empty where only the chart was typed in.
    """

    title: str
    key: Key
    tempo: int
    chart: Chart
    line: tuple[LineNote, ...] = ()
    double_time: bool = False
