"""A damaged write-ahead log: what SQLite drops without a word is told."""

from __future__ import annotations

import shutil
import struct
from datetime import timedelta
from pathlib import Path

import pytest

from drillbox.practice.keeping import import_export
from drillbox.store.files import beside
from drillbox.store.opening import open_store
from drillbox.store.restoring import restore_backup
from tests.store.making import NOW, add, go, session

FRAME = 24 + 4096


@pytest.fixture
def cut_off(place: Path, tmp_path: Path) -> Path:
    """Return a copy of a store and its WAL as a power cut leaves them, in mid-session."""
    with open_store(place, now=NOW, backups=False) as store:
        add(store, "Late kettle")
    copy = tmp_path / "copy.sqlite3"
    with open_store(place, now=NOW, backups=False) as store:
        at = session(store)
        for card_id in range(1, 7):
            go(store, card_id, at, at=NOW + timedelta(minutes=card_id))
        for end in ("", "-wal"):
            shutil.copyfile(beside(place, end), beside(copy, end))
    return copy


def told_and_kept(place: Path) -> tuple[list[str], int]:
    """Open a store; return what is told and how many ratings it has."""
    told: list[str] = []
    with open_store(place, now=NOW, backups=False, tell=told.append) as store, store.read() as at:
        return told, at.exec_driver_sql("SELECT count(*) FROM attempt").scalar_one()


def commits(wal: bytes) -> list[int]:
    """Return the numbers of the frames that end a commit."""
    frames = range((len(wal) - 32) // FRAME)
    return [n for n in frames if struct.unpack_from(">I", wal, 32 + n * FRAME + 4)[0]]


def test_a_whole_log_has_nothing_to_tell(cut_off: Path) -> None:
    """After a kill all that was acknowledged is there, and nothing is said of it."""
    assert told_and_kept(cut_off) == ([], 6)


@pytest.mark.parametrize("lost", [1, 2, 5])
def test_ratings_lost_by_a_damaged_log_are_told(cut_off: Path, lost: int) -> None:
    """One flipped byte in a frame loses its commit and all after it: told once, with how many."""
    hurt(cut_off, lost)
    told, kept = told_and_kept(cut_off)
    assert kept == 6 - lost
    (line,) = told
    assert "the last change can't" in line if lost == 1 else f"up to {lost} of the last" in line
    assert "copy.sqlite3-wal was damaged" in line
    assert told_and_kept(cut_off) == ([], kept)


def test_a_damaged_header_loses_all_of_the_log(cut_off: Path) -> None:
    """SQLite then reads none of it: that is told too."""
    wal = bytearray(beside(cut_off, "-wal").read_bytes())
    wal[18] ^= 0xFF
    beside(cut_off, "-wal").write_bytes(wal)
    (line,), kept = told_and_kept(cut_off)
    assert kept == 0
    assert "up to 7 of the last" in line  # the session's beginning is one


def hurt(place: Path, lost: int) -> None:
    """Flip a byte so that so many of the last commits can't be read."""
    wal = bytearray(beside(place, "-wal").read_bytes())
    wal[32 + commits(bytes(wal))[-lost] * FRAME + 2000] ^= 0xFF
    beside(place, "-wal").write_bytes(wal)


def test_what_another_stores_damaged_log_loses_is_told(cut_off: Path, tmp_path: Path) -> None:
    """Merged or restored from, it is read as it was left, and named; its files stay."""
    hurt(cut_off, 2)
    before = [beside(cut_off, end).read_bytes() for end in ("", "-wal")]
    told: list[str] = []
    with open_store(tmp_path / "mine.sqlite3", now=NOW, backups=False) as store:
        assert import_export(store, cut_off, NOW, tell=told.append).attempts == 4
    restore_backup(tmp_path / "mine.sqlite3", cut_off, NOW, told.append)
    assert [f"{cut_off}-wal was damaged: up to 2 of the last" in line for line in told] == [
        True
    ] * 2
    assert [beside(cut_off, end).read_bytes() for end in ("", "-wal")] == before


def test_what_a_damaged_log_loses_is_told_where_a_backup_takes_its_place(
    cut_off: Path, place: Path
) -> None:
    """The store that is kept aside holds what could be read."""
    hurt(cut_off, 1)
    told: list[str] = []
    aside = restore_backup(cut_off, place, NOW, told.append)
    assert aside is not None
    assert [f"{cut_off}-wal was damaged: the last change" in line for line in told] == [True]
    assert told_and_kept(aside) == ([], 5)


def test_frames_of_an_earlier_round_are_no_loss(place: Path, tmp_path: Path) -> None:
    """A log that begins anew leaves old frames behind its end: they are in the file already."""
    copy = tmp_path / "copy.sqlite3"
    with open_store(place, now=NOW, backups=False) as store:
        add(store, *(f"Title {number}" for number in range(5)))
        with store.engine.connect() as connection:
            connection.exec_driver_sql("PRAGMA wal_checkpoint(RESTART)").one()
        session(store)
        for end in ("", "-wal"):
            shutil.copyfile(beside(place, end), beside(copy, end))
    assert len(commits(beside(copy, "-wal").read_bytes())) > 1
    assert told_and_kept(copy) == ([], 0)
