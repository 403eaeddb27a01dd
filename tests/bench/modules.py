"""How many modules of the product one typed chart, one rating and one summary pass through.

Run: ``python -m tests.bench.modules``; with ``--names`` it lists them. A module counts where one
of its functions ran. What runs while modules are imported doesn't count, nor what says that there
is a command, nor the making of the store, which another phrase has made before.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import os
import sys
import tempfile
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from types import FrameType

from drillbox.cli import run
from drillbox.memory.recall import Recall
from drillbox.practice.drilling import Drill
from drillbox.practice.preferences import preferences_from
from drillbox.store.opening import open_store

NOW = datetime(2026, 3, 2, 18, tzinfo=UTC)

ADD = ["add", "--chart", "Cm7 F7 | Bbmaj7 (G7)", "--key", "Bb", "--tempo", "120", "--title"]
WALKS = {
    "a typed chart": ([*ADD, "Tin gate"], ""),
    "a drill of one rating": (["drill"], "clean\nquit\n"),
    "a summary": (["summary"], ""),
}


def passed(work: Callable[[], object]) -> set[str]:
    """Return the modules of the product whose functions run in some work."""
    seen: set[str] = set()
    importing = 0

    def look(frame: FrameType, event: str, _: object) -> None:
        nonlocal importing
        if frame.f_code.co_name == "<module>":
            importing += {"call": 1, "return": -1}.get(event, 0)
        elif event == "call" and not importing and frame.f_code.co_name != "register":
            name = frame.f_globals.get("__name__", "")
            if name.startswith("drillbox."):
                seen.add(name.removeprefix("drillbox."))

    sys.setprofile(look)
    try:
        work()
    finally:
        sys.setprofile(None)
    return seen


def walked(words: list[str], typed: str) -> set[str]:
    """Return the modules that a command passes, given what is typed."""
    sys.stdin = io.StringIO(typed)
    with (
        contextlib.redirect_stdout(io.StringIO()),
        contextlib.redirect_stderr(io.StringIO()) as said,
    ):
        codes = []
        found = passed(lambda: codes.append(run(words)))
    assert codes == [0], said.getvalue()
    return found


def main() -> None:
    """Walk, and print how many modules each walk passed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--names", action="store_true", help="list the modules")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        os.environ["DRILLBOX_STORE"] = str(Path(folder) / "store.sqlite3")
        walked([*ADD, "Oak stairs"], "")
        found = {name: walked(*walk) for name, walk in WALKS.items()}
        with open_store(Path(folder) / "store.sqlite3", now=NOW, backups=False) as store:
            drill = Drill(store, preferences_from({}), minutes=10, now=NOW)
            found["a rating, stored, and the next card"] = passed(
                lambda: drill.rate(Recall.CLEAN, NOW)
            )
    for name, modules in found.items():
        print(f"{name}: {len(modules)} modules")
        if asked.names:
            print("   ", *sorted(modules))


if __name__ == "__main__":
    main()
