"""A store that can't be used ends every command in one clear line."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from drillbox.errors import ExitCode
from tests.store.test_upgrading import RELEASED, released


def one_line(ran, *said: str) -> None:
    """Check that a command was refused for its store, in a line that says these things."""
    assert ran.code == ExitCode.STORE, ran
    assert ran.err.count("\n") == 1, ran.err
    for each in said:
        assert each in ran.err


@pytest.mark.parametrize("command", [["phrases"], ["drill"], ["summary"], ["upcoming"]])
def test_a_file_that_is_no_store_is_refused_and_left_alone(drillbox, place: Path, command):
    """Somebody's text file is neither read as a store nor overwritten."""
    place.write_text("shopping: reeds, rosin\n" * 20)
    before = place.read_bytes()
    one_line(drillbox(*command), "isn't a drillbox store")
    assert place.read_bytes() == before


def test_a_store_from_a_newer_version_is_refused(kettle, place: Path):
    """What a newer drillbox wrote is left alone, and the remedy is said."""
    with sqlite3.connect(place) as database:
        database.execute("UPDATE alembic_version SET version_num = '9999'")
    database.close()
    one_line(kettle("phrases"), "newer")


def test_a_store_of_an_older_version_is_brought_up_to_date_aloud(drillbox, place: Path):
    """It may take seconds, so the player is told, once; the command does its work."""
    released(RELEASED[0], place)
    ran = drillbox("phrases")
    assert ran.code == 0
    # A busy machine tells as well how far it is.
    assert [line for line in ran.err.splitlines() if not line.endswith("%")] == [
        f"drillbox: The store {place} is of an older drillbox and is being brought up to date."
    ]
    assert "Late kettle" in ran.out
    assert drillbox("phrases").err == ""


def test_a_place_that_is_a_folder(drillbox, place: Path):
    """A folder can't be a store."""
    place.mkdir()
    one_line(drillbox("phrases"))


def test_a_place_where_nothing_can_be_made(drillbox, tmp_path: Path):
    """A path through a file can't hold a store."""
    (tmp_path / "file").write_text("x")
    one_line(drillbox("--store", str(tmp_path / "file" / "store.sqlite3"), "phrases"))


@pytest.mark.parametrize("command", [("phrases",), ("drill",), ("add", "x.abc", "--list")])
def test_a_folder_that_is_not_there_is_not_made(tmp_path: Path, monkeypatch, capsys, command):
    """A slip in the store's place would begin an empty one there; the default place is made."""
    from drillbox.cli import run

    (tmp_path / "x.abc").write_text('X:1\nT:Tin\nM:4/4\nL:1/8\nK:C\n"C"c8|\n')
    monkeypatch.chdir(tmp_path)
    away = tmp_path / "away" / "deep" / "store.sqlite3"
    assert run(["--store", str(away), *command]) == ExitCode.STORE
    said = f"There is no folder {away.parent}. Make it first, or check"
    assert capsys.readouterr().err == f"drillbox: {said} --store.\n"
    monkeypatch.setenv("DRILLBOX_STORE", str(away))
    assert run([*command]) == ExitCode.STORE
    assert capsys.readouterr().err == f"drillbox: {said} DRILLBOX_STORE.\n"
    assert not (tmp_path / "away").exists()
    monkeypatch.delenv("DRILLBOX_STORE")
    assert run(["phrases"]) == ExitCode.OK


@pytest.mark.parametrize("words", [("--store", ""), ("--demo",)])
def test_a_store_of_no_name_or_beside_the_demo_is_refused(drillbox, place: Path, words):
    """In one line, and nothing is made."""
    ran = drillbox(*words, "phrases")
    assert (ran.code, ran.out, ran.err.count("\n")) == (ExitCode.BAD_INPUT, "", 1)
    assert "--store" in ran.err
    assert not place.exists()


def test_the_store_named_by_the_environment(drillbox, tmp_path: Path, monkeypatch):
    """DRILLBOX_STORE is used where --store is not."""
    from drillbox.cli import run

    other = tmp_path / "other.sqlite3"
    monkeypatch.setenv("DRILLBOX_STORE", str(other))
    assert run(["phrases"]) == ExitCode.OK
    assert other.exists()


def test_a_new_store_is_for_its_player_alone(kettle, place: Path):
    """The file's mode is 0600."""
    assert place.stat().st_mode & 0o777 == 0o600


def test_the_demo_leaves_the_players_own_store_alone(
    place: Path, tmp_path, monkeypatch, capsys, short_past: None
):
    """--demo builds in the temporary folder, and says what it is."""
    monkeypatch.setenv("TMPDIR", str(tmp_path / "tmp"))
    (tmp_path / "tmp").mkdir()
    import io
    import sys
    import tempfile

    from drillbox.cli import run

    monkeypatch.setattr(tempfile, "tempdir", None)
    monkeypatch.setenv("DRILLBOX_STORE", str(place))
    assert run(["--demo", "phrases"]) == ExitCode.OK
    captured = capsys.readouterr()
    assert "invented" in captured.err
    assert "Late kettle" in captured.out
    assert not place.exists()
    monkeypatch.setattr(sys, "stdin", io.StringIO("c\n"))
    run(["--demo", "drill"])
    assert "1 go in" in capsys.readouterr().out
