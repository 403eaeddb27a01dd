"""Hard times for a store: no rights, no room, flipped bytes."""

from __future__ import annotations

import os
import random
import resource
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

NOBODY = 65534
ROOT = Path(__file__).parents[2]


@contextmanager
def without_rights() -> Iterator[None]:
    """Be nobody inside the block if the tests run as root, whom no mode keeps out."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(NOBODY)
    try:
        yield
    finally:
        os.seteuid(0)


@contextmanager
def public_folder() -> Iterator[Path]:
    """Give a folder that nobody may use as well as the one who runs the tests."""
    folder = Path(tempfile.mkdtemp(prefix="drillbox-"))
    folder.chmod(0o755)
    if os.geteuid() == 0:
        os.chown(folder, NOBODY, -1)
    try:
        yield folder
    finally:
        folder.chmod(0o755)
        shutil.rmtree(folder)


def lend(path: Path) -> Path:
    """Give a file to nobody where the tests run as root."""
    if os.geteuid() == 0:
        os.chown(path, NOBODY, -1)
    return path


@contextmanager
def no_file_over(size: int) -> Iterator[None]:
    """Let no file grow over ``size`` bytes inside the block.

    What is imported there first isn't compiled into one: cut short, it couldn't be loaded again.
    """
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    kept = sys.dont_write_bytecode
    sys.dont_write_bytecode = True
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
        sys.dont_write_bytecode = kept


def flip(path: Path, seed: int, *, spare: int = 100) -> None:
    """Overwrite a whole page of the file, past the first ``spare`` bytes, with noise."""
    dice = random.Random(seed)
    pages = path.stat().st_size // 4096
    with path.open("r+b") as file:
        file.seek(max(spare, dice.randrange(pages) * 4096))
        file.write(dice.randbytes(3900))


def spoil_text(path: Path, text: str) -> None:
    """Flip the highest bit of a text's first letter, everywhere in the file: no text has it so."""
    sound = text.encode()
    data = path.read_bytes()
    assert sound in data
    path.write_bytes(data.replace(sound, bytes([sound[0] ^ 0x80]) + sound[1:]))


def cut(path: Path, seed: int) -> None:
    """Cut the file off at a random byte."""
    os.truncate(path, random.Random(seed).randrange(1, path.stat().st_size))


@contextmanager
def quick_folder() -> Iterator[Path]:
    """Give a folder in memory where there is one: what a kill leaves behind is the same there."""
    memory = Path("/dev/shm")
    folder = Path(tempfile.mkdtemp(prefix="drillbox-", dir=memory if memory.is_dir() else None))
    try:
        yield folder
    finally:
        shutil.rmtree(folder)


def killed(program: str, kills: int, seed: int) -> list[int]:
    """Run a module that kills what it forks in a process of its own; return its figures."""
    with quick_folder() as folder:
        place = str(folder / "store.sqlite3")
        done = subprocess.run(
            [sys.executable, "-m", program, place, str(kills), str(seed)],
            capture_output=True,
            text=True,
            check=False,
            cwd=ROOT,
        )
    assert done.returncode == 0, done.stdout + done.stderr
    return [int(word) for word in done.stdout.split() if word.isdigit()]
