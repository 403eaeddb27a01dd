"""From a key press to the next screen, the write included, through a real terminal.

``python -m tests.bench.bench_keys``. Aim: 95 % within 50 ms on a store of 100 phrases and
100,000 attempts. A rating is sent to a drill on a pty; the clock runs from the key until the
whole next screen has been read. ``--beat`` rates while the beat runs.
"""

from __future__ import annotations

import argparse
import fcntl
import os
import select
import struct
import sys
import tempfile
import termios
import time
from dataclasses import dataclass
from pathlib import Path

from tests.bench.big_store import Size, build

QUIET = 0.02  # seconds without output after which a screen is taken for whole


@dataclass(frozen=True, slots=True)
class Figures:
    """Milliseconds from key to screen at the median, at 95 % and at worst."""

    keys: int
    p50: float
    p95: float
    worst: float


def measure(
    place: Path, keys: str, *, size: tuple[int, int] = (24, 80), beat: bool = False
) -> Figures:
    """Press keys one after another in a drill over a store and return how long each took."""
    child, terminal = _spawn(place, size)
    try:
        _answer(terminal, first=5.0)
        took = []
        for key in keys:
            if beat:
                os.write(terminal, b" ")
                _answer(terminal, first=5.0)
            pressed = time.monotonic()
            os.write(terminal, key.encode())
            took.append(1000 * (_answer(terminal, first=5.0) - pressed))
            time.sleep(0.05)  # a player needs longer, and the disk is left to settle
        os.write(terminal, b"q")
        _read_away(terminal)
    finally:
        os.close(terminal)
        os.waitpid(child, 0)
    ordered = sorted(took)
    return Figures(len(took), ordered[len(took) // 2], ordered[int(len(took) * 0.95)], ordered[-1])


def _spawn(place: Path, size: tuple[int, int]) -> tuple[int, int]:
    """Start a drill on a pty and return its process and the pty's other side."""
    child, terminal = os.forkpty()
    if not child:
        for name in ("COLUMNS", "LINES", "DRILLBOX_NOW"):
            os.environ.pop(name, None)
        os.environ["TERM"] = "xterm-256color"
        fcntl.ioctl(1, termios.TIOCSWINSZ, struct.pack("HHHH", *size, 0, 0))
        words = ["-m", "drillbox", "--store", str(place), "drill", "--minutes", "240"]
        os.execv(sys.executable, [sys.executable, *words])
    return child, terminal


def _answer(terminal: int, first: float) -> float:
    """Read one screen: all that comes until it is quiet; return when the last of it came."""
    wait, last = first, time.monotonic()
    while select.select([terminal], [], [], wait)[0]:
        if not os.read(terminal, 65_536):
            break
        wait, last = QUIET, time.monotonic()
    return last


def _read_away(terminal: int) -> None:
    """Read until the other side is closed."""
    try:
        while os.read(terminal, 65_536):
            pass
    except OSError:  # EIO: closed
        return


def main() -> None:
    """Print one line per way to drill."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--keys", type=int, default=100)
    options.add_argument("--store", type=Path, help="a store made by tests.bench.big_store")
    chosen = options.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        place = chosen.store or build(Path(folder) / "big.sqlite3", Size())
        keys = "cfrl" * (chosen.keys // 4)
        print("                     keys  p50 ms  p95 ms  worst ms")
        for name, size, beat in (
            ("80 x 24", (24, 80), False),
            ("120 x 40", (40, 120), False),
            ("80 x 24, beat runs", (24, 80), True),
        ):
            found = measure(place, keys, size=size, beat=beat)
            print(f"{name:20} {found.keys:5} {found.p50:7.1f} {found.p95:7.1f} {found.worst:9.1f}")


if __name__ == "__main__":
    main()
