"""A store on PostgreSQL does all that a file does, and loses nothing when the server goes."""

from __future__ import annotations

import json
import sqlite3
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import BOOLEAN, DATE, Engine, MetaData, create_engine, event, text
from sqlalchemy.dialects.postgresql import JSON, TIMESTAMP
from sqlalchemy.exc import IntegrityError

from drillbox.cli import run
from drillbox.errors import BadInput, ExitCode, NotFound, StoreFailure
from drillbox.memory.recall import Recall
from drillbox.memory.rules import Rules
from drillbox.music.analysis.whole import analyse, analysis_json
from drillbox.practice.keeping import mend
from drillbox.practice.preferences import preferences_from
from drillbox.store import server as server_module
from drillbox.store import upgrading
from drillbox.store.access import Store
from drillbox.store.card_rows import (
    candidates,
    card,
    cards_of,
    due_counts,
    record_attempt,
    set_note,
)
from drillbox.store.checks import check_store
from drillbox.store.first_tries import evidence, open_cards
from drillbox.store.log import attempted_of, ever_first, recent_attempts, sums_by_day
from drillbox.store.merging import merge
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import (
    all_titles,
    find_phrase,
    list_phrases,
    restore_phrase,
    retire_phrase,
)
from drillbox.store.reckoning import undo_attempt
from drillbox.store.sessions import end_session, open_sessions
from drillbox.store.setting_rows import get_settings, set_setting
from drillbox.store.sql import HEAD
from drillbox.store.tune_rows import (
    add_gig,
    add_tunes,
    delete_gig,
    delete_tune,
    find_gig,
    find_tune,
    list_gigs,
    list_tunes,
)
from drillbox.store.values import CardMoved, NewAttempt
from tests.cli.test_store_faults import Typing
from tests.conftest import Ran
from tests.store.at_once import at_once, ratings_of
from tests.store.making import DAY, NOW, ZONE, add, go, session, step
from tests.store.reading import attempts_of, document, members_in, opened_on
from tests.store.serving import PASSWORD, Server, served
from tests.store.test_tune_rows import FRIDAY, new_tune
from tests.store.test_upgrading import NEXT, RELEASED, released, ship_later

ROOT = Path(__file__).parents[2]
RULES = Rules()
LOOKED_AT = {*RELEASED[::4], *RELEASED[-3:]}  # in each run; at all in the slow one


@pytest.fixture(scope="module")
def server() -> Iterator[Server]:
    """A server for all tests of this file."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PGPASSWORD", PASSWORD)
        with served() as running:
            yield running


@pytest.fixture
def address(server: Server, monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> str:
    """The address of an empty database; where a test asks for a store too, there is one in it."""
    monkeypatch.setenv("PGPASSWORD", PASSWORD)
    return server.made() if "store" in request.fixturenames else server.database()


@pytest.fixture
def store(address: str) -> Iterator[Store]:
    """A new, empty, open store on the server."""
    with open_store(address, now=NOW) as opened:
        yield opened


@pytest.fixture
def old(tmp_path: Path) -> Iterator[Store]:
    """A file with everything in it."""
    place = released(RELEASED[-1], tmp_path / "old.sqlite3")
    with open_store(place, now=NOW) as opened:
        records = [find_phrase(opened, title) for title in all_titles(opened)]
        anew = [(json.dumps(analysis_json(analyse(r.phrase))), r.id) for r in records]
        with closing(sqlite3.connect(place)) as raw, raw:  # as an import makes it, by today's rules
            raw.executemany("UPDATE phrase SET analysis = ? WHERE id = ?", anew)
        yield opened


def test_everything_reads_as_it_does_from_a_file(store: Store, old: Store) -> None:
    """A file's whole log, brought to the server, gives the same answer to every question."""
    merge(store, members_in(json.loads(json.dumps(document(old)))), preferences_from)
    questions: list[Any] = [
        document,
        candidates,
        all_titles,
        list_phrases,
        get_settings,
        open_cards,
        lambda each: list_phrases(each, retired=True),
        lambda each: [cards_of(each, number) for number in (1, 2, 3)],
        lambda each: find_phrase(each, "ça va"),
        lambda each: due_counts(each, DAY),
        lambda each: opened_on(each, DAY),
        lambda each: evidence(each, DAY + timedelta(days=9), DAY, 30.0),
        lambda each: [day._replace(tempo=round(day.tempo, 9)) for day in sums_by_day(each, DAY)],
        lambda each: recent_attempts(each, 5),
        lambda each: sorted(ever_first(each, DAY + timedelta(days=999), 99)),
        lambda each: open_sessions(each, NOW + timedelta(days=3)),
        lambda each: [
            [(a.uid, a.at, a.first_of_day and not a.undone_at, attempted_of(a)) for a in found]
            for found in (
                attempts_of(each, 1), attempts_of(each, 13, undone=True), attempts_of(each, 2),
            )
        ],
    ]  # fmt: skip
    for question in questions:
        assert question(store) == question(old)
    assert check_store(store) == []


