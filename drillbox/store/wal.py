"""What a damaged write-ahead log of SQLite's lost: told, as SQLite drops it without a word.

The log's form is that of SQLite's file format, section 4.
"""

from __future__ import annotations

import sqlite3
import struct
from pathlib import Path

from drillbox.store.files import beside
from drillbox.tick import Tell

_HEADER = struct.Struct(">8I")  # magic, version, page size, checkpoints, two salts, checksum
_FRAME = struct.Struct(">6I")  # page, pages after a commit or 0, two salts, checksum


def tell_losses(raw: sqlite3.Connection, path: Path, name: str, tell: Tell) -> None:
    """Tell the player where the newest changes of a store, which they know as ``name``, can't be
    read in its WAL; asked as ``commits_lost`` is."""
    if count := commits_lost(raw, path):
        tell(_lost_changes_line(name, count))


def _lost_changes_line(name: str, count: int) -> str:
    changes = "the last change" if count == 1 else f"up to {count} of the last changes"
    return (
        f"The file {name}-wal was damaged: {changes} can't be read, and the rest is there. Look "
        "whether your last ratings are in; older backups: drillbox store list"
    )


def commits_lost(raw: sqlite3.Connection, path: Path) -> int:
    """Return how many commits at the end of a store's WAL can't be read, at most.

    To be asked of a connection in no transaction that has read from the store. One may be of a
    change that a power cut interrupted.
    """
    page = int(raw.execute("PRAGMA page_size").fetchone()[0])
    head, ends = _frames(path, page)
    if not any(ends) or not _beyond(raw, ends):
        return 0
    # Another program may be in mid-commit: once it is possible to write, it no longer is.
    raw.execute("BEGIN IMMEDIATE")
    raw.execute("ROLLBACK")
    lost = _beyond(raw, ends)
    return lost if _frames(path, page)[0] == head else 0


def _beyond(raw: sqlite3.Connection, ends: list[bool]) -> int:
    """Return how many of the frames beyond those that SQLite reads end a commit."""
    try:
        _, frames, _ = raw.execute("PRAGMA wal_checkpoint(PASSIVE)").fetchone()
    except sqlite3.Error:
        return 0  # no room to copy to, say; who writes will be told
    return sum(ends[frames:]) if frames >= 0 else 0


def _frames(path: Path, page: int) -> tuple[bytes, list[bool]]:
    """Return the log's header, and for each frame of its present round whether it ends a commit.

    No program locks the log, so that closing it releases nothing here.
    """
    try:
        with beside(path, "-wal").open("rb") as file:
            head = file.read(_HEADER.size)
            if len(head) < _HEADER.size:
                return head, []
            frames = []
            while len(frame := file.read(_FRAME.size)) == _FRAME.size:
                frames.append(_FRAME.unpack(frame))
                file.seek(page, 1)
    except OSError:
        return b"", []
    # A header that isn't whole doesn't say which round this is: the first frame is of it.
    salts = _HEADER.unpack(head)[4:6] if _is_whole(head) or not frames else frames[0][2:4]
    return head, [frame[2:4] == salts and frame[1] > 0 for frame in frames]


def _is_whole(head: bytes) -> bool:
    """Return whether the header's checksum is right (section 4.2)."""
    order = ">" if head[3] & 1 else "<"
    words = struct.unpack(f"{order}6I", head[:24])
    one = two = 0
    for first, second in zip(words[::2], words[1::2], strict=True):
        one = (one + first + two) & 0xFFFFFFFF
        two = (two + second + one) & 0xFFFFFFFF
    return (one, two) == _HEADER.unpack(head)[6:]
