"""Restoring: the backup takes the store's place, and the damaged store stays aside."""

from __future__ import annotations

import os
import shutil
import sqlite3
import sys
from contextlib import closing
from pathlib import Path

import pytest

from drillbox.errors import BadInput, StoreFailure
from drillbox.store.backups import back_up, fault_in
from drillbox.store.files import beside
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import all_titles
from drillbox.store.restoring import restore_backup
from tests.store.hardship import ROOT, cut, flip, killed, no_file_over
from tests.store.making import NOW, add, go, session
from tests.store.reading import attempts_of

RELEASED = ROOT / "tests" / "store" / "released"


@pytest.fixture
def backed_up(place: Path) -> tuple[Path, Path]:
    """A store with two phrases, and its backup with one; return both files."""
    with open_store(place, now=NOW) as store:
        add(store, "Late kettle")
        go(store, 1, session(store))
        backup = back_up(store.engine, place, NOW, "asked").path
        add(store, "Blue door")
    return place, backup


def test_a_backup_takes_the_place_of_a_damaged_store(backed_up: tuple[Path, Path]) -> None:
    """The damaged bytes stay aside, unchanged; the store holds what the backup held."""
    place, backup = backed_up
    flip(place, 1)
    damaged = place.read_bytes()
    aside = restore_backup(place, backup, NOW)
    assert aside == place.with_name("store.sqlite3.aside-20260301T180000Z")
    assert aside.read_bytes()[100:] == damaged[100:]  # the header counts what was copied
    assert oct(place.stat().st_mode)[-3:] == oct(aside.stat().st_mode)[-3:] == "600"
    with open_store(place, now=NOW) as store:
        assert all_titles(store) == ["Late kettle"]
        assert len(attempts_of(store, 1)) == 1
    assert backup.exists()


def cut_off(place: Path, folder: Path) -> Path:
    """Return a copy of an open store as a kill would leave it, what only its WAL holds included."""
    left = folder / "left.sqlite3"
    for end in ("", "-wal"):
        shutil.copyfile(beside(place, end), beside(left, end))
    assert beside(left, "-wal").stat().st_size > 0
    return left


def test_what_only_the_wal_held_is_kept_aside_too(
    backed_up: tuple[Path, Path], tmp_path: Path
) -> None:
    """A store whose last changes weren't yet in its file can be looked at later, whole."""
    place, backup = backed_up
    with open_store(place, now=NOW) as store:
        add(store, "Stone step")
        left = cut_off(place, tmp_path)
    aside = restore_backup(left, backup, NOW)
    assert aside
    with open_store(left, now=NOW) as store:
        assert all_titles(store) == ["Late kettle"]
    with open_store(aside, now=NOW) as kept:
        assert all_titles(kept) == ["Late kettle", "Blue door", "Stone step"]


def test_a_store_in_use_is_left_alone(backed_up: tuple[Path, Path]) -> None:
    """Under a drill that is running nothing is replaced: it is refused, and both go on."""
    place, backup = backed_up
    with open_store(place, now=NOW) as store:
        add(store, "Stone step")
        with pytest.raises(StoreFailure, match="Another program holds the store"):
            restore_backup(place, backup, NOW)
        add(store, "Tin cup")
    with open_store(place, now=NOW) as store:
        assert all_titles(store) == ["Late kettle", "Blue door", "Stone step", "Tin cup"]


@pytest.mark.parametrize("reached", ["whole", "unreadable", "gone"])
def test_a_link_is_followed_to_its_store(
    backed_up: tuple[Path, Path], tmp_path: Path, reached: str
) -> None:
    """The file behind a link is restored, its WAL seen; the link stays one."""
    place, backup = backed_up
    with open_store(place, now=NOW) as store:
        add(store, "Stone step")
        left = cut_off(place, tmp_path)
    if reached == "unreadable":
        left.write_bytes(b"x" * 8192)
    elif reached == "gone":
        left.unlink()
        beside(left, "-wal").unlink()
    (tmp_path / "elsewhere").mkdir()
    link = tmp_path / "elsewhere" / "link.sqlite3"
    link.symlink_to(left)
    aside = restore_backup(link, backup, NOW)
    assert link.is_symlink()
    assert (aside is None) == (reached == "gone")
    with open_store(link, now=NOW) as store:
        assert all_titles(store) == ["Late kettle"]
    if reached == "whole":
        assert aside
        with open_store(aside, now=NOW) as kept:
            assert all_titles(kept) == ["Late kettle", "Blue door", "Stone step"]


