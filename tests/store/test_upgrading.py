"""Migrations: from every released schema, whole or not at all, whatever happens on the way."""

from __future__ import annotations

import json
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Engine, create_engine, event, inspect

from drillbox.errors import StoreFailure
from drillbox.music.moving.transposition import phrase_to
from drillbox.shipped import shipped
from drillbox.store import opening, upgrading
from drillbox.store.access import Store
from drillbox.store.card_rows import cards_of
from drillbox.store.checks import check_store
from drillbox.store.files import list_backups
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import all_titles, list_phrases, phrase
from drillbox.store.sql import HEAD, STATE
from drillbox.store.tables import metadata
from drillbox.store.upgrading import alembic_config, is_known_revision
from tests.store.making import NOW

ROOT = Path(__file__).parents[2]
RELEASED = sorted((Path(__file__).parent / "released").glob("*.sql"))
# What a card's attempts give, by its names of now and of before revision 0008, and what its phrase.
RECKONED = {*STATE, "days_recalled", "days_lost", "recalled_run", "chart", "line"}
NEXT = f"{int(HEAD) + 1:04d}"
# Rebuilds the parent of cards, which with foreign keys on would delete them, and moves data.
LATER = f'''
"""A later schema, for tests."""

import sqlalchemy as sa
from alembic import op

revision = "{NEXT}"
down_revision = "{HEAD}"


def upgrade() -> None:
    rebuild = "always" if op.get_bind().dialect.name == "sqlite" else "never"
    with op.batch_alter_table("phrase", recreate=rebuild) as phrase:
        phrase.add_column(sa.Column("source", sa.String(), nullable=True))
    op.execute("UPDATE phrase SET source = 'typed'")
    op.create_table("extra", sa.Column("id", sa.Integer(), primary_key=True))
    op.execute("INSERT INTO extra (id) SELECT id FROM attempt")
'''


def released(dump: Path, place: Path) -> Path:
    """Make the store that a dump describes."""
    with closing(sqlite3.connect(place)) as raw:
        raw.executescript(dump.read_text(encoding="utf-8"))
    return place


def rows(place: Path) -> dict[str, list[dict[str, Any]]]:
    """Return every row of every table of the program, by column."""
    with closing(sqlite3.connect(place)) as raw:
        raw.row_factory = sqlite3.Row
        found = raw.execute("SELECT name FROM sqlite_master WHERE type = 'table'").fetchall()
        return {
            name: [dict(row) for row in raw.execute(f'SELECT * FROM "{name}" ORDER BY 1')]
            for (name,) in found
            if name != "alembic_version"
        }


def same_data(before: dict[str, list[dict[str, Any]]], after: dict[str, Any]) -> bool:
    """Return whether each row that was there is there, its columns unchanged.

    But for what a later schema counts another way: that is what the log gives.
    """
    return all(kept(table, old) == kept(table, after[table], old) for table, old in before.items())


def kept(
    table: str, found: list[dict[str, Any]], old: list[dict[str, Any]] | None = None
) -> list[dict[str, Any]]:
    """Return rows without what is replayed from the log, with the columns of ``old`` alone."""
    had = (found if old is None else old)[:1]
    names = set(had[0]) - RECKONED if table == "card" and had else set(*had)
    return [{name: row[name] for name in names} for row in found]