def test_the_main_job(store: Store) -> None:
    """Bring in, rate, take back, note, set, retire, end: each is there for the next program."""
    add(store, "Late kettle", "Blue door")
    at = session(store)
    before = card(store, 1)
    attempted, after = step(before.state, Recall.CLEAN, DAY)
    new = NewAttempt(1, at, NOW, ZONE, attempted._replace(in_round=True), 0, 30.5, 2)
    made = record_attempt(store, new, after)
    with open_store(store.engine.url.render_as_string(), now=NOW) as other:
        assert attempts_of(other, 1) == [made]
        assert card(other, 1).state == after
        assert [each.id for each in open_sessions(other, NOW)] == [at]
    undo_attempt(store, made.uid, NOW)
    assert card(store, 1) == before
    go(store, 1, at, (Recall.LOST, Recall.FLUENT))
    set_note(store, 1, "thumb; '[/]'", NOW)
    set_setting(store, "minutes", 30)
    set_setting(store, "minutes", {"a": [0.5, "x"]})
    assert get_settings(store) == {"minutes": {"a": [0.5, "x"]}}
    retire_phrase(store, 2, NOW)
    assert [each.title for each in list_phrases(store)] == ["Late kettle"]
    restore_phrase(store, 2, NOW)
    end_session(store, at, NOW)
    assert open_sessions(store, NOW) == []
    assert check_store(store) == []
    assert mend(store, preferences_from({}), NOW).findings == ()
    with pytest.raises(BadInput, match="already"):
        add(store, "late KETTLE")
    with pytest.raises(NotFound):
        find_phrase(store, "zzz")


def test_tunes_and_gigs(store: Store) -> None:
    """They come back as they went in, in order, and a deleted tune leaves its gig."""
    one, two = add_tunes(store, [new_tune("One", "quartet"), new_tune("Two")], NOW)
    gig = add_gig(store, "Friday", FRIDAY, [two, one], NOW)
    assert (find_tune(store, "one"), find_gig(store, "fri")) == (one, gig)
    with pytest.raises(BadInput, match="There is a tune 'One' already"):
        add_tunes(store, [new_tune("Three"), new_tune("one")], NOW)
    delete_tune(store, two, NOW)
    assert [each.title for each in list_gigs(store)[0].tunes] == ["One"]
    delete_gig(store, gig, NOW)
    assert (list_gigs(store), list_tunes(store)) == ([], [one])


def test_a_card_that_moved_is_not_overwritten(store: Store) -> None:
    """The guard against lost updates holds here too."""
    add(store, "Late kettle")
    at = session(store)
    seen = card(store, 1).state
    go(store, 1, at)
    attempted, after = step(seen, Recall.LOST, DAY)
    with pytest.raises(CardMoved):
        record_attempt(store, NewAttempt(1, at, NOW, ZONE, attempted, 0), after)
    assert len(attempts_of(store, 1)) == 1


