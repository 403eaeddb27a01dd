"""A store that fails in mid-session: the rating is refused, stays, and is stored when it can be."""

from __future__ import annotations

import io
import sqlite3
import sys
from collections.abc import Callable
from contextlib import ExitStack, closing
from pathlib import Path

import pytest

from drillbox.cli import run
from drillbox.cli.context import Asked
from drillbox.errors import ExitCode, StoreFailure
from drillbox.player.in_drill import InDrill
from drillbox.player.session import do, safely
from drillbox.practice import drilling
from drillbox.practice.preferences import preferences_from
from drillbox.store import opening
from drillbox.store.checks import check_store
from drillbox.store.opening import open_store
from drillbox.terminal.presses import Press
from tests.conftest import copied
from tests.store.hardship import lend, no_file_over, public_folder, without_rights
from tests.store.making import NOW, add


class Typing(io.StringIO):
    """Lines that are typed one by one; before each something may happen."""

    def __init__(self, *lines: tuple[str, Callable[[], object] | None]) -> None:
        super().__init__("".join(f"{line}\n" for line, _ in lines))
        self._events = [event for _, event in lines]

    def readline(self, *size: int) -> str:  # type: ignore[override] # as it is called
        if self._events and (event := self._events.pop(0)):
            event()
        return super().readline(*size)


def attempts(place: Path) -> int:
    """Return how many attempts there are, after looking the whole store over."""
    with open_store(place, now=NOW, backups=False) as store:
        assert check_store(store) == []
    with closing(sqlite3.connect(place)) as raw:
        return int(raw.execute("SELECT count(*) FROM attempt").fetchone()[0])


def again(place: Path, monkeypatch: pytest.MonkeyPatch, *typed: str) -> None:
    """Play on by the same line of letters, now that nothing is in the way."""
    monkeypatch.setattr(sys, "stdin", Typing(*((each, None) for each in typed)))
    assert run(["--store", str(place), "drill"]) == ExitCode.OK


@pytest.mark.parametrize(
    ("problem", "told"), [(ValueError("a chart"), StoreFailure), (BrokenPipeError(), OSError)]
)
def test_only_what_is_read_tells_of_the_store(blue_stairs, place, problem, told):
    """Where reading fails the store is looked over; where a pager was left it isn't, damaged or
    not: a look over a large one takes its time."""
    with closing(sqlite3.connect(copied(blue_stairs, place))) as raw, raw:
        raw.execute("UPDATE card SET chart = '{}' WHERE id = 2")
    with pytest.raises(told), Asked(str(place), demo=False, ascii=False, plain=False).opened():
        raise problem


def test_no_room_in_mid_session(kettle, place, monkeypatch, capsys):
    """The letters of a pipe go to no other card: the first refusal ends it; then all is stored."""
    kettle("drill", keys="c\n")
    limit = ExitStack()

    def no_room() -> None:
        limit.enter_context(no_file_over(4096))

    typed = Typing(("c", no_room), ("l", limit.close), ("l", None), ("q", None))
    monkeypatch.setattr(sys, "stdin", typed)
    monkeypatch.setenv("DRILLBOX_NOW", "2026-03-20T18:00:00Z")
    assert run(["--store", str(place), "drill"]) == ExitCode.STORE
    limit.close()
    told = capsys.readouterr()
    assert "room" in told.err
    assert "nothing was stored" in told.err
    assert told.err.count("\n") == 1
    assert ": lost." not in told.out
    assert attempts(place) == 1
    again(place, monkeypatch, "c", "q")
    assert attempts(place) == 2


def test_a_press_after_room_was_made_stores_the_rating_once(kettle, place, monkeypatch):
    """With a player before it nothing ends: the same key once more, and it is there once."""
    with open_store(place, now=NOW, backups=False) as store:
        drill = drilling.Drill(store, preferences_from({}), minutes=20, now=NOW)
        session = InDrill(drill, lambda: NOW, ascii=False)
        with no_file_over(4096):
            refused = safely(lambda: do(session, Press("c"), session.actions())).message
        assert refused.startswith("Not stored: ")
        assert "Press it again" in refused
        assert ": clean." in safely(lambda: do(session, Press("c"), session.actions())).message
    assert attempts(place) == 1


def test_a_drive_that_vanishes_in_mid_session(kettle, place, monkeypatch, capsys):
    """It is named; when the drive is back the rating can be stored."""
    away = place.with_name("away")
    monkeypatch.setattr(sys, "stdin", Typing(("l", lambda: place.rename(away)), ("q", None)))
    assert run(["--store", str(place), "drill"]) == ExitCode.STORE
    assert "is gone or was replaced while it was open" in capsys.readouterr().err
    away.rename(place)
    again(place, monkeypatch, "l", "q")
    assert attempts(place) == 1


