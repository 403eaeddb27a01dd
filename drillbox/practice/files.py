"""Files that a player asks for: nothing overwritten unasked, and never one half written."""

from __future__ import annotations

import os
from pathlib import Path

from drillbox.errors import BadInput, NotFound


def check_place(place: Path, *, example: str, force: bool) -> None:
    """Raise BadInput where a file would overwrite one without ``force``, or can't be one.

    Raises NotFound where its folder isn't there. ``example`` is a file name to propose.
    """
    if place.is_dir():
        raise BadInput(f"{place} is a folder", f"Name a file in it, such as {example}")
    if not place.absolute().parent.is_dir():
        raise NotFound(f"There is no folder {place.parent}", "Make it first, or name another")
    if place.exists() and not force:
        raise BadInput(f"{place} exists already", "Name another file, or overwrite with --force")


def write_whole(place: Path, data: bytes) -> None:
    """Write a file so that it is there whole or not at all; raise BadInput where it can't be."""
    partial = place.with_name(f".{place.name[:100]}.{os.getpid()}.part")
    try:
        with partial.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        partial.replace(place)
    except OSError as problem:
        raise BadInput(
            f"{place} can't be written: {problem.strerror}", "Name another place"
        ) from problem
    finally:
        partial.unlink(missing_ok=True)
