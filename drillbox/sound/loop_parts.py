"""What a practice loop is made of: its parts, the player's choices, and where all of it lies.

Swing lays a line's eighths in time; they alone swing, everything else is as written. A swung beat
is long-short. The ratio of the two is set by name, and the tempo bounds it: at fast tempos the
short note stays at about a tenth of a second, so that eighths come out ever more even (Friberg &
Sundström, "Swing Ratios and Ensemble Timing in Jazz Performance", 2002).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from drillbox.errors import BadInput
from drillbox.music.charts import Chart, Meter
from drillbox.music.chords import Chord
from drillbox.music.phrases import HIGHEST_TEMPO, LOWEST_TEMPO, LineNote
from drillbox.music.pulse import CountedBeats, Pulse

LONGEST = 30 * 60
"""Seconds: a longer file is refused, as it would fill the memory before the disk."""


@dataclass(frozen=True, slots=True)
class LoopPart:
    """A chart as played once through; a round of twelve keys is a sequence of twelve parts.

    ``key_text`` is as ``Key.text`` gives it (``Bb``, ``Cm``); both texts may be empty. ``cues``
    say what is to be played from a place on: when that is, in quarter notes from the part's
    beginning, and in words. ``line`` is at concert pitch, as it is to sound. ``mark`` names a part
    that isn't one of the loops in its key: an intro, a coda.
    """

    chart: Chart
    key_text: str = ""
    title: str = ""
    cues: tuple[tuple[Fraction, str], ...] = ()
    line: tuple[LineNote, ...] = ()
    mark: str = ""


@dataclass(frozen=True, slots=True)
class LoopOptions:
    """The player's choices. ``tempo`` is in written quarter notes a minute.

    The whole sequence of parts is played ``loops`` times. ``doubled``: click and bass move
    twice as fast while the changes keep their pace. ``clicks`` None leaves the count-in only,
    ``bass`` None no bass.
    """

    tempo: int
    loops: int = 2
    doubled: bool = False
    clicks: CountedBeats | None = "every"
    bass: Literal["plain", "walking"] | None = "plain"
    chords: bool = True


@dataclass(frozen=True, slots=True)
class Held:
    """A chord (None: silence) from ``start`` for ``length``, in quarters from the first bar."""

    start: Fraction
    length: Fraction
    chord: Chord | None


@dataclass(frozen=True, slots=True)
class Layout:
    """Where everything lies, in exact quarter notes.

    ``count_in``: its length. ``once``: that of all parts played once. ``starts``: where each
    part begins and ``held`` what is held, both within one time through.
    """

    pulse: Pulse
    count_in: Fraction
    once: Fraction
    starts: tuple[Fraction, ...]
    held: tuple[Held, ...]

    @property
    def total(self) -> Fraction:
        """Return the length of count-in and all loops in quarter notes."""
        return self.count_in + self.once * (self.pulse.loops or 0)

    def seconds(self, quarters: Fraction) -> Fraction:
        """Return how long so many quarter notes last, exactly."""
        return quarters * 60 / self.pulse.tempo


def lay_out(
    parts: Sequence[LoopPart], options: LoopOptions, *, longest: int | None = LONGEST
) -> Layout:
    """Return where the parts lie one after another; ``longest`` in seconds is for a file.

    Raises BadInput for a tempo or number of loops out of bounds or a loop of more than half
    an hour, ValueError for no parts or parts in different meters.
    """
    meter = _one_meter(parts)
    if not LOWEST_TEMPO <= options.tempo <= HIGHEST_TEMPO:
        raise BadInput(
            f"The tempo {options.tempo} is out of range",
            f"Choose one from {LOWEST_TEMPO} to {HIGHEST_TEMPO}.",
        )
    if options.loops < 1:
        raise BadInput(f"{options.loops} loops is nothing to play along with", "Ask for 1 or more.")
    starts: list[Fraction] = []
    held: list[Held] = []
    at = Fraction(0)
    for part in parts:
        starts.append(at)
        held += [Held(at + start, span.length, span.chord) for start, span in part.chart.spans()]
        at += part.chart.length
    bars = sum(len(part.chart.bars) for part in parts)
    pulse = Pulse(meter, bars, options.tempo, options.loops, options.doubled)
    layout = Layout(pulse, meter.bar * pulse.count_in_bars, at, tuple(starts), tuple(held))
    if longest:
        refuse_longer(layout.total, options.tempo, longest)
    return layout


def refuse_longer(quarters: Fraction, tempo: int, longest: int = LONGEST) -> None:
    """Raise BadInput where so many quarter notes last more seconds than a file may."""
    seconds = int(quarters * 60 / tempo)
    if quarters * 60 > longest * tempo:
        raise BadInput(
            f"This loop would last {seconds // 60}:{seconds % 60:02} min at {tempo}",
            f"Ask for fewer loops: {longest // 60} minutes are the most.",
        )


def _one_meter(parts: Sequence[LoopPart]) -> Meter:
    meters = {part.chart.meter for part in parts}
    if len(meters) != 1 or not all(part.chart.bars for part in parts):
        raise ValueError("a loop needs parts with bars, all in one meter")
    return meters.pop()


Swing = Literal["even", "light", "triplet"]
RATIOS: dict[str, Fraction] = {
    "even": Fraction(1),
    "light": Fraction(3, 2),
    "triplet": Fraction(2),
}
"""Long over short: 1:1, 3:2 and the written-out triplet 2:1 (common practice)."""
SHORTEST = Fraction(1, 10)  # seconds
_HALF = Fraction(1, 2)


def swing_ratio(swing: Swing, tempo: int, meter: Meter, *, double_time: bool = False) -> Fraction:
    """Return long over short at a tempo in quarter notes a minute, 1 or more.

    1 (even) in double time and in meters whose beat isn't a quarter note.
    """
    if double_time or meter.beat != 1:
        return Fraction(1)
    most = Fraction(60, tempo) / SHORTEST - 1
    return max(Fraction(1), min(RATIOS[swing], most))


def swung(line: Sequence[LineNote], ratio: Fraction) -> list[LineNote]:
    """Return the line with its off-beat eighths moved; a beat with other divisions stays.

    The first half of a swung beat is stretched and the second one shortened, with all that ends
    in them.
    """
    straight = set(_divided(line))
    late = ratio / (1 + ratio)

    def moved(at: Fraction) -> Fraction:
        beat, within = divmod(at, 1)
        if beat in straight:
            return at
        long, short = min(within, _HALF) * late, max(Fraction(0), within - _HALF) * (1 - late)
        return beat + (long + short) / _HALF

    found = []
    for note in line:
        onset, end = moved(note.onset), moved(note.onset + note.length)
        found.append(replace(note, onset=onset, length=end - onset))
    return found


def _divided(line: Iterable[LineNote]) -> Iterable[int]:
    """Yield the beats in which a note begins anywhere but on the beat or half-way to the next."""
    for note in line:
        beat, within = divmod(note.onset, 1)
        if within not in {0, _HALF}:
            yield int(beat)
