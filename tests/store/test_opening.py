"""Opening: made with the right modes, current without alembic, refused where it can't be used."""

from __future__ import annotations

import os
import shlex
import sqlite3
import stat
import subprocess
import sys
from contextlib import closing
from pathlib import Path

import pytest
from alembic.script import ScriptDirectory

from drillbox.errors import UPDATE, StoreFailure
from drillbox.store import opening
from drillbox.store.access import Damaged, Store
from drillbox.store.backups import back_up
from drillbox.store.card_rows import candidates
from drillbox.store.files import default_location, list_backups
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import all_titles, retire_phrase
from drillbox.store.sql import HEAD
from drillbox.store.upgrading import alembic_config
from tests.store.making import NOW, add, go, session
from tests.store.reading import attempts_of


def modes(path: Path) -> str:
    """Return a file's permissions as in ``0o600``."""
    return oct(stat.S_IMODE(path.stat().st_mode))


def test_a_new_store_is_the_players_alone(tmp_path: Path) -> None:
    """File, WAL and backups can be read by the player only, and so can folders made for them."""
    place = tmp_path / "some" / "where" / "store.sqlite3"
    with open_store(place, now=NOW) as store:
        add(store, "Late kettle")
        assert modes(place) == "0o600"
        assert modes(place.with_name("store.sqlite3-wal")) == "0o600"
        store._kept_day = None
        go(store, 1, session(store))
    assert modes(tmp_path / "some") == modes(tmp_path / "some" / "where") == "0o700"
    folder = place.with_name("store.sqlite3-backups")
    assert modes(folder) == "0o700"
    assert [modes(each) for each in folder.iterdir()] == ["0o600"]


def test_a_store_is_still_there_when_opened_again(place: Path) -> None:
    """What was stored by one is read by the next."""
    with open_store(place, now=NOW) as store:
        add(store, "Late kettle")
        made = go(store, 1, session(store))
    with open_store(str(place), now=NOW) as store:
        assert all_titles(store) == ["Late kettle"]
        assert attempts_of(store, 1) == made


def test_the_pragmas_hold_on_every_connection(store: Store) -> None:
    """WAL, every commit on disk, foreign keys enforced, and patience with another writer."""
    with store.engine.connect() as one, store.engine.connect() as two:
        for each in (one, two):
            found = [
                each.exec_driver_sql(f"PRAGMA {name}").scalar()
                for name in ("journal_mode", "synchronous", "foreign_keys", "busy_timeout")
            ]
            assert found == ["wal", 2, 1, 15_000]


def test_head_is_the_newest_migration() -> None:
    """The constant that spares the import of alembic is what alembic says."""
    assert ScriptDirectory.from_config(alembic_config()).get_heads() == [HEAD]


def test_a_current_store_opens_without_alembic_models_or_fsrs(place: Path) -> None:
    """Opening and picking load neither alembic nor SQLModel nor the ORM nor fsrs."""
    code = (
        "import sys\n"
        "from datetime import UTC, datetime\n"
        "from drillbox.store.opening import open_store\n"
        "from drillbox.store.card_rows import candidates\n"
        "with open_store(sys.argv[1], now=datetime(2026, 3, 1, tzinfo=UTC)) as store:\n"
        "    assert candidates(store) == []\n"
        "heavy = {'alembic', 'sqlmodel', 'sqlalchemy.orm', 'fsrs', 'music21', 'numpy'}\n"
        "print(sorted(heavy & sys.modules.keys()))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", code, str(place)], capture_output=True, text=True, check=True
    )
    assert done.stdout == "[]\n"


def test_a_newer_store_is_refused(place: Path) -> None:
    """A schema that this program doesn't know: what it is, what to do, and nothing changed."""
    with closing(sqlite3.connect(place)) as raw:
        raw.execute("UPDATE alembic_version SET version_num = '0999'")
        raw.commit()
    before = place.read_bytes()
    with pytest.raises(StoreFailure) as caught:
        open_store(place, now=NOW)
    assert "newer drillbox (schema 0999)" in caught.value.what
    assert caught.value.remedy == UPDATE
    assert place.read_bytes() == before


@pytest.mark.parametrize(
    "content", [b"not a database at all", b"SQLite format 3", b"\0" * 4096, bytes(range(256)) * 40]
)
def test_another_kind_of_file_is_refused(tmp_path: Path, content: bytes) -> None:
    """It is named, and stays as it was."""
    place = tmp_path / "letter.txt"
    place.write_bytes(content)
    with pytest.raises(StoreFailure, match=r"letter\.txt isn't a drillbox store"):
        open_store(place, now=NOW)
    assert place.read_bytes() == content


def test_another_programs_database_is_refused(tmp_path: Path) -> None:
    """A database with other tables isn't taken over."""
    place = tmp_path / "other.sqlite3"
    with closing(sqlite3.connect(place)) as raw:
        raw.execute("CREATE TABLE mine (id INTEGER)")
        raw.commit()
    with pytest.raises(StoreFailure, match="holds something else"):
        open_store(place, now=NOW)
    with closing(sqlite3.connect(place)) as raw:
        assert raw.execute("SELECT name FROM sqlite_master").fetchall() == [("mine",)]


