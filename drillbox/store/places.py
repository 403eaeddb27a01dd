"""Where a store's file really lies, and what may lie there."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from drillbox.errors import BadInput


def real(path: Path | str) -> Path:
    """Return the file that a path leads to, absolute and through every link.

    SQLite keeps its WAL beside that file and not beside a link to it. Raises BadInput for a
    pipe, a device or a socket, which would be waited on for ever.
    """
    found = Path(os.path.realpath(Path(path).expanduser()))
    refuse_special(found)
    return found


def refuse_special(path: Path) -> None:
    """Raise BadInput where a pipe, a device or a socket stands at ``path``."""
    try:
        mode = path.stat().st_mode
    except (OSError, ValueError):
        return  # what isn't there, or can't be looked at, is told by who opens it
    if not (stat.S_ISREG(mode) or stat.S_ISDIR(mode)):
        raise BadInput(f"{path} isn't a plain file", "Name a plain file, or one that isn't there.")


def sync_folder(folder: Path) -> None:
    """Wait until a folder's entries are on disk, where the system can say so."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:  # Windows opens no folder
        return
    try:
        os.fsync(handle)
    except OSError:
        pass  # some network drives can't
    finally:
        os.close(handle)


def beside(path: Path, end: str) -> Path:
    """Return the file that SQLite keeps next to a store under the ending ``-wal`` and such."""
    return path.with_name(path.name + end)


def default_location() -> Path:
    """Return where a player's store lies by default on this platform."""
    from platformdirs import user_data_path  # not where --store names one

    return user_data_path("drillbox") / "drillbox.sqlite3"