def test_a_backup_behind_a_link_is_read_with_its_wal(
    backed_up: tuple[Path, Path], tmp_path: Path
) -> None:
    """What a link leads to is copied with what only its WAL holds."""
    place, _ = backed_up
    with open_store(place, now=NOW) as store:
        add(store, "Stone step")
        left = cut_off(place, tmp_path)
    (tmp_path / "elsewhere").mkdir()
    link = tmp_path / "elsewhere" / "link.sqlite3"
    link.symlink_to(left)
    restore_backup(place, link, NOW)
    with open_store(place, now=NOW) as store:
        assert all_titles(store) == ["Late kettle", "Blue door", "Stone step"]


def test_the_store_is_no_backup_of_itself(backed_up: tuple[Path, Path]) -> None:
    """Named as its own backup, by a link even, it is refused and stays."""
    place, _ = backed_up
    link = place.with_name("link.sqlite3")
    link.symlink_to(place)
    with pytest.raises(BadInput, match="is the store itself"):
        restore_backup(place, link, NOW)


SPOILS = {
    "newer": ("UPDATE alembic_version SET version_num = '9999'", "newer drillbox"),
    "foreign": ("ALTER TABLE attempt RENAME COLUMN hint TO hints", "table attempt lacks hint"),
    "view": ("CREATE VIEW mine AS SELECT 1", "holds the view 'mine'"),
    "view for a table": (
        "ALTER TABLE setting RENAME TO s; CREATE VIEW setting AS WITH RECURSIVE n(name, value) AS"
        " (SELECT 1, 1 UNION ALL SELECT name + 1, 1 FROM n) SELECT * FROM n",
        "holds the view 'setting'",
    ),
    "trigger": (
        "CREATE TRIGGER mine AFTER INSERT ON attempt BEGIN DELETE FROM attempt; END",
        "holds the trigger 'mine'",
    ),
    "virtual": ("CREATE VIRTUAL TABLE mine USING fts5(text)", "holds the virtual table 'mine'"),
}


@pytest.mark.parametrize("spoil", SPOILS)
def test_a_backup_that_another_made_is_refused(backed_up: tuple[Path, Path], spoil: str) -> None:
    """A newer schema, a foreign one, views and triggers: the store stays, nothing is left over."""
    place, backup = backed_up
    change, said = SPOILS[spoil]
    with closing(sqlite3.connect(backup)) as other:
        other.executescript(change)
    before = place.read_bytes(), sorted(each.name for each in place.parent.iterdir())
    with pytest.raises(StoreFailure, match=said):
        restore_backup(place, backup, NOW)
    assert before == (place.read_bytes(), sorted(each.name for each in place.parent.iterdir()))


@pytest.mark.parametrize("spoil", ["view", "view for a table", "trigger", "virtual"])
def test_a_store_with_views_or_triggers_is_not_opened(place: Path, spoil: str) -> None:
    """A hostile file is refused before anything in it is read."""
    with closing(sqlite3.connect(place)) as other:
        other.executescript(SPOILS[spoil][0])
    with pytest.raises(StoreFailure, match=SPOILS[spoil][1]):
        open_store(place, now=NOW)


def test_an_older_backup_is_brought_up_to_date(place: Path) -> None:
    """A backup of the first schema is restored as a store of the newest."""
    old = place.with_name("old.sqlite3")
    with closing(sqlite3.connect(old)) as database:
        database.executescript((RELEASED / "0001.sql").read_text("utf-8"))
    held = old.read_bytes()
    restore_backup(place, old, NOW)
    with open_store(place, now=NOW, backups=False) as store:
        assert len(all_titles(store)) > 0
    assert old.read_bytes() == held


def test_restoring_twice_keeps_both_aside(backed_up: tuple[Path, Path]) -> None:
    """No store that was kept aside is overwritten, even within one second."""
    place, backup = backed_up
    one, two = restore_backup(place, backup, NOW), restore_backup(place, backup, NOW)
    assert one
    assert two
    assert one != two
    with open_store(one, now=NOW) as kept:
        assert all_titles(kept) == ["Late kettle", "Blue door"]


