"""The beat running through a chart: pure arithmetic, no clock."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from drillbox.music.charts import Chart, Meter, counted_beats

CountedBeats = Literal["every", "2-and-4", "bar"]
"""Which beats are clicked: every one, the even ones, or the first of each bar."""
CLICK_HERTZ = {"accent": 1760.0, "plain": 1175.0}
"""The pitch of each click, above most lines: it is sounded so, and kept out of what is heard."""
SHORTEST_COUNT_IN = Fraction(3, 2)
"""Seconds: where one bar is over sooner (4/4 above 160), two bars are counted in."""


@dataclass(frozen=True, slots=True)
class Position:
    """Where a beat falls. ``bar`` and ``beat`` are counted from 0.

    In the count-in ``bar`` counts its own bars and ``loop`` is the loop to come.
    """

    count_in: bool
    loop: int
    bar: int
    beat: int


@dataclass(frozen=True, slots=True)
class Pulse:
    """The beats of ``loops`` times ``bars`` bars after a count-in; None: until stopped.

    ``tempo`` is in written quarter notes a minute. ``doubled`` makes the beat twice as fast
    while the bars last as long as before: the changes keep their pace (double-time feel).
    """

    meter: Meter
    bars: int
    tempo: int
    loops: int | None
    doubled: bool = False

    @property
    def beats_in_bar(self) -> int:
        """Return how many beats are counted in one written bar; see ``counted_beats``."""
        return counted_beats(self.meter) * (2 if self.doubled else 1)

    @property
    def beat_seconds(self) -> Fraction:
        """Return the exact length of one counted beat in seconds."""
        return self.bar_seconds / self.beats_in_bar

    @property
    def bar_seconds(self) -> Fraction:
        """Return the exact length of one written bar in seconds."""
        return self.meter.bar * 60 / self.tempo

    @property
    def count_in_bars(self) -> int:
        """Return 1, or 2 where one bar leaves too little time to lift the hands."""
        return 2 if self.bar_seconds < SHORTEST_COUNT_IN else 1

    @property
    def beats(self) -> int | None:
        """Return the number of all beats, count-in included; None without an end."""
        if self.loops is None:
            return None
        return (self.count_in_bars + self.bars * self.loops) * self.beats_in_bar

    def time(self, number: int) -> Fraction:
        """Return when beat ``number`` (from 0) falls, in seconds from the first one, exactly.

        Multiplied, never added up, so that no error builds up; ``time(beats)`` is the end.
        """
        return number * self.beat_seconds

    def at(self, number: int) -> Position:
        """Return where beat ``number`` falls; raises ValueError outside of the loops."""
        if number < 0 or (self.beats is not None and number >= self.beats):
            raise ValueError(f"there is no beat {number}")
        bar, beat = divmod(number, self.beats_in_bar)
        bar -= self.count_in_bars
        if bar < 0:
            return Position(True, 0, bar + self.count_in_bars, beat)
        loop, bar = divmod(bar, self.bars)
        return Position(False, loop, bar, beat)

    def positions(self) -> Iterator[tuple[int, Position]]:
        """Yield every beat's number and position in turn, without end where there is none."""
        number = 0
        while self.beats is None or number < self.beats:
            yield number, self.at(number)
            number += 1


def pulse_of(chart: Chart, tempo: int, *, loops: int | None = 2, doubled: bool = False) -> Pulse:
    """Return the pulse of a chart at a tempo in quarter notes a minute."""
    return Pulse(chart.meter, len(chart.bars), tempo, loops, doubled)


def clicked(position: Position, which: CountedBeats) -> Literal["accent", "plain"] | None:
    """Return how a beat is clicked, or None where it is silent.

    The count-in is always clicked in full. The first beat of each written bar is accented.
    In double time the beats counted are the doubled ones, so that 2 and 4 fall between the
    written beats, and the bar's first beat still marks where the changes are.
    """
    heard = position.count_in or which == "every"
    if which == "2-and-4":
        heard = heard or position.beat % 2 == 1
    elif which == "bar":
        heard = heard or position.beat == 0
    if not heard:
        return None
    return "accent" if position.beat == 0 else "plain"
