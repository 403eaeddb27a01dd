"""Restoring: the backup takes the store's place, and the damaged store stays aside."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest

from drillbox.errors import StoreFailure
from drillbox.store import restoring
from drillbox.store.attempts import attempts_of
from drillbox.store.backups import back_up
from drillbox.store.opening import open_store
from drillbox.store.phrases import titles
from drillbox.store.restoring import restore_backup
from tests.store.hardship import cut, flip, no_file_over
from tests.store.making import NOW, add, go, session


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
    assert aside.read_bytes() == damaged
    assert oct(place.stat().st_mode)[-3:] == oct(aside.stat().st_mode)[-3:] == "600"
    with open_store(place, now=NOW) as store:
        assert titles(store) == ["Late kettle"]
        assert len(attempts_of(store, 1)) == 1
    assert backup.exists()


def test_what_only_the_wal_held_is_kept_aside_too(backed_up: tuple[Path, Path]) -> None:
    """A store whose last changes weren't yet in its file can be looked at later, whole."""
    place, backup = backed_up
    with open_store(place, now=NOW) as store:
        add(store, "Stone step")
        aside = restore_backup(place, backup, NOW)
        assert aside
        assert aside.with_name(aside.name + "-wal").stat().st_size > 0
    with open_store(place, now=NOW) as store:
        assert titles(store) == ["Late kettle"]
    with open_store(aside, now=NOW) as kept:
        assert titles(kept) == ["Late kettle", "Blue door", "Stone step"]


def test_restoring_twice_keeps_both_aside(backed_up: tuple[Path, Path]) -> None:
    """No store that was kept aside is overwritten, even within one second."""
    place, backup = backed_up
    one, two = restore_backup(place, backup, NOW), restore_backup(place, backup, NOW)
    assert one
    assert two
    assert one != two
    with open_store(one, now=NOW) as kept:
        assert titles(kept) == ["Late kettle", "Blue door"]


def test_a_store_that_is_gone_is_restored(backed_up: tuple[Path, Path]) -> None:
    """Where there is nothing to keep aside, nothing is."""
    place, backup = backed_up
    place.unlink()
    assert restore_backup(place, backup, NOW) is None
    with open_store(place, now=NOW) as store:
        assert titles(store) == ["Late kettle"]


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
        assert titles(store) == ["Late kettle"]


def test_a_failure_before_the_last_step_leaves_the_store(
    backed_up: tuple[Path, Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only when all is on disk does the backup take the store's place."""
    place, backup = backed_up
    before = place.read_bytes()

    def fail(*_: object) -> None:
        raise OSError("meant")

    monkeypatch.setattr(restoring, "_keep_aside", fail)
    with pytest.raises(StoreFailure, match="meant"):
        restore_backup(place, backup, NOW + timedelta(days=1))
    assert place.read_bytes() == before
