"""How long the player waits for a first screen, against what the imports alone take.

``python -m tests.bench.bench_start`` builds a store of 100 phrases × 12 keys with 100,000
attempts and prints medians of whole processes and their ratios, taken in turn in one run. All
of them run on modules compiled before, as after an installation.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

from tests.bench.big_store import Size, build

RUNS = 15
IMPORTS = "import typer, rich.console, rich.table, sqlmodel, fsrs"


def seconds(words: list[str], compiled: Path) -> float:
    """Return the wall seconds of one process that keeps its compiled modules there."""
    env = os.environ | {"PYTHONPYCACHEPREFIX": str(compiled), "PYTHONDONTWRITEBYTECODE": ""}
    began = time.perf_counter()
    subprocess.run(words, stdin=subprocess.DEVNULL, capture_output=True, check=True, env=env)
    return time.perf_counter() - began


def main() -> None:
    """Time each command in turn and print the table."""
    with tempfile.TemporaryDirectory() as folder:
        place = build(Path(folder) / "big.sqlite3", Size())
        product = [sys.executable, "-m", "drillbox", "--store", str(place)]
        commands = {
            "python -c pass": [sys.executable, "-c", "pass"],
            "the imports alone": [sys.executable, "-c", IMPORTS],
            "drillbox --help": [*product, "--help"],
            "drill to its first screen": [*product, "drill"],
            "summary": [*product, "summary"],
        }
        times: dict[str, list[float]] = {name: [] for name in commands}
        for run in range(RUNS + 1):
            for name, words in commands.items():
                taken = seconds(words, Path(folder) / "compiled")
                if run:  # the first round compiles, and warms caches
                    times[name].append(taken)
    imports = median(times["the imports alone"])
    nothing = median(times["python -c pass"])
    print(f"{'command':<28}{'ms':>8}{'x pass':>9}{'x imports':>11}")
    for name, found in times.items():
        middle = median(found)
        print(f"{name:<28}{middle * 1000:>8.0f}{middle / nothing:>9.1f}{middle / imports:>11.2f}")


if __name__ == "__main__":
    main()
