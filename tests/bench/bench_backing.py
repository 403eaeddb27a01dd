"""How steadily the backing is fed to a device, and how soon it begins after a change.

``python -m tests.bench.bench_backing --minutes 10``. Aims: timing error p99 under 5 ms against
the clock on a null device, no piece too late for its turn, and no gap over 150 ms at a start.
The null device of miniaudio asks for its samples at their pace, and throws them away.
"""

from __future__ import annotations

import argparse
import time
from dataclasses import dataclass, field
from typing import NamedTuple

import miniaudio

from drillbox.music.pulse import Pulse
from drillbox.sound.ticks import RATE
from drillbox.terminal.device import PERIOD, Track
from drillbox.terminal.sounds import ClickChoice, DeviceClick, open_click
from tests.sound.parts import LONG

DRAWING = 0.012
"""Seconds that a screen takes; see bench_keys."""
CHOICE = ClickChoice(backing="bass-and-chords")


@dataclass
class Watched:
    """A track that writes down when each of its pieces was asked for, and how long it took."""

    track: Track
    asked: list[tuple[float, int]] = field(default_factory=list)
    took: list[float] = field(default_factory=list)

    def frames(self, start: int, count: int) -> bytes:
        """Return the piece."""
        now = time.monotonic()
        data = self.track.frames(start, count)
        self.asked.append((now, start))
        self.took.append(time.monotonic() - now)
        return data


class Figures(NamedTuple):
    """Milliseconds: timing error at 50 %, 99 % and at worst, a piece's making; pieces late."""

    p50: float
    p99: float
    worst: float
    making: float
    late: int


def click_on_a_null_device() -> DeviceClick:
    """Return a click with bass and chords on a device that throws all away."""
    click, why = open_click(CHOICE, backends=[miniaudio.Backend.NULL])
    assert isinstance(click, DeviceClick), why
    click.accompany([LONG.chart])
    return click


def steadiness(seconds: float, tempo: int = 180) -> Figures:
    """Play for so long and return how far each piece was asked for from its place in time."""
    click = click_on_a_null_device()
    watched = Watched(click.track(Pulse(LONG.chart.meter, 4, tempo, None), 0))
    click.device.start(watched)
    draw(seconds)
    click.close()
    off = sorted(at - start / RATE for at, start in watched.asked)
    middle = off[len(off) // 2]
    errors = sorted(abs(each - middle) for each in off)
    late = sum(took > PERIOD for took in watched.took)
    return Figures(
        1000 * errors[len(errors) // 2],
        1000 * errors[int(len(errors) * 0.99)],
        1000 * errors[-1],
        1000 * max(watched.took),
        late,
    )


def draw(seconds: float) -> None:
    """Be as busy meanwhile as a drill that draws a screen ten times a second."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        until = time.monotonic() + DRAWING
        while time.monotonic() < until:
            sum(range(50))
        time.sleep(0.1)


def gaps(count: int = 20) -> list[float]:
    """Return the seconds from asking for another tempo until its first sample is asked for."""
    click = click_on_a_null_device()
    found = []
    for number in range(count):
        before = time.monotonic()
        click.begin(Pulse(LONG.chart.meter, 4, 100 + number, None), 0)
        found.append(time.monotonic() - before)
        time.sleep(0.05)
    click.close()
    return sorted(found)


def main() -> None:
    """Print the figures."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--minutes", type=float, default=10)
    chosen = options.parse_args()
    found = gaps()
    median, worst = 1000 * found[len(found) // 2], 1000 * found[-1]
    print(f"start after a change: median {median:.1f} ms, worst {worst:.1f} ms")
    steady = steadiness(60 * chosen.minutes)
    print(f"{chosen.minutes:g} minutes: error p99 {steady.p99:.2f} ms, worst {steady.worst:.2f} ms")
    print(f"a piece made in {steady.making:.2f} ms at worst; {steady.late} made too late")


if __name__ == "__main__":
    main()
