"""How exactly the beat falls: error, drift and processor use on a real terminal.

``python -m tests.bench.bench_beat --seconds 60``. Aim: 99 % of beats within 3 ms, no drift,
under 10 % of one core. The keyboard reads a pty; ``--painting`` also writes a full screen of
text on every beat, which another process reads.
"""

from __future__ import annotations

import argparse
import os
import signal
import time
from dataclasses import dataclass

from drillbox.music.charts import Meter
from drillbox.music.pulse import Position, Pulse
from drillbox.terminal.clock import OVER, BeatClock
from drillbox.terminal.posix import Keyboard

TEMPOS = (60, 90, 120, 160, 200, 240, 300)


@dataclass(frozen=True, slots=True)
class Figures:
    """Milliseconds late at the median, at 99 % and at worst; drift in ms; share of one core."""

    beats: int
    p50: float
    p99: float
    worst: float
    drift: float
    cpu: float


def measure(tempo: int, seconds: float, *, doubled: bool = False, screen: bytes = b"") -> Figures:
    """Let a pulse run on a pty and return how late its beats came.

    Drift is the mean lateness of the last fifth less that of the first fifth.
    """
    leader, follower = os.openpty()
    reader = _read_away(leader) if screen else 0
    pulse = Pulse(Meter(4, 4), max(1, round(seconds * tempo / 240)), tempo, 1, doubled)
    late: list[float] = []
    with Keyboard(stdin=follower, stdout=follower) as keyboard:
        clock = BeatClock(keyboard, pulse)
        used, began = time.process_time(), time.monotonic()
        clock.start()
        start = clock.first_bar - float(pulse.bar_seconds * pulse.count_in_bars)
        while (event := clock.wait()) != OVER:
            if isinstance(event, Position):
                late.append(time.monotonic() - start - float(pulse.time(len(late))))
                os.write(follower, screen)
        cpu = (time.process_time() - used) / (time.monotonic() - began)
    os.close(follower)
    os.close(leader)
    if reader:
        os.kill(reader, signal.SIGTERM)
        os.waitpid(reader, 0)
    return _figures([1000 * each for each in late], cpu)


def _figures(late: list[float], cpu: float) -> Figures:
    ordered, fifth = sorted(late), max(1, len(late) // 5)
    drift = sum(late[-fifth:]) / fifth - sum(late[:fifth]) / fifth
    return Figures(
        len(late),
        ordered[len(late) // 2],
        ordered[min(len(late) - 1, int(len(late) * 0.99))],
        ordered[-1],
        drift,
        cpu,
    )


def _read_away(leader: int) -> int:
    """Fork a process that reads what is written to the terminal, as a terminal would."""
    child = os.fork()
    if child:
        return child
    try:
        while os.read(leader, 65_536):
            pass
    finally:
        os._exit(0)


def main() -> None:
    """Print one line per tempo."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--seconds", type=float, default=5.0)
    options.add_argument("--tempos", type=int, nargs="+", default=TEMPOS)
    options.add_argument("--doubled", action="store_true")
    options.add_argument("--painting", action="store_true")
    chosen = options.parse_args()
    screen = b"\x1b[H" + b"Ebm7b5 " * 500 if chosen.painting else b""
    print(" bpm  beats  p50 ms  p99 ms  worst ms  drift ms  CPU %")
    for tempo in chosen.tempos:
        each = measure(tempo, chosen.seconds, doubled=chosen.doubled, screen=screen)
        print(
            f"{tempo:4} {each.beats:6} {each.p50:7.2f} {each.p99:7.2f} {each.worst:9.2f}"
            f" {each.drift:9.3f} {100 * each.cpu:6.2f}"
        )


if __name__ == "__main__":
    main()
