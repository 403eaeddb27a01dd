"""Files that a player asks for: nothing overwritten unasked, and never one half written."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path

from drillbox.errors import BadInput, NotFound
from drillbox.store.litter import sweep, whole
from drillbox.store.places import refuse_special


def check_place(place: Path, *, example: str, force: bool) -> None:
    """Raise BadInput where a file would overwrite one without ``force``, or can't be one.

    Raises NotFound where its folder isn't there. ``example`` is a file name to propose.
    """
    if place.is_dir():
        raise BadInput(f"{place} is a folder", f"Name a file in it, such as {example}")
    if not place.absolute().parent.is_dir():
        raise NotFound(f"There is no folder {place.parent}", "Make it first, or name another.")
    refuse_unplain(place)
    if place.exists() and not force:
        raise BadInput(f"{place} exists already", "Name another file, or overwrite with --force.")


def refuse_unplain(place: Path) -> None:
    """Raise BadInput where a link, a pipe or a device stands in the place of a file."""
    if place.is_symlink():
        raise BadInput(f"{place} is a link", "Name the file that it leads to, or another.")
    refuse_special(place)


def write_whole(place: Path, data: bytes | Iterable[bytes], *, private: bool = False) -> None:
    """Write a file so that it is there whole or not at all; raise BadInput where it can't be.

    ``data`` may come in parts, which are never all in memory. ``private``: only the player may
    read it. It is written under a name that nobody can have put there before, and through no
    link.
    """
    sweep(place.parent, place.name)
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    try:
        with whole(place) as partial:
            handle = os.open(partial, flags, 0o600 if private else 0o666)
            with os.fdopen(handle, "wb") as file:
                for part in (data,) if isinstance(data, bytes) else data:
                    file.write(part)
                file.flush()
                os.fsync(handle)
    except OSError as problem:
        raise BadInput(
            f"{place} can't be written: {problem.strerror}", "Name another place."
        ) from problem
