"""Twenty years of practice: what each command that reads all of it takes in time and memory.

``python -m tests.bench.bench_years [PHRASES ATTEMPTS]``: 500 and 500,000 unless named.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.bench.big_store import Size

NOW = "2026-03-01T17:00:00Z"


def measured(store: Path, *words: str) -> str:
    """Run a command in a process of its own; return its seconds, those busy, its most memory."""
    code = (
        "import resource, sys; from drillbox.cli import run; code = run(sys.argv[1:]);"
        "used = resource.getrusage(resource.RUSAGE_SELF);"
        "print('@', code, used.ru_maxrss // 1024, used.ru_utime + used.ru_stime)"
    )
    began = time.perf_counter()
    ran = subprocess.run(
        [sys.executable, "-c", code, "--store", str(store), *words],
        capture_output=True, text=True, check=False, env={"DRILLBOX_NOW": NOW, "TZ": "UTC"},
    )  # fmt: skip
    seconds = time.perf_counter() - began
    if "@" not in ran.stdout:
        return f"{seconds:6.1f} s  failed: {ran.stderr[-200:]}"
    code, megabytes, busy = ran.stdout.rsplit("@", 1)[1].split()
    return f"{seconds:6.1f} s, of it {float(busy):5.1f} busy {megabytes:>6} MB  exit {code}"


def main() -> None:
    """Make the store and print a line for each command."""
    size = Size(*map(int, sys.argv[1:3])) if len(sys.argv) > 2 else Size(500, 500_000)
    with tempfile.TemporaryDirectory() as folder:
        store = Path(folder) / "years.sqlite3"
        # Not here: what a process took most is told of those that it starts, too.
        words = [sys.executable, "-m", "tests.bench.big_store", str(store)]
        subprocess.run([*words, str(size.phrases), str(size.attempts)], check=True)
        print(f"{store.stat().st_size / 1e6:.0f} MB, {size.phrases} phrases, {size.attempts}")
        other = Path(folder) / "other.sqlite3"
        export = str(Path(folder) / "out")
        for words in (
            # First: the store was made by bulk, so that its keys don't stand as its ratings say.
            ["store", "check", "--fix"], ["store", "export", export], ["progress"], ["progress"],
            ["report", "--out", f"{folder}/r.html"], ["summary"], ["fit"], ["store", "check"],
            ["settings", "tempo_step", "0.06"], ["settings", "instrument", "tenor sax"],
        ):  # fmt: skip
            print(f"{' '.join(words[:2]):20} {measured(store, *words)}", flush=True)
        print(f"{'store import':20} {measured(other, 'store', 'import', export)}")
        print(f"{'again':20} {measured(other, 'store', 'import', export)}")


if __name__ == "__main__":
    main()
