"""A report to look at or to hand to a teacher: gathered here, written as one file."""

from __future__ import annotations

import os
import tempfile
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from drillbox.errors import BadInput, NotFound, StoreFailure
from drillbox.practice.preferences import Preferences
from drillbox.practice.progress import Tick, Week, progress
from drillbox.practice.summing import Summary, summary
from drillbox.store.opening import Store


@dataclass(frozen=True, slots=True)
class Report:
    """What a report shows: the summary of all phrases in practice, and the latest weeks."""

    summary: Summary
    weeks: tuple[Week, ...]


def gather(
    store: Store,
    preferences: Preferences,
    now: datetime,
    weeks: int,
    tick: Tick = lambda _done, _all: None,
) -> Report:
    """Return what the report shows; ``tick`` hears of cards replayed, as in ``progress``."""
    return Report(summary(store, preferences, now), progress(store, preferences, now, weeks, tick))


def check_place(place: Path, *, force: bool) -> None:
    """Raise BadInput where the file can't be written, or would overwrite one without ``force``."""
    if place.is_dir():
        raise BadInput(f"{place} is a folder", "Name a file in it, such as report.html")
    if not place.absolute().parent.is_dir():
        raise NotFound(f"There is no folder {place.parent}", "Make it first, or name another")
    if place.exists() and not force:
        raise BadInput(f"{place} exists already", "Name another file, or overwrite with --force")


def write_whole(place: Path, text: str) -> None:
    """Write a text file so that it is there whole or not at all; raise StoreFailure if it can't."""
    written = None
    try:
        with tempfile.NamedTemporaryFile(
            "w", encoding="utf-8", newline="\n", dir=place.absolute().parent,
            prefix=f".{place.name}-", delete=False,
        ) as file:  # fmt: skip
            written = Path(file.name)
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        written.chmod(0o666 & ~_umask())  # a temporary file is for its owner alone; this is not
        written.replace(place)
    except OSError as problem:
        if written:
            written.unlink(missing_ok=True)
        raise StoreFailure(
            f"The report can't be written to {place}: {problem.strerror}", "Name another place"
        ) from problem


def _umask() -> int:
    """Return the mask for new files; it can only be read by setting it."""
    mask = os.umask(0o077)
    os.umask(mask)
    return mask