def ship_later(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Put a migration after the shipped ones; return the folder that counts as shipped."""
    folder = tmp_path / "migrations"
    shutil.copytree(shipped("migrations"), folder)
    (folder / "versions" / f"{NEXT}_later.py").write_text(LATER)
    monkeypatch.setattr(upgrading, "shipped", lambda _: folder)
    return folder


@pytest.fixture
def later(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Pretend that a newer schema was shipped; return its folder of migrations."""
    monkeypatch.setattr(opening, "HEAD", NEXT)
    return ship_later(tmp_path, monkeypatch)


def test_there_is_a_dump_of_every_schema() -> None:
    """No migration is shipped without a store of its schema to migrate from."""
    shipped_ones = {
        each.revision for each in ScriptDirectory.from_config(alembic_config()).walk_revisions()
    }
    assert {each.stem for each in RELEASED} == shipped_ones
    assert all(is_known_revision(each) for each in shipped_ones)
    assert not is_known_revision("0999")


@pytest.mark.parametrize("dump", RELEASED, ids=lambda each: each.stem)
def test_every_released_store_comes_to_the_newest_schema(dump: Path, tmp_path: Path) -> None:
    """Its data are the same after as before, it is whole, its log gives its cards; who waits
    for that is told.
    """
    place = released(dump, tmp_path / "store.sqlite3")
    before = rows(place)
    told: list[str] = []
    with open_store(place, now=NOW, tell=told.append) as store:
        assert check_store(store) == []
        assert all_titles(store)[0] == "Late kettle"
    assert same_data(before, rows(place))
    with closing(sqlite3.connect(place)) as raw:
        assert raw.execute("SELECT version_num FROM alembic_version").fetchall() == [(HEAD,)]
    assert len(list_backups(place)) == len(told) == (dump.stem != HEAD)


def test_cards_are_reckoned_where_goes_move_them_otherwise(tmp_path: Path) -> None:
    """A card as former rules left it stands as its log gives by today's once the store is
    brought up to date."""
    (before,) = (each for each in RELEASED if each.stem == "0010")
    place = released(before, tmp_path / "store.sqlite3")
    with closing(sqlite3.connect(place)) as raw, raw:
        changed = raw.execute("UPDATE card SET tempo = tempo - 7 WHERE attempts > 0").rowcount
    assert changed > 0
    with open_store(place, now=NOW) as store:
        assert check_store(store) == []


def spelled(place: Path) -> dict[int, tuple[str, str]]:
    """Return each card's chart and line as stored."""
    return {row["id"]: (row["chart"], row["line"]) for row in rows(place)["card"]}


def test_cards_are_spelled_anew_where_the_rules_are_others(tmp_path: Path) -> None:
    """Charts and lines that former rules spelled are as today's would, in every key."""
    (before,) = (each for each in RELEASED if each.stem == "0014")
    untouched, place = (released(before, tmp_path / name) for name in ("one", "other"))
    with closing(sqlite3.connect(place)) as raw, raw:
        raw.execute("""UPDATE card SET chart = replace(chart, 'Eb', 'D#'),
                       line = replace(line, 'Eb', 'D#')""")
    assert spelled(place) != spelled(untouched)
    for each in (untouched, place):
        open_store(each, now=NOW, backups=False).close()
    assert spelled(place) == spelled(untouched)
    with open_store(place, now=NOW) as store:
        for record in list_phrases(store):
            for each in cards_of(store, record.id):
                assert each.chart == phrase_to(phrase(store, record.id).phrase, each.key).chart


def test_which_phrases_break_octaves_is_told_of_their_cards(tmp_path: Path) -> None:
    """Before it was a column, only a card's line whose notes lie otherwise told so."""
    (before,) = (each for each in RELEASED if each.stem == "0015")
    place = released(before, tmp_path / "store.sqlite3")
    with closing(sqlite3.connect(place)) as raw, raw:
        words = "SELECT id, line FROM card WHERE phrase_id = 2 AND position = 5"
        card, line = raw.execute(words).fetchone()
        *others, last = json.loads(line)
        last[2] = f"{last[2][:-1]}{int(last[2][-1]) + 1}"
        changed = json.dumps([*others, last], separators=(",", ":"))
        raw.execute("UPDATE card SET line = ? WHERE id = ?", (changed, card))
    with open_store(place, now=NOW, backups=False) as store:
        told = [number for number in (1, 2, 3) if phrase(store, number).octave_breaks]
    assert told == [2]


@pytest.mark.parametrize(
    "spoiling",
    [
        "phrase SET chart = '[1]'",
        "phrase SET chart = 'no JSON'",
        "phrase SET tags = '5'",
        "phrase SET key = 'H'",
        "card SET key = 'H'",
        "card SET line = '[1'",
    ],
)
def test_what_cannot_be_read_keeps_no_store_from_being_upgraded(
    tmp_path: Path, spoiling: str
) -> None:
    """It is told as ever, and everything else comes to the newest schema and is spelled anew."""
    (before,) = (each for each in RELEASED if each.stem == "0014")
    place = released(before, tmp_path / "store.sqlite3")
    with closing(sqlite3.connect(place)) as raw, raw:
        raw.execute(f"UPDATE {spoiling} WHERE id = 1")
        raw.execute("UPDATE card SET chart = replace(chart, 'Eb', 'D#') WHERE phrase_id > 1")
    with open_store(place, now=NOW) as store:
        assert len(check_store(store)) == 1
    with closing(sqlite3.connect(place)) as raw:
        assert raw.execute("SELECT version_num FROM alembic_version").fetchall() == [(HEAD,)]
        words = "SELECT count(*) FROM card WHERE phrase_id > 1 AND chart LIKE '%D#%'"
        assert raw.execute(words).fetchall() == [(0,)]


def test_how_far_it_is_is_told(tmp_path: Path) -> None:
    """Of the oldest: first of its cards, then of its phrases, each to the last."""
    heard: list[tuple[int, int]] = []
    place = released(RELEASED[0], tmp_path / "store.sqlite3")
    open_store(place, now=NOW, tick=lambda *told: heard.append(told)).close()
    stored = rows(place)
    cards, phrases = len(stored["card"]), len(stored["phrase"])
    assert heard == [(n + 1, of) for of in (cards, phrases) for n in range(of)]


def test_models_and_migrations_agree(store: Store) -> None:
    """Alembic sees nothing to do, and every constraint and index is the models' own."""
    with store.engine.connect() as connection:
        context = MigrationContext.configure(connection, opts={"compare_server_default": True})
        assert compare_metadata(context, metadata) == []
        made = schema(connection)
    fresh = create_engine("sqlite://")
    with fresh.begin() as connection:
        metadata.create_all(connection)
        assert schema(connection) == made
    fresh.dispose()


def schema(connection: Any) -> dict[str, Any]:
    """Return tables with their checks, uniques, keys and indexes, by name."""
    look = inspect(connection)
    return {
        table: {
            "columns": [
                (each["name"], str(each["type"]), each["nullable"])
                for each in look.get_columns(table)
            ],
            "checks": sorted((each["name"], each["sqltext"])
                             for each in look.get_check_constraints(table)),
            "uniques": sorted((each["name"], each["column_names"])
                              for each in look.get_unique_constraints(table)),
            "keys": sorted((each["name"], each["referred_table"], each["constrained_columns"])
                           for each in look.get_foreign_keys(table)),
            "indexes": sorted(
                (each["name"], each["column_names"],
                 str(each.get("dialect_options", {}).get("sqlite_where", "")))
                for each in look.get_indexes(table)
            ),
        }
        for table in look.get_table_names()
        if table != "alembic_version"
    }  # fmt: skip


def test_rebuilding_a_parent_keeps_its_children(later: Path, tmp_path: Path) -> None:
    """Phrases are rebuilt without losing their cards, after a backup of what was before."""
    place = released(RELEASED[0], tmp_path / "store.sqlite3")
    before = rows(place)
    with open_store(place, now=NOW) as store:
        with store.engine.connect() as connection:
            assert connection.exec_driver_sql("PRAGMA foreign_keys").scalar() == 1
        assert len(all_titles(store)) == 3
    after = rows(place)
    assert same_data(before, after)
    assert {row["source"] for row in after["phrase"]} == {"typed"}
    (backup,) = list_backups(place)
    assert backup.reason == "migration"
    assert rows(backup.path) == before


@pytest.mark.parametrize("step", [17, pytest.param(1, marks=pytest.mark.slow)])
def test_a_failure_at_any_statement_leaves_the_old_store_whole(
    later: Path, tmp_path: Path, step: int
) -> None:
    """Whichever statement fails (each seventeenth; all, in the slow run), nothing was changed; the
    retry works.
    """
    failed = 0
    while fails_at(failed + 1, tmp_path / f"store{failed}.sqlite3"):
        failed += step
    assert failed >= 8


def fails_at(number: int, place: Path) -> bool:
    """Fail at one statement; return whether there was one."""
    released(RELEASED[0], place)
    before, seen = rows(place), 0

    def fail(_connection: Any, _cursor: Any, words: str, *_: Any) -> None:
        nonlocal seen
        if not words.lstrip().upper().startswith(("SELECT", "PRAGMA", "BEGIN")):
            seen += 1
            if seen == number:
                raise sqlite3.OperationalError("meant")

    event.listen(Engine, "before_cursor_execute", fail)
    try:
        open_store(place, now=NOW, backups=False).close()
    except (StoreFailure, sqlite3.OperationalError):
        pass
    else:
        return False
    finally:
        event.remove(Engine, "before_cursor_execute", fail)
    assert rows(place) == before
    open_store(place, now=NOW, backups=False).close()
    assert same_data(before, rows(place))
    return True


@pytest.mark.skipif(sys.platform == "win32", reason="Windows can't fork")
@pytest.mark.parametrize("step", ["31", pytest.param("1", marks=pytest.mark.slow)])
def test_a_kill_at_any_statement_leaves_the_old_store_whole(
    later: Path, tmp_path: Path, step: str
) -> None:
    """SIGKILL before each 31st (all, in the slow run) of those that bring an old store up to date
    and of those that make a new one: it is as before; the retry works."""
    old, new = tmp_path / "old.sqlite3", tmp_path / "new.sqlite3"
    released(RELEASED[0], old)
    new.touch()
    done = subprocess.run(
        [sys.executable, "-m", "tests.store.migrating", later, NEXT, step, old, new],
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    of_old, of_new = map(int, done.stdout.split())
    assert of_old >= 8
    assert of_new >= 20


def test_data_that_do_not_fit_are_told(later: Path, tmp_path: Path) -> None:
    """A migration that the data refuse ends in one line; the store is as it was."""
    (later / "versions" / f"{NEXT}_later.py").write_text(
        LATER + "    op.execute(\"UPDATE card SET key = 'C'\")\n"
    )
    place = released(RELEASED[0], tmp_path / "store.sqlite3")
    before = rows(place)
    with pytest.raises(StoreFailure, match="can't be brought to the newest schema") as caught:
        open_store(place, now=NOW)
    assert "nothing was changed" in caught.value.what
    assert rows(place) == before
    assert len(list_backups(place)) == 1


def test_references_that_a_migration_breaks_are_told(later: Path, tmp_path: Path) -> None:
    """Foreign keys are off while migrating, so they are looked at before the end."""
    (later / "versions" / f"{NEXT}_later.py").write_text(
        LATER + '    op.execute("DELETE FROM phrase WHERE id = 1")\n'
    )
    place = released(RELEASED[0], tmp_path / "store.sqlite3")
    before = rows(place)
    with pytest.raises(StoreFailure, match=r"has rows that point at rows that aren't there \(12\)"):
        open_store(place, now=NOW)
    assert rows(place) == before


def test_new_revisions_are_written_in_plain_types(tmp_path: Path) -> None:
    """A revision that alembic drafts names no type of this program or of SQLModel."""
    folder = tmp_path / "migrations"
    shutil.copytree(shipped("migrations"), folder)
    for each in (folder / "versions").glob("*.py"):
        each.unlink()
    (tmp_path / "empty.sqlite3").touch()
    (tmp_path / "alembic.ini").write_text(f"[alembic]\nscript_location = {folder}\n")
    subprocess.run(
        [sys.executable, "-m", "alembic", "-c", "alembic.ini", "-x", "store=empty.sqlite3",
         "revision", "--autogenerate", "--rev-id", "1", "-m", "all"],
        cwd=tmp_path, capture_output=True, check=True,
    )  # fmt: skip
    (drafted,) = (folder / "versions").glob("*.py")
    text = drafted.read_text()
    assert "sa.DateTime(timezone=True)" in text
    assert "sa.JSON()" in text
    assert "sqlmodel" not in text
    assert "drillbox" not in text
