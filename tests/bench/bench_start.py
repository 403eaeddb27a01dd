"""How long the player waits for a first screen, against what the imports alone take.

``python -m tests.bench.bench_start`` builds a store of 100 phrases × 12 keys with 100,000
attempts and prints medians and their ratios, taken in turn in one run: in a terminal of 80
columns, from the command to the last line of the drill's first screen, and to the end of the
imports; through a pipe, whole processes. All of them run on modules compiled before, as after an
installation.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from statistics import median

import pexpect

from tests.bench.big_store import Size, build

RUNS = 15
IMPORTS = "import typer, rich.console, rich.table, sqlmodel, fsrs"
SAID = "imported"  # in the terminal once all of these are


def until_shown(words: list[str], env: dict[str, str], last: str) -> float:
    """Return the wall seconds from starting a program in a terminal to a text on its screen."""
    began = time.perf_counter()
    child: pexpect.spawn[bytes] = pexpect.spawn(
        words[0], words[1:], env=env | {"TERM": "xterm-256color"}, dimensions=(24, 80)
    )
    child.expect_exact(last.encode())
    taken = time.perf_counter() - began
    child.close(force=True)
    return taken


def until_ended(words: list[str], env: dict[str, str]) -> float:
    """Return the wall seconds of a whole process without a terminal."""
    began = time.perf_counter()
    subprocess.run(words, stdin=subprocess.DEVNULL, capture_output=True, check=True, env=env)
    return time.perf_counter() - began


def main() -> None:
    """Time each command in turn and print the table."""
    with tempfile.TemporaryDirectory() as folder:
        place = build(Path(folder) / "big.sqlite3", Size())
        compiled = {"PYTHONPYCACHEPREFIX": f"{folder}/compiled", "PYTHONDONTWRITEBYTECODE": ""}
        env = dict(os.environ) | compiled
        python = sys.executable
        imports = [python, "-c", f"{IMPORTS}; print('{SAID}', flush=True)"]
        drillbox = [python, "-m", "drillbox", "--store", str(place)]
        measured: dict[str, Callable[[], float]] = {
            "the imports alone": partial(until_shown, imports, env, SAID),
            "a drill's first screen": partial(until_shown, [*drillbox, "drill"], env, "stop"),
            "the imports, whole": partial(until_ended, [python, "-c", IMPORTS], env),
            "a drill without input, whole": partial(until_ended, [*drillbox, "drill"], env),
            "drillbox --help, whole": partial(until_ended, [*drillbox, "--help"], env),
            "summary, whole": partial(until_ended, [*drillbox, "summary"], env),
        }
        times: dict[str, list[float]] = {name: [] for name in measured}
        for run in range(RUNS + 1):
            for name, measure in measured.items():
                taken = measure()
                if run:  # the first round compiles, and warms caches
                    times[name].append(taken)
    shown, whole = (median(times[name]) for name in ("the imports alone", "the imports, whole"))
    print(f"{'what':<30}{'ms':>8}{'x imports':>11}")
    for name, found in times.items():
        middle = median(found)
        against = whole if name.endswith("whole") else shown
        print(f"{name:<30}{middle * 1000:>8.0f}{middle / against:>11.2f}")


if __name__ == "__main__":
    main()
