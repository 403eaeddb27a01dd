"""Progress of what takes longer than a second, on standard error."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from drillbox.output import drawing

if TYPE_CHECKING:
    from rich.progress import Progress

PATIENCE = 1.0  # seconds that need no words


@contextmanager
def waiting(what: str) -> Iterator[Callable[[int, int], None]]:
    """Yield a function that shows on a terminal how much of the work is done.

    Where standard error is none, a line every ten seconds says that work goes on.
    """
    shown = _Shown(what)
    try:
        yield shown.tick
    finally:
        shown.close()


class _Shown:
    def __init__(self, what: str) -> None:
        self._what = what
        self._next = time.monotonic() + PATIENCE
        self._bar: Progress | None = None

    def tick(self, done: int, of: int) -> None:
        if time.monotonic() < self._next:
            return
        if sys.stderr.isatty():
            self._next = time.monotonic() + 0.1
            self._draw(done, of)
        else:
            self._next = time.monotonic() + 10
            print(f"{self._what}: {100 * done // max(1, of)} %", file=sys.stderr)

    def _draw(self, done: int, of: int) -> None:
        if self._bar is None:
            from rich.console import Console  # only for those who wait
            from rich.progress import Progress

            # Drawn by hand: a separate thread would draw beside what is printed.
            console = Console(file=drawing(sys.stderr))
            self._bar = Progress(console=console, auto_refresh=False, transient=True)
            self._bar.start()
            self._bar.add_task(self._what)
        self._bar.update(self._bar.task_ids[0], completed=done, total=max(1, of))
        self._bar.refresh()

    def close(self) -> None:
        """Take the bar away."""
        if self._bar is not None:
            self._bar.stop()