def test_half_a_change_is_none(store: Store) -> None:
    """An attempt whose card can't be moved isn't stored."""
    add(store, "Late kettle")
    at = session(store)
    attempted, after = step(card(store, 1).state, Recall.CLEAN, DAY)
    impossible = after._replace(tempo=after.tempo._replace(tempo=401))
    with pytest.raises(IntegrityError, match="ck_card_tempo"):
        record_attempt(store, NewAttempt(1, at, NOW, ZONE, attempted, 0), impossible)
    assert attempts_of(store, 1, undone=True) == []


def raw(address: str) -> Engine:
    """Return an engine of one's own on a database."""
    return create_engine(address)


def content(address: str) -> dict[str, Any]:
    """Return every row of every table."""
    engine = raw(address)
    with engine.connect() as connection:
        names = connection.execute(text(server_module.TABLES)).scalars().all()
        found = {
            name: connection.execute(text(f'SELECT * FROM "{name}" ORDER BY 1')).mappings().all()
            for name in sorted(names)
        }
    engine.dispose()
    return {name: [dict(row) for row in rows] for name, rows in found.items()}


def copy(place: Path, address: str) -> None:
    """Copy every row of a file into a database of the same schema, whatever schema that is."""
    kinds: dict[type, Any] = {
        JSON: lambda value: json.loads(value) if isinstance(value, str) else value,
        TIMESTAMP: lambda text: datetime.fromisoformat(text).replace(tzinfo=UTC),
        DATE: date.fromisoformat,
        BOOLEAN: bool,
    }
    engine, tables = raw(address), MetaData()
    tables.reflect(engine)
    with closing(sqlite3.connect(place)) as file, engine.begin() as connection:
        file.row_factory = sqlite3.Row
        for table in tables.sorted_tables:
            if table.name == "alembic_version":
                continue
            read = {column.name: kinds.get(type(column.type), lambda value: value)
                    for column in table.columns}  # fmt: skip
            for row in file.execute(f'SELECT * FROM "{table.name}"'):
                values = {name: None if value is None else read[name](value)
                          for name, value in dict(row).items()}  # fmt: skip
                connection.execute(table.insert(), values)
    engine.dispose()