def test_a_store_that_is_gone_is_restored(backed_up: tuple[Path, Path]) -> None:
    """Where there is nothing to keep aside, nothing is."""
    place, backup = backed_up
    place.unlink()
    assert restore_backup(place, backup, NOW) is None
    with open_store(place, now=NOW) as store:
        assert all_titles(store) == ["Late kettle"]


@pytest.mark.parametrize("spoil", ["noise", "cut", "empty", "other"])
def test_a_backup_that_is_not_whole_is_refused(
    backed_up: tuple[Path, Path], tmp_path: Path, spoil: str
) -> None:
    """The store stays as it is, whatever the file is instead."""
    place, backup = backed_up
    bad = Path(shutil.copyfile(backup, tmp_path / "bad.sqlite3"))
    if spoil == "noise":
        bad.write_bytes(b"x" * 50_000)
    elif spoil == "cut":
        cut(bad, 3)
    else:
        bad.unlink()
        with closing(sqlite3.connect(bad)) as other:
            other.execute("CREATE TABLE mine (id INTEGER)" if spoil == "other" else "VACUUM")
    before = place.read_bytes()
    with pytest.raises(StoreFailure, match="is not whole"):
        restore_backup(place, bad, NOW)
    assert place.read_bytes() == before
    assert not list(tmp_path.glob("*aside*"))
    assert not list(tmp_path.glob("*restoring*"))


def test_no_room_to_restore(backed_up: tuple[Path, Path]) -> None:
    """Nothing was changed, and it works once there is room."""
    place, backup = backed_up
    before = place.read_bytes()
    with no_file_over(8192), pytest.raises(StoreFailure):
        restore_backup(place, backup, NOW)
    assert place.read_bytes() == before
    restore_backup(place, backup, NOW)
    with open_store(place, now=NOW) as store:
        assert all_titles(store) == ["Late kettle"]


@pytest.mark.skipif(sys.platform != "linux", reason="ptrace is Linux's")
def test_killed_at_system_calls_there_is_one_store_or_the_other() -> None:
    """Cut off at every 97th system call, with a WAL, damaged, unreadable or without a store."""
    kills, old, new = killed("tests.store.killing_restore", 97, 3)
    assert kills > 25
    assert min(old, new) > 1


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="ptrace is Linux's")
def test_at_every_system_call_a_kill_would_leave_one_store_or_the_other() -> None:
    """What lies there at each of them is one or the other, wherever a file changed before it."""
    found, old, new = killed("tests.store.killing_restore", 0, 0)
    assert found > 300
    assert min(old, new) > 10


@pytest.mark.parametrize("bytes_lost", [1, 80, 4095])
def test_a_backup_whose_end_is_missing_is_refused(
    backed_up: tuple[Path, Path], bytes_lost: int
) -> None:
    """SQLite takes a part of its last page for the page; the store stays as it is."""
    place, backup = backed_up
    os.truncate(backup, backup.stat().st_size - bytes_lost)
    before = place.read_bytes()
    with pytest.raises(StoreFailure, match="is not whole"):
        restore_backup(place, backup, NOW)
    assert place.read_bytes() == before


def test_a_backup_whose_index_lost_an_entry_is_refused(backed_up: tuple[Path, Path]) -> None:
    """The quick check of a backup's making looks at pages only; restoring looks at indexes."""
    place, backup = backed_up
    with closing(sqlite3.connect(backup)) as raw:
        raw.execute("PRAGMA writable_schema = ON")
        words = "UPDATE sqlite_master SET sql = replace(sql, 'IS NULL', 'IS NOT NULL')"
        raw.execute(f"{words} WHERE name = 'ix_attempt_card'")
        raw.commit()
    assert fault_in(backup) is None
    with pytest.raises(StoreFailure, match="is not whole"):
        restore_backup(place, backup, NOW)


def test_an_empty_store_makes_room_for_its_backup(backed_up: tuple[Path, Path]) -> None:
    """Cut to nothing by a power cut, it is restored as one that is gone; its log stays aside."""
    place, backup = backed_up
    os.truncate(place, 0)
    beside(place, "-wal").write_bytes(b"the rest of it")
    aside = restore_backup(place, backup, NOW)
    assert aside
    assert beside(aside, "-wal").read_bytes() == b"the rest of it"
    with open_store(place, now=NOW) as store:
        assert all_titles(store) == ["Late kettle"]
