"""Where a store's file really lies, what may lie there, and which process has it open."""

from __future__ import annotations

import os
import stat
from pathlib import Path
from zlib import crc32

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


def host() -> str:
    """Return this computer's name."""
    return os.uname().nodename if hasattr(os, "uname") else os.environ.get("COMPUTERNAME", "")


def realm() -> str:
    """Return eight digits for the computer or container whose processes ``runs`` asks."""
    try:
        namespace = Path("/proc/self/ns/pid").stat().st_ino
    except OSError:
        namespace = 0
    return f"{crc32(f'{host()} {namespace}'.encode()):08x}"


def this_process() -> str:
    """Return what tells this process from any other on this computer: see ``named``."""
    return named(os.getpid())


def named(pid: int) -> str:
    """Return a process's number, and where the system tells it (Linux) when it began.

    Numbers are reused, after a restart above all; with the beginning it is one process.
    """
    began = _began(pid)
    return f"{pid}:{began}" if began else str(pid)


def same_process(process: str) -> bool:
    """Return whether ``named`` said when the process began, so that no other is taken for it."""
    return ":" in process


def runs(process: str) -> bool | None:
    """Return whether the process of that name runs on this computer; None for not known."""
    number, _, began = process.partition(":")
    if began:
        return _began(int(number)) == began
    if os.name == "nt":
        return None  # there a signal of 0 would end the process
    try:
        os.kill(int(number), 0)
    except (ProcessLookupError, OverflowError, ValueError):
        return False
    except OSError:
        return True  # it runs, as somebody else
    return True


def _began(pid: int) -> str | None:
    """Return when a process began, in ticks since the system's start (proc(5), field 22)."""
    try:
        stat = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8", errors="replace")
    except OSError:
        return None
    fields = stat.rpartition(")")[2].split()
    # A zombie has ended, though its parent hasn't asked for its end yet.
    return fields[19] if len(fields) > 19 and fields[0] not in "ZX" else None