@pytest.mark.parametrize(
    "dump",
    [
        pytest.param(dump, id=dump.stem, marks=() if dump in LOOKED_AT else pytest.mark.slow)
        for dump in RELEASED
    ],
)
def test_every_released_schema_comes_to_the_newest(
    address: str, dump: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A database left at a revision, with a file's data in it, is whole after opening: at each
    fourth and the newest three, in the slow run at all."""
    until(monkeypatch, dump.stem)
    place = released(dump, tmp_path / "old.sqlite3")
    open_store(address, now=NOW).close()
    copy(place, address)
    monkeypatch.undo()
    with open_store(place, now=NOW, backups=False) as migrated:
        before = document(migrated)
    monkeypatch.setenv("PGPASSWORD", PASSWORD)
    told: list[str] = []
    with open_store(address, now=NOW, tell=told.append) as store:
        assert len(told) == (dump.stem != HEAD)
        assert document(store) == before
        assert check_store(store) == []
    assert content(address)["alembic_version"] == [{"version_num": HEAD}]


def until(monkeypatch: pytest.MonkeyPatch, head: str) -> None:
    """Pretend that ``head`` is the newest revision."""
    upgrade = upgrading.command.upgrade
    monkeypatch.setattr(server_module, "HEAD", head)
    monkeypatch.setattr(upgrading.command, "upgrade", lambda setup, _: upgrade(setup, head))


@pytest.fixture
def later(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Pretend that a newer schema was shipped; return its folder of migrations."""
    monkeypatch.setattr(server_module, "HEAD", NEXT)
    return ship_later(tmp_path, monkeypatch)


def test_a_migration_that_fails_at_any_statement_changes_nothing(
    address: str, old: Store, later: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whichever statement fails, the old store is whole, and the retry works."""
    with monkeypatch.context() as before_later:
        until(before_later, HEAD)
        with open_store(address, now=NOW) as store:
            merge(store, members_in(document(old)), preferences_from)
    before = content(address)
    failed = 0
    while fails_at(failed + 1, address):
        assert content(address) == before
        failed += 1
    assert failed >= 4
    after = content(address)
    assert {row["source"] for row in after["phrase"]} == {"typed"}
    assert after["card"] == before["card"]
    assert after["attempt"] == before["attempt"]


def fails_at(number: int, address: str) -> bool:
    """Fail at one statement that changes something; return whether there was one."""
    seen = 0

    def fail(_connection: Any, _cursor: Any, words: str, *_: Any) -> None:
        nonlocal seen
        if not words.lstrip().upper().startswith("SELECT"):
            seen += 1
            if seen == number:
                raise ZeroDivisionError

    event.listen(Engine, "before_cursor_execute", fail)
    try:
        open_store(address, now=NOW).close()
    except ZeroDivisionError:
        return True
    finally:
        event.remove(Engine, "before_cursor_execute", fail)
    return False


WIDE = "Ça va œ \N{MUSIC SHARP SIGN} 日本 \N{SAXOPHONE}"


def test_a_database_without_an_encoding_holds_any_title(
    server: Server, capsys: pytest.CaptureFixture[str]
) -> None:
    """SQL_ASCII stores bytes as they come: all is UTF-8 on its way in and out. Bytes of another
    program's that are no text are told in a line."""
    place = server.database("SQL_ASCII")
    with open_store(place, now=NOW) as store:
        add(store, WIDE)
        go(store, 1, session(store))
    with open_store(place, now=NOW) as store:
        assert all_titles(store) == [WIDE]
        assert check_store(store) == []
        with store.write() as connection:
            connection.exec_driver_sql(r"UPDATE drill_session SET zone = E'\xff'")
        with pytest.raises(StoreFailure, match="holds text that can't be decoded"):
            document(store)
        (finding,) = check_store(store)
        assert finding.grave
    assert run(["--store", place, "store", "check"]) == ExitCode.STORE
    assert capsys.readouterr().err.endswith("Ask whoever runs the server for a backup.\n")


def test_a_check_looks_at_one_moment(address: str) -> None:
    """A rating that another program stores between two of its queries isn't a fault."""
    with open_store(address, now=NOW) as store, open_store(address, now=NOW) as other:
        add(store, "Late kettle")
        at = session(store)
        go(store, 1, at)
        rated = []

        def rate(connection: Any, cursor: Any, words: str, *_: Any) -> None:
            if not rated and "FROM card JOIN phrase" in words:
                rated.append(words)
                go(other, 1, at)

        event.listen(store.engine, "before_cursor_execute", rate)
        assert check_store(store) == []
        assert rated


def test_a_database_that_lacks_characters_is_refused_when_it_is_new(server: Server) -> None:
    """In a line, with the command that makes another; one that is a store already goes on, and
    only what it can't hold is refused."""
    place = server.database("LATIN1")
    with pytest.raises(StoreFailure, match="keeps text as LATIN1, which lacks many characters"):
        open_store(place, now=NOW)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(server_module, "_refuse_other_text", lambda *_: None)
        store = open_store(place, now=NOW)
    with store:
        add(store, "Ça va")
        with pytest.raises(StoreFailure, match="lacks a character") as caught:
            add(store, WIDE)
        assert "nothing was stored" in caught.value.what
        assert all_titles(store) == ["Ça va"]


def test_a_newer_store_is_refused(address: str, store: Store) -> None:
    """A schema that this program doesn't know is left alone."""
    with store.engine.begin() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '0999'"))
    with pytest.raises(StoreFailure, match=r"newer drillbox \(schema 0999\)"):
        open_store(address, now=NOW)


def test_another_programs_database_is_refused(address: str) -> None:
    """Tables of others aren't mixed with ours."""
    engine = raw(address)
    with engine.begin() as connection:
        connection.execute(text("CREATE TABLE mine (id int)"))
    with pytest.raises(StoreFailure, match="holds something else"):
        open_store(address, now=NOW)
    assert list(content(address)) == ["mine"]
    engine.dispose()


def test_twenty_sessions_at_once(address: str, store: Store) -> None:
    """For half a second on the same twelve cards: none is refused, nothing is lost."""
    add(store, "Late kettle")
    told = at_once(address, 12, 0.5, *["rate"] * 20)
    assert all(stored > 0 for stored, *_ in told)
    logs = {card_id: attempts_of(store, card_id) for card_id in range(1, 13)}
    assert sum(map(len, logs.values())) == sum(stored for stored, *_ in told)
    for card_id, log in logs.items():
        state = card(store, card_id).state
        assert state.attempts == len(log)
        assert ratings_of(log, RULES) == state
    assert check_store(store) == []


@pytest.mark.parametrize("how", ["fast", "immediate"])
def test_a_server_that_goes_and_comes_back(server: Server, store: Store, how: str) -> None:
    """No acknowledged rating is lost, the player is told in one line, and the retry works."""
    add(store, "Late kettle")
    at = session(store)
    made = go(store, 1, at, (Recall.LOST, Recall.CLEAN, Recall.FLUENT))
    server.stop(how)
    try:
        for _ in range(2):
            with pytest.raises(StoreFailure) as caught:
                go(store, 1, at)
            assert "nothing was stored" in caught.value.what
            assert PASSWORD not in caught.value.line()
    finally:
        server.start()
    assert attempts_of(store, 1) == made
    go(store, 1, at, at=NOW + timedelta(hours=1))
    assert len(attempts_of(store, 1)) == 4
    assert check_store(store) == []


def test_a_session_cut_off_in_mid_transaction(store: Store) -> None:
    """The server's keeper ends the connection within a change: it is as if never begun."""
    add(store, "Late kettle")
    before = document(store)

    def cut_off() -> None:
        with store.write() as connection:
            connection.exec_driver_sql("DELETE FROM card")
            connection.exec_driver_sql("SELECT pg_terminate_backend(pg_backend_pid())")

    with pytest.raises(StoreFailure, match="nothing was stored"):
        cut_off()
    assert document(store) == before


def test_another_program_that_holds_the_store(
    address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A writer that never lets go is waited for, then named."""
    monkeypatch.setattr(server_module, "PATIENCE", 100)
    with open_store(address, now=NOW) as one, open_store(address, now=NOW) as two:
        add(one, "Late kettle")
        with one.write():
            began = time.monotonic()
            with pytest.raises(StoreFailure, match="Another program holds the store"):
                add(two, "Blue door")
            assert time.monotonic() - began < 5
        add(two, "Blue door")
        assert all_titles(one) == ["Late kettle", "Blue door"]


def test_a_password_is_asked_for_and_never_shown(
    address: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """From the environment or a password file; without one or a wrong one, a clear line."""
    monkeypatch.setenv("PGPASSWORD", "wrong")
    with pytest.raises(StoreFailure, match="doesn't let you in") as caught:
        open_store(address, now=NOW)
    assert "PGPASSWORD or a password file" in caught.value.remedy
    monkeypatch.delenv("PGPASSWORD")
    monkeypatch.setenv("PGPASSFILE", str(tmp_path / "none"))
    with pytest.raises(StoreFailure, match="doesn't let you in"):
        open_store(address, now=NOW)
    passwords = tmp_path / "passwords"
    passwords.write_text(f"*:*:*:*:{PASSWORD}\n")
    passwords.chmod(0o600)
    monkeypatch.setenv("PGPASSFILE", str(passwords))
    with open_store(address, now=NOW) as store:
        assert PASSWORD not in store.name


def test_a_database_or_server_that_is_not_there(
    server: Server, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each is told apart."""
    monkeypatch.setenv("PGPASSWORD", PASSWORD)
    with pytest.raises(StoreFailure, match=r"no such database|can't be reached"):
        open_store(server.address("nowhere"), now=NOW)
    with pytest.raises(StoreFailure, match="can't be reached"):
        open_store("postgresql://keeper@127.0.0.1:1/x", now=NOW)


def test_a_store_on_a_server_has_no_file(store: Store) -> None:
    """What only a file has ends in a clear line."""
    with pytest.raises(BadInput, match="is on a server"):
        _ = store.place


def test_a_user_who_may_only_look(server: Server, address: str, store: Store) -> None:
    """Reading works, a change is refused by name."""
    add(store, "Late kettle")
    with store.engine.begin() as connection:
        connection.execute(text("DROP ROLE IF EXISTS looker"))
        connection.execute(text(f"CREATE ROLE looker LOGIN PASSWORD '{PASSWORD}'"))
        connection.execute(text("GRANT SELECT ON ALL TABLES IN SCHEMA public TO looker"))
    looking = server.address(address.rpartition("/")[2], user="looker")
    with open_store(looking, now=NOW) as seen:
        assert all_titles(seen) == ["Late kettle"]
        with pytest.raises(StoreFailure, match="You may not do that"):
            set_setting(seen, "a", 1)
    with store.engine.begin() as connection:
        connection.execute(text("DROP OWNED BY looker"))
        connection.execute(text("DROP ROLE looker"))


def test_commands_work_on_a_server(address: str, drillbox: Callable[..., Ran]) -> None:
    """The command line takes an address where it takes a path."""
    add_phrase = ["add", "--title", "Late kettle", "--key", "Bb", "--tempo", "132",
                  "--chart", "Cm7 F7 | Bbmaj7 (G7)"]  # fmt: skip
    commands = (add_phrase, ["drill"], ["phrases"], ["summary"], ["upcoming", "--days", "2"])
    for words, keys in zip(commands, ("", "c\nl\nu\n", "", "", ""), strict=True):
        ran = drillbox("--store", address, *words, keys=keys)
        assert ran.code == 0, ran.err


def test_a_drill_outlives_its_server(
    server: Server,
    address: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Stopped between two ratings: told in a line, which ends a pipe; nothing is lost."""
    with open_store(address, now=NOW) as store:
        add(store, "Late kettle", "Blue door")
    typed = Typing(("c", None), ("l", server.stop), ("q", None))
    monkeypatch.setattr(sys, "stdin", typed)
    try:
        assert run(["--store", address, "drill"]) == 5
    finally:
        server.start()
    told = capsys.readouterr()
    assert told.out.count(": clean.") == 1
    assert "nothing was stored" in told.err
    monkeypatch.setattr(sys, "stdin", Typing(("l", None), ("f", None), ("q", None)))
    assert run(["--store", address, "drill"]) == 0
    with open_store(address, now=NOW) as store:
        logs = [each for number in range(1, 25) for each in attempts_of(store, number)]
        assert sorted(each.recall for each in logs) == [Recall.LOST, Recall.CLEAN, Recall.FLUENT]
        assert check_store(store) == []


def test_what_only_a_file_has_is_refused_in_a_line(
    address: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """Backups and restoring end with exit code 3 and the way to do it; an export works."""
    with open_store(address, now=NOW) as store:
        add(store, "Late kettle")
    for words in (["backup"], ["list"], ["restore", "x"]):
        assert run(["--store", address, "store", *words]) == 3
        failed = capsys.readouterr()
        assert "drillbox store export DIR" in failed.err
        assert failed.err.count("\n") == 1
    assert run(["--store", address, "store", "check"]) == 0
    assert run(["--store", address, "store", "export", str(tmp_path / "out")]) == 0
    assert run(["--store", str(tmp_path / "file"), "store", "import", str(tmp_path / "out")]) == 0
    assert "Added 1 phrase" in capsys.readouterr().out
