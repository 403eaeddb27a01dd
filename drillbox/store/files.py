"""Files written whole or not at all, nothing overwritten unasked; and what killed programs left."""

from __future__ import annotations

import contextlib
import os
import re
import secrets
import shutil
import stat
import tempfile
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path

from drillbox.errors import BadInput, NotFound
from drillbox.store.places import is_running, realm, refuse_special, sync_folder

_MADE = r"(\d+)(?:-([0-9a-f]{8}))?"  # the maker's number, and whose processes it is one of
# SQLite keeps a journal of its own beside a copy that it makes.
_MAKER = re.compile(rf".*\.{_MADE}(?:\.[0-9a-f]+)?\.part(?:-journal|-wal|-shm)?", re.DOTALL)
_SCRATCH = re.compile(rf"drillbox-copy-{_MADE}-.+")
# Nothing of ours takes as long to be written; a process on another computer can't be asked.
_AGE = 600.0


def part_of(path: Path) -> Path:
    """Return the hidden name beside a file under which it is written, like no other name."""
    return path.with_name(f".{path.name[:100]}.{_made()}.{secrets.token_hex(8)}.part")


@contextmanager
def replacing(path: Path) -> Iterator[Path]:
    """Yield the hidden name to write a file under; it takes its place at the end, or goes."""
    part = part_of(path)
    try:
        yield part
        part.replace(path)
        sync_folder(path.parent)
    finally:
        part.unlink(missing_ok=True)


def sweep_parts(folder: Path, name: str = "") -> None:
    """Remove half written files, of ``name`` where it is given, that no program works on."""
    with contextlib.suppress(OSError):
        for each in folder.glob("*.part*"):
            made = _MAKER.fullmatch(each.name)
            if (
                made
                and each.name.lstrip(".").startswith(name[:100])
                and _left(each, *made.groups())
            ):
                each.unlink(missing_ok=True)


@contextmanager
def scratch_folder(root: Path | None = None) -> Iterator[Path]:
    """Yield a temporary folder that goes afterwards, or by the next run after a kill.

    It lies in ``root``, or else among the system's temporary files.
    """
    root = root or Path(tempfile.gettempdir())
    for each in root.glob("drillbox-copy-*"):
        made = _SCRATCH.fullmatch(each.name)
        if made and stat.S_ISDIR(each.lstat().st_mode) and _left(each, *made.groups()):
            shutil.rmtree(each, ignore_errors=True)
    with tempfile.TemporaryDirectory(prefix=f"drillbox-copy-{_made()}-", dir=root) as folder:
        yield Path(folder)


def _made() -> str:
    return f"{os.getpid()}-{realm()}"


def _left(path: Path, maker: str, among: str | None) -> bool:
    """Return whether a file is ours and its maker is gone: no longer runs here, or long ago."""
    found = path.lstat()
    if hasattr(os, "getuid") and found.st_uid != os.getuid():
        return False
    running = is_running(maker)
    if among == realm() and running is not None:
        return not running
    return not running and time.time() - found.st_mtime >= _AGE


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
    sweep_parts(place.parent, place.name)
    flags = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
    try:
        with replacing(place) as partial:
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