def test_a_store_that_is_held_in_mid_session(kettle, place, monkeypatch, capsys):
    """Another program that never lets go: told after the patience is over, stored later."""
    monkeypatch.setattr(opening, "PATIENCE", 100)
    other = sqlite3.connect(place, isolation_level=None)
    typed = Typing(("f", lambda: other.execute("BEGIN IMMEDIATE")), ("f", other.rollback))
    monkeypatch.setattr(sys, "stdin", typed)
    assert run(["--store", str(place), "drill"]) == ExitCode.STORE
    other.close()
    assert "Another program holds the store" in capsys.readouterr().err
    again(place, monkeypatch, "f", "q")
    assert attempts(place) == 1


@pytest.mark.parametrize("words", [("drill",), ("retire", "1"), ("settings", "minutes", "5")])
def test_a_store_that_may_only_be_read(capsys, monkeypatch, words):
    """Looking works; whatever would change it ends with one line and exit code 5."""
    monkeypatch.setattr(sys, "stdin", io.StringIO("c\n"))
    with public_folder() as folder:
        place = folder / "store.sqlite3"
        with open_store(place, now=NOW) as store:
            add(store, "Late kettle")
        lend(place).chmod(0o444)
        with without_rights():
            assert run(["--store", str(place), "phrases"]) == ExitCode.OK
            assert "Late kettle" in capsys.readouterr().out
            code = run(["--store", str(place), *words])
    failed = capsys.readouterr()
    assert code == ExitCode.STORE
    assert "may only be read; nothing was stored" in failed.err
    assert failed.err.count("\n") == 1


@pytest.mark.parametrize(
    ("below", "words", "code"),
    [
        ("in/x.sqlite3", ("phrases",), ExitCode.BAD_INPUT),
        ("x.sqlite3", ("phrases",), ExitCode.STORE),
        ("x.sqlite3", ("store", "list"), ExitCode.BAD_INPUT),
        ("x.sqlite3", ("add", "--dry-run", "--title", "x", "--key", "C", "--tempo", "90",
                       "--chart", "Dm7 G7 | Cmaj7"), ExitCode.BAD_INPUT),
    ],
)  # fmt: skip
def test_a_folder_that_may_not_be_entered_is_told(capsys, below, words, code):
    """A store in it, or below it, where nobody can say whether it is there."""
    with public_folder() as folder:
        (folder / "shut").mkdir(mode=0o000)
        run(["--store", str(folder / "x.sqlite3"), *words])  # loads what nobody may read
        capsys.readouterr()
        with without_rights():
            ended = run(["--store", str(folder / "shut" / below), *words])
    failed = capsys.readouterr()
    assert ended == code
    assert "Permission denied" in failed.err
    assert failed.err.count("\n") == 1


def test_a_shut_folder_of_backups_is_told_and_keeps_no_rating_out(capsys, monkeypatch):
    """In a pipe each letter is stored; that there are backups is hidden from nobody, so that no
    new store is begun in the place of one that is gone."""
    monkeypatch.setattr(sys, "stdin", io.StringIO("c\nl\nq\n"))
    with public_folder() as folder:
        place = folder / "store.sqlite3"
        with open_store(place, now=NOW) as store:
            add(store, "Late kettle")
        shut = place.with_name(f"{place.name}-backups")
        shut.mkdir()
        lend(place)
        lend(shut).chmod(0o000)
        run(["--store", str(folder / "x.sqlite3"), "store", "list"])  # loads what nobody may read
        capsys.readouterr()
        with without_rights():
            assert run(["--store", str(place), "drill"]) == ExitCode.OK
            told = capsys.readouterr()
            assert attempts(place) == 2
            assert run(["--store", str(place), "store", "list"]) == ExitCode.BAD_INPUT
            place.unlink()
            assert run(["--store", str(place), "phrases"]) == ExitCode.BAD_INPUT
        assert not place.exists()
    assert "Stored; but the day's backup failed: " in told.err
    assert "Allow yourself to read and enter it." in told.err


@pytest.mark.parametrize("words", [("drill",), ("phrases",), ("summary",), ("store", "check")])
@pytest.mark.parametrize(
    "content", [b"%PDF-1.7 not a store", b"SQLite format 3\0" + b"\xff" * 5000]
)
def test_a_file_that_is_no_store(drillbox, place, words, content):
    """Any command says so in one line, and leaves the file as it is."""
    place.write_bytes(content)
    ran = drillbox(*words)
    assert ran.code == ExitCode.STORE
    assert ran.err.startswith("drillbox: The store ") or "isn't a drillbox store" in ran.err
    assert ran.err.count("\n") == 1
    assert place.read_bytes() == content


def test_a_second_session_is_told_of_the_first(kettle, place, monkeypatch, capsys):
    """Both store what they rate, one on top of the other."""

    def meanwhile() -> None:
        inner = Typing(("f", None), ("q", None))
        monkeypatch.setattr(sys, "stdin", inner)
        assert run(["--store", str(place), "drill"]) == ExitCode.OK

    monkeypatch.setattr(sys, "stdin", Typing(("c", meanwhile), ("q", None)))
    assert run(["--store", str(place), "drill"]) == ExitCode.OK
    told = capsys.readouterr()
    assert told.out.count("Another session is running, or never ended") == 1
    assert told.err == ""
    assert attempts(place) == 2
    assert "goes 2" in kettle("phrases").out


