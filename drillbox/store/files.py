"""Files: where a store and its backups lie, which program works on them, each written whole.

Which backups there are is told by the names of their files. A file is there whole or not at all,
nothing is overwritten unasked, and what killed programs left is swept.
"""

from __future__ import annotations

import os
import re
import stat
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from zlib import crc32

from drillbox.errors import BadInput, NotFound

# The maker's number, and whose processes it is one of. No process has as many digits as the
# random part of a name, which may be digits alone.
_MADE = r"(\d{1,10})(?:-([0-9a-f]{8}))?"
# SQLite keeps a journal of its own beside a copy that it makes.
_MAKER = re.compile(rf".*\.{_MADE}(?:\.[0-9a-f]+)?\.part(?:-journal|-wal|-shm)?", re.DOTALL)
_SCRATCH = re.compile(rf"drillbox-copy-{_MADE}-.+")
# Nothing of ours takes as long to be written; a process on another computer can't be asked.
_AGE = 600.0


def real_path(path: Path | str) -> Path:
    """Return the file that a path leads to, absolute and through every link.

    SQLite keeps its WAL beside that file and not beside a link to it. Raises BadInput for a
    pipe, a device or a socket, which would be waited on for ever.
    """
    with looking_at(path):
        found = Path(os.path.realpath(from_home(path)))
    refuse_special(found)
    return found


def from_home(path: Path | str) -> Path:
    """Return a path with ``~`` or ``~user`` as the home that it is, or as it is for no such one."""
    return Path(os.path.expanduser(path))  # noqa: PTH111 - a Path raises RuntimeError for no home


@contextmanager
def looking_at(path: Path | str, remedy: str = "Name another place.") -> Iterator[None]:
    """Raise BadInput where the system won't say what stands at ``path``: a folder on the way may
    not be entered, its name is too long, or the working folder is gone."""
    try:
        yield
    except OSError as problem:
        what = f"{str(path)!r:.80} can't be looked at: {problem.strerror}"
        raise BadInput(what, remedy) from problem


def refuse_special(path: Path) -> None:
    """Raise BadInput where a pipe, a device or a socket stands at ``path``."""
    try:
        mode = path.stat().st_mode
    except (OSError, ValueError):
        return  # what isn't there, or can't be looked at, is told by who opens it
    if not (stat.S_ISREG(mode) or stat.S_ISDIR(mode)):
        raise BadInput(f"{path} isn't a plain file", "Name a plain file, or one that isn't there.")


