"""Drillbox in a real terminal: a process on a pty of its own, and what it left in its store."""

from __future__ import annotations

import atexit
import faulthandler
import gc
import os
import signal
import sqlite3
import sys
import tempfile
import time
import traceback
import warnings
from functools import partial
from pathlib import Path
from typing import NoReturn

import pytest

from drillbox.cli import main

pexpect = pytest.importorskip("pexpect", reason="no pseudo-terminals on this platform")

PLAIN = (24, 36)
"""Rows and columns of a small terminal, in which chords and beat are drawn in low letters."""

BEAT = "▲|█{2,} +·|· +█{2,}"
"""What shows the beat that sounds: under small chords, or a bar of blocks under large ones."""

SHOWN = "Dm7|█▀█▀▄|▛▛|██████"
"""What shows the chords: their symbols, or an m in letters of any size."""


def environment(**more: str) -> dict[str, str]:
    """Return the child's environment: a real clock, a plain terminal."""
    kept = {name: value for name, value in os.environ.items() if name not in {"COLUMNS", "LINES"}}
    kept.pop("DRILLBOX_NOW", None)
    return kept | {"TERM": "xterm-256color"} | more


def spawn(
    place: Path,
    *arguments: str,
    size: tuple[int, int] = PLAIN,
    encoding: str | None = "utf-8",
    **more: str,
):
    """Start drillbox on a pty of its own.

    On Linux that is a fork of the process that runs the tests, which has loaded most of what
    drillbox needs; it is a new interpreter where ``more`` decides how one starts.
    """
    words, names = ["--store", str(place), *arguments], environment(**more)
    anew = sys.platform != "linux" or any(
        each.startswith(("LC_", "LANG", "PYTHON")) for each in more
    )
    return pexpect.spawn(
        sys.executable,
        ["-m", "drillbox", *words],
        env=names,
        preexec_fn=None if anew else partial(become_drillbox, words, names),
        dimensions=size,
        encoding=encoding,
        timeout=20,
    )


def become_drillbox(words: list[str], names: dict[str, str]) -> NoReturn:
    """Run drillbox in a child just forked, as an interpreter of its own would, and end it."""
    code = 1
    try:
        gc.freeze()  # what is left over of the tests must not close descriptors by their numbers
        os.closerange(3, 1 << 16)  # pexpect waits until the one that it made is closed
        faulthandler.disable()
        warnings.resetwarnings()
        warnings.simplefilter("ignore")
        atexit._clear()
        os.environ.clear()
        os.environ.update(names)
        time.tzset()
        tempfile.tempdir = None
        signal.signal(signal.SIGINT, signal.default_int_handler)
        sys.argv = ["drillbox", *words]
        sys.stdin, sys.stdout = open(0), open(1, "w", 1)  # noqa: SIM115 - they stay open
        sys.stderr = open(2, "w", 1, errors="backslashreplace")  # noqa: SIM115
        main()
    except SystemExit as ended:
        code = ended.code if isinstance(ended.code, int) else 0
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        os._exit(code)


def ended(child) -> str:
    """Return what was written last, up to the end of a session that ended well."""
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0
    return child.before


def ratings(place: Path) -> list[int]:
    """Return the ratings that stand in the store, in order."""
    with sqlite3.connect(place) as database:
        rows = database.execute("SELECT recall FROM attempt WHERE undone_at IS NULL ORDER BY id")
        found = [row[0] for row in rows]
    database.close()
    return found


def keep_one_key(place: Path) -> None:
    """Put all keys aside but the written ones, so that three skips end a drill."""
    with sqlite3.connect(place) as database:
        database.execute("UPDATE card SET put_aside = (position > 0)")
    database.close()
