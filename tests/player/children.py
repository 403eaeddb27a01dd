"""Drillbox in a real terminal: a process on a pty of its own, and what it left in its store."""

from __future__ import annotations

import os
import sqlite3
import sys
from pathlib import Path

import pytest

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


def spawn(place: Path, *arguments: str, size: tuple[int, int] = PLAIN, **more: str):
    """Start drillbox on a pty of its own."""
    return pexpect.spawn(
        sys.executable,
        ["-m", "drillbox", "--store", str(place), *arguments],
        env=environment(**more),
        dimensions=size,
        encoding="utf-8",
        timeout=20,
    )


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