def sync_file(path: Path) -> None:
    """Wait until a file's bytes are on disk."""
    handle = os.open(path, os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


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


def host_name() -> str:
    """Return this computer's name."""
    return os.uname().nodename if hasattr(os, "uname") else os.environ.get("COMPUTERNAME", "")


def realm() -> str:
    """Return eight digits for the computer or container whose processes ``is_running`` asks."""
    try:
        namespace = Path("/proc/self/ns/pid").stat().st_ino
    except OSError:
        namespace = 0
    return f"{crc32(f'{host_name()} {namespace}'.encode()):08x}"


def this_process() -> str:
    """Return what tells this process from any other on this computer: see ``process_name``."""
    return process_name(os.getpid())


def process_name(pid: int) -> str:
    """Return a process's number, and where the system tells it (Linux) when it began.

    Numbers are reused, after a restart above all; with the beginning it is one process.
    """
    began = _began(pid)
    return f"{pid}:{began}" if began else str(pid)


def tells_beginning(process: str) -> bool:
    """Return whether a process's name says when it began, so that no other is taken for it."""
    return ":" in process


def is_running(process: str) -> bool | None:
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
    return not _has_ended(_facts(int(number)))


def _began(pid: int) -> str | None:
    """Return when a process began, in ticks since the system's start (proc(5), field 22)."""
    facts = _facts(pid)
    return facts[19] if len(facts) > 19 and not _has_ended(facts) else None


def _facts(pid: int) -> list[str]:
    """Return what Linux tells of a process, from its state on (proc(5), field 3); else []."""
    try:
        told = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8", errors="replace")
    except OSError:
        return []
    return told.rpartition(")")[2].split()


def _has_ended(facts: list[str]) -> bool:
    """Return whether a process is a zombie: it ended, though its parent hasn't asked yet."""
    return bool(facts) and facts[0] in "ZX"


def part_of(path: Path) -> Path:
    """Return the hidden name beside a file under which it is written, like no other name."""
    return path.with_name(f".{path.name[:100]}.{_made()}.{os.urandom(8).hex()}.part")


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
    with suppress(OSError):
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
    import shutil  # only where something is copied
    import tempfile

    root = root or Path(tempfile.gettempdir())
    for each in root.glob("drillbox-copy-*"):
        made = _SCRATCH.fullmatch(each.name)
        with suppress(OSError):  # another program may sweep it at the same time
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


def refuse_folder(place: Path, example: str | None = None) -> None:
    """Raise BadInput where a folder was named instead of a file; ``example`` is a name for one."""
    with looking_at(place):
        if place.is_dir():
            such = f", such as {example}" if example else "."
            raise BadInput(f"{str(place)!r} is a folder", f"Name a file in it{such}")


def check_place(place: Path, *, example: str, force: bool) -> None:
    """Raise BadInput where a file would overwrite one without ``force``, or can't be one.

    Raises NotFound where its folder isn't there. ``example`` is a file name to propose.
    """
    refuse_folder(place, example)
    with looking_at(place):
        if not place.absolute().parent.is_dir():
            raise NotFound(f"There is no folder {place.parent}", "Make it first, or name another.")
        refuse_unplain(place)
        if place.exists() and not force:
            remedy = "Name another file, or overwrite with --force."
            raise BadInput(f"{place} exists already", remedy)


def refuse_unplain(place: Path) -> None:
    """Raise BadInput where a link, a pipe or a device stands in the place of a file."""
    with looking_at(place):
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


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup there is: its file, the instant (UTC) it was made, what for, and its bytes."""

    path: Path
    at: datetime
    reason: str
    size: int


def backups_folder(place: Path) -> Path:
    """Return the folder that holds the backups of the store at ``place``."""
    return place.with_name(f"{place.name}-backups")


def list_backups(place: Path) -> list[Backup]:
    """Return the backups of the store at ``place``, newest first.

    Raises BadInput where it can't be looked at.
    """
    pattern = re.compile(r"(\d{8}T\d{6}Z)-([a-z]+)\.sqlite3")
    folder = backups_folder(place)
    found = []
    with looking_at(folder, "Allow yourself to read and enter it."):
        for path in _paths_in(folder):
            if not (match := pattern.fullmatch(path.name)):
                continue
            # A link that leads nowhere or a date that never was isn't a backup, and is skipped.
            try:
                at, facts = datetime.fromisoformat(match[1]), path.stat()
            except PermissionError:
                raise
            except (OSError, ValueError):
                continue
            if not 1 < at.year < 9999 or not path.is_file():
                continue
            # The file's own time tells apart what was made within one second.
            found.append((at, facts.st_mtime_ns, Backup(path, at, match[2], facts.st_size)))
    return [backup for *_, backup in sorted(found, key=lambda each: each[:2], reverse=True)]


def _paths_in(folder: Path) -> list[Path]:
    """Return what is in a folder, nothing where there is none.

    A glob finds nothing in a folder that may not be read, as if there were no backups.
    """
    try:
        return list(folder.iterdir())
    except (FileNotFoundError, NotADirectoryError):
        return []


def newest_backup(place: Path) -> Backup | None:
    """Return the newest backup of the store at ``place``, or None."""
    return next(iter(list_backups(place)), None)


ROOM = 1000
"""Megabytes (10**6 bytes) for all backups of a store: some twenty of a store of many years."""
ROOM_SETTING = "backup_room"


def is_whole(text: str) -> bool:
    """Return whether a text is a whole number, of no more digits than any setting has."""
    return text.isascii() and text.isdigit() and len(text) < 20


def read_room(text: str) -> int:
    """Read megabytes; raise ValueError with what is wanted."""
    if not (is_whole(text) and 10 <= int(text) <= 1_000_000):
        raise ValueError("a whole number of megabytes from 10 to 1000000")
    return int(text)


def room_in_force(stored: object) -> int:
    """Return a stored setting where it passes the check of a typed one, else the default."""
    try:
        return ROOM if stored is None else read_room(str(stored))
    except ValueError:
        return ROOM