def test_a_rating_is_not_asked_for_twice(kettle, place, monkeypatch, capsys):
    """Where the store fails after a rating was stored, that is said, and the drill ends."""
    read = drilling.candidates

    def fail_once(store):
        monkeypatch.setattr(drilling, "candidates", read)
        raise StoreFailure("meant")

    def failing() -> None:
        monkeypatch.setattr(drilling, "candidates", fail_once)

    monkeypatch.setattr(sys, "stdin", Typing(("c", failing), ("c", None), ("c", None)))
    assert run(["--store", str(place), "drill"]) == ExitCode.OK
    said = capsys.readouterr().out
    assert "Stored, but the next key can't be read." in said
    assert "Not stored" not in said
    assert attempts(place) == 1


DAMAGES = {
    "a chart": "UPDATE card SET chart = '[[1'",
    "a chord": "UPDATE card SET chart = replace(chart, 'dominant', 'odd')",
    "a line": """UPDATE card SET line = '{"a": 1}'""",
    "a key": "UPDATE card SET key = 'H#' WHERE id = 1",
    "a title": "UPDATE phrase SET title = CAST(x'ff8000' AS TEXT)",
    "a day": "UPDATE card SET due_day = 'soon'",
    "a practice day": "UPDATE attempt SET day = 'soon'",
    "a column": "ALTER TABLE card RENAME COLUMN chart TO chords",
    "a table": "DROP TABLE setting",
}


@pytest.mark.parametrize("what", DAMAGES)
def test_what_cannot_be_read_is_told_in_a_line(kettle, place, what):
    """Values that no drillbox wrote, on whole pages: one line and exit code 5, no traceback."""
    kettle("drill", keys="c\n")
    with closing(sqlite3.connect(place)) as database, database:
        database.execute("PRAGMA ignore_check_constraints = ON")
        database.execute(DAMAGES[what])
    refused = 0
    for words in (("phrases",), ("drill",), ("summary",), ("show", "1"), ("round", "1"),
                  ("store", "check"), ("progress",), ("settings",)):  # fmt: skip
        ran = kettle(*words, keys="h\nh\nh\nc\nq\n")
        assert ran.code in (ExitCode.OK, ExitCode.BAD_INPUT, ExitCode.STORE), words
        if ran.code:
            refused += 1
            assert ran.err.splitlines()[-1].startswith("drillbox: "), words
            assert "Traceback" not in ran.err
    assert refused > 0


def test_ratings_that_vanish_in_mid_session_are_told(kettle, place, monkeypatch, capsys):
    """As when the disk spoils the newest pages: the session's own count shows it at its end."""

    def vanish() -> None:
        with closing(sqlite3.connect(place)) as database, database:
            database.execute("DELETE FROM attempt")

    monkeypatch.setattr(sys, "stdin", Typing(("c", None), ("l", None), ("q", vanish)))
    assert run(["--store", str(place), "drill"]) == ExitCode.OK
    assert (
        "2 of the 2 ratings of this session are no longer in the store" in capsys.readouterr().err
    )
    monkeypatch.setattr(sys, "stdin", Typing(("c", None), ("q", None)))
    assert run(["--store", str(place), "drill"]) == ExitCode.OK
    assert "no longer" not in capsys.readouterr().err


@pytest.mark.parametrize("options", [[], ["--plain"]], ids=["", "--plain"])
def test_an_emoji_where_only_ascii_can_be_written(kettle, place, monkeypatch, options):
    """A note that a terminal can't show is shown with a question mark and no traceback."""
    with closing(sqlite3.connect(place)) as database, database:
        database.execute("UPDATE card SET note = 'thumb \N{THUMBS UP SIGN} up'")
    written = io.BytesIO()
    for stream in ("stdout", "stderr"):
        monkeypatch.setattr(sys, stream, io.TextIOWrapper(written, "ascii", write_through=True))
    monkeypatch.setattr(sys, "stdin", io.StringIO("h\nh\nh\nc\nq\n"))
    assert run(["--store", str(place), *options, "drill"]) == ExitCode.OK
    assert b"thumb ? up" in written.getvalue()


@pytest.mark.parametrize("year", ["0900", "9999", "1970", "2199"])
def test_a_clock_of_no_practice_is_refused(kettle, year):
    """A year that an import would refuse in an export is told, and nothing is stored."""
    ran = kettle("drill", keys="c\n", now=f"{year}-03-01T18:00:00Z")
    assert ran.code == ExitCode.BAD_INPUT
    assert "Set it to a year from 1971 to 2198." in ran.err