def test_a_folder_is_refused(tmp_path: Path) -> None:
    """A folder isn't a store, and a file isn't a folder to make one in."""
    with pytest.raises(StoreFailure, match="can't be used: Is a directory"):
        open_store(tmp_path, now=NOW)
    (tmp_path / "file").write_text("x")
    with pytest.raises(StoreFailure, match="can't be used: Not a directory"):
        open_store(tmp_path / "file" / "store.sqlite3", now=NOW)


def test_a_file_that_another_made_first_is_left_as_it_is(tmp_path: Path) -> None:
    """Between looking for a store and making it another program may have made it."""
    place = tmp_path / "store.sqlite3"
    place.write_text("theirs")
    opening.make_file(place)
    assert place.read_text() == "theirs"


def test_an_empty_file_becomes_a_store(tmp_path: Path) -> None:
    """A program that was killed between making the file and filling it leaves one such."""
    place = tmp_path / "store.sqlite3"
    place.touch()
    with open_store(place, now=NOW) as store:
        assert candidates(store) == []


def test_a_store_that_vanished_is_not_made_anew(tmp_path: Path, place: Path) -> None:
    """With backups beside it a missing store is missed, not replaced by an empty one."""
    with open_store(place, now=NOW) as store:
        add(store, "Late kettle")
        store._kept_day = None
        retire_phrase(store, 1, NOW)
    place.unlink()
    with pytest.raises(StoreFailure, match="is gone, but there are backups") as caught:
        open_store(place, now=NOW)
    (backup,) = list_backups(place)
    assert caught.value.remedy.endswith(f"drillbox store restore {backup.path}")
    assert not place.exists()


def test_an_emptied_store_is_not_begun_anew(place: Path) -> None:
    """With backups beside it a file of no bytes was a store once: it is told, and stays."""
    with open_store(place, now=NOW) as store:
        add(store, "Late kettle")
        backup = back_up(store.engine, place, NOW, "asked")
    os.truncate(place, 0)
    with pytest.raises(StoreFailure, match="is empty, but there are backups") as caught:
        open_store(place, now=NOW)
    assert str(backup.path) in caught.value.remedy
    assert place.read_bytes() == b""


@pytest.mark.parametrize("content", [b"SQLite forbat 3\0", b"", b"\0" * 16])
def test_a_damaged_beginning_is_damage_where_there_are_backups(place: Path, content: bytes) -> None:
    """They say that it was a store: the newest is named, and not a byte is changed."""
    with open_store(place, now=NOW) as store:
        add(store, "Late kettle")
        backup = back_up(store.engine, place, NOW, "asked")
    whole = place.read_bytes()
    place.write_bytes(content + whole[len(content) :] if content else whole[:60])
    before = place.read_bytes()
    with pytest.raises(Damaged, match="its beginning isn't a store's") as caught:
        open_store(place, now=NOW)
    assert str(backup.path) in caught.value.remedy
    assert place.read_bytes() == before


def test_the_command_to_restore_can_be_pasted(tmp_path: Path) -> None:
    """A folder with blanks and quotes in its name is quoted for the shell."""
    place = tmp_path / "it's mine" / "store.sqlite3"
    with open_store(place, now=NOW) as store:
        add(store, "Late kettle")
        backup = back_up(store.engine, place, NOW, "asked")
    place.unlink()
    with pytest.raises(StoreFailure) as caught:
        open_store(place, now=NOW)
    command = caught.value.remedy.partition("with: ")[2]
    assert shlex.split(command) == ["drillbox", "store", "restore", str(backup.path)]


def test_two_that_open_a_new_store_at_once_share_it(tmp_path: Path) -> None:
    """Both make it, one after the other, and both see the same schema."""
    place = tmp_path / "store.sqlite3"
    code = (
        "import sys\n"
        "from datetime import UTC, datetime\n"
        "from drillbox.store.opening import open_store\n"
        "from drillbox.store.setting_rows import set_setting\n"
        "with open_store(sys.argv[1], now=datetime(2026, 3, 1, tzinfo=UTC)) as store:\n"
        "    set_setting(store, sys.argv[2], 1)\n"
    )
    running = [
        subprocess.Popen([sys.executable, "-c", code, str(place), name], stderr=subprocess.PIPE)
        for name in ("one", "two")
    ]
    assert [each.communicate()[1] for each in running] == [b"", b""]
    with closing(sqlite3.connect(place)) as raw:
        assert raw.execute("SELECT count(*) FROM setting").fetchone() == (2,)
        assert raw.execute("SELECT version_num FROM alembic_version").fetchall() == [(HEAD,)]


def test_the_default_place_is_the_platforms(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """On Linux that is the XDG data directory."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    if sys.platform == "linux":
        assert default_location() == tmp_path / "drillbox" / "drillbox.sqlite3"
    assert default_location().name == "drillbox.sqlite3"


def test_a_fault_while_opening_closes_the_file(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever goes wrong, no connection is left behind."""

    def fail(*_: object, **__: object) -> None:
        raise RuntimeError("meant")

    monkeypatch.setattr(opening, "stored_revision", fail)
    with pytest.raises(RuntimeError, match="meant"):
        open_store(place, now=NOW)
    assert not place.with_name("store.sqlite3-wal").exists()
