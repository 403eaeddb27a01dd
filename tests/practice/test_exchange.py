"""Export and import: open formats, the same bytes each time, and nothing run by a spreadsheet."""

from __future__ import annotations

import csv
import io
import json
import sqlite3
from contextlib import closing
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillbox.errors import BadInput, NotFound, StoreFailure
from drillbox.memory.recall import Recall
from drillbox.music.keys import parse_key
from drillbox.music.phrases import Phrase
from drillbox.music.tunes import Tune
from drillbox.notation import read_bytes, write_abc
from drillbox.output import one_line
from drillbox.practice.keeping import (
    export_store,
    import_export,
)
from drillbox.store.access import Store
from drillbox.store.documents import COLUMNS, _harmless, attempts_csv, snapshot
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import all_titles
from drillbox.store.reckoning import undo_attempt
from drillbox.store.sql import change
from drillbox.store.tune_rows import NewTune, add_tunes
from tests.conftest import copied
from tests.rows import every_row
from tests.store.hardship import public_folder, without_rights
from tests.store.making import CHART, LINE, NOW, add_in_keys, go, session
from tests.store.reading import document

FORMULA = '=HYPERLINK("http://example.org","x")'


@pytest.fixture
def store(made: Path) -> Store:
    """A store with two phrases, one of them with a formula for a title, and three attempts."""
    opened = open_store(made, now=NOW)
    add_in_keys(opened, "Late kettle", FORMULA)
    at = session(opened)
    go(opened, 1, at, (Recall.LOST, Recall.CLEAN))
    (made,) = go(opened, 13, at)
    undo_attempt(opened, made.uid, NOW)
    yield opened
    opened.close()


def test_a_folder_gets_every_format(store: Store, tmp_path: Path) -> None:
    """JSON with its schema, CSV of attempts, ABC of phrases; the player's alone."""
    done = export_store(store, tmp_path / "out", write_abc)
    assert [each.name for each in done.files] == [
        "drillbox.json", "drillbox.schema.json", "attempts.csv", "phrases.abc",
    ]  # fmt: skip
    assert (done.phrases, done.attempts, done.unwritten) == (2, 3, ())
    assert {oct(each.stat().st_mode)[-3:] for each in done.files} == {"600"}
    data, schema = (json.loads(each.read_text("utf-8")) for each in done.files[:2])
    jsonschema.validate(data, schema)
    assert data == document(store)


def test_exporting_again_gives_the_same_bytes(store: Store, tmp_path: Path) -> None:
    """Into the same folder over the former export, and into another one."""
    one = export_store(store, tmp_path / "out", write_abc)
    before = [each.read_bytes() for each in one.files]
    assert [
        each.read_bytes() for each in export_store(store, tmp_path / "out", write_abc).files
    ] == before
    two = export_store(store, tmp_path / "deep" / "other", write_abc)
    assert [each.read_bytes() for each in two.files] == before


def test_the_store_itself_is_not_taken_for_another(store: Store, tmp_path: Path) -> None:
    """Opened by a second handle it would lose its locks; it is refused unread, link or not."""
    link = tmp_path / "link.sqlite3"
    link.symlink_to(tmp_path / "store.sqlite3")
    for source in (tmp_path / "store.sqlite3", link):
        with pytest.raises(BadInput, match="the store itself"):
            import_export(store, source, NOW)


def test_a_single_file_is_the_json(store: Store, tmp_path: Path) -> None:
    """A name in .json gets the document alone."""
    done = export_store(store, tmp_path / "log.json", write_abc)
    assert done.files == (tmp_path / "log.json",)
    assert json.loads(done.files[0].read_text("utf-8")) == document(store)


@pytest.mark.parametrize("source", ["out", "out/drillbox.json", "log.json", "store.sqlite3"])
def test_what_was_exported_comes_back(
    store: Store, empty: Path, tmp_path: Path, source: str
) -> None:
    """A folder, its file, a single file, or another store itself, even while that is open."""
    export_store(store, tmp_path / "out", write_abc)
    export_store(store, tmp_path / "log.json", write_abc)
    with open_store(copied(empty, tmp_path / "other.sqlite3"), now=NOW) as other:
        merged = import_export(other, tmp_path / source, NOW)
        assert (merged.phrases, merged.attempts) == (2, 3)
        assert document(other) == document(store)
        assert import_export(other, tmp_path / source, NOW).nothing


def test_an_export_of_before_twins_were_known_comes_in(
    store: Store, empty: Path, tmp_path: Path
) -> None:
    """It says of no phrase and no tune which other uids it goes by: each has its own alone."""
    tune = Tune("Corner lamp", parse_key("C"), 120, CHART, ())
    add_tunes(store, [NewTune(tune)], NOW)
    data = document(store)
    for each in (*data["phrases"], *data["tunes"]):
        assert each.pop("also") == []
    (tmp_path / "log.json").write_text(json.dumps(data), "utf-8")
    with open_store(copied(empty, tmp_path / "other.sqlite3"), now=NOW) as other:
        import_export(other, tmp_path / "log.json", NOW)
        assert document(other) == document(store)


def test_the_other_uids_of_twins_go_along(store: Store, empty: Path, tmp_path: Path) -> None:
    """Through a file, by its schema."""
    data = document(store)
    data["phrases"][0]["also"] = ["~", "~~"]
    (tmp_path / "log.json").write_text(json.dumps(data), "utf-8")
    with open_store(copied(empty, tmp_path / "other.sqlite3"), now=NOW) as other:
        import_export(other, tmp_path / "log.json", NOW)
        done = export_store(other, tmp_path / "out", write_abc)
    told, schema = (json.loads(each.read_text("utf-8")) for each in done.files[:2])
    assert told == data
    jsonschema.validate(told, schema)


def test_the_other_store_is_left_as_it_is(store: Store, tmp_path: Path) -> None:
    """Reading a store for an import writes nothing to it nor beside it."""
    store.close()
    before = store.place.read_bytes()
    files = set(tmp_path.iterdir())
    with open_store(tmp_path / "new" / "other.sqlite3", now=NOW) as other:
        import_export(other, store.place, NOW)
    assert store.place.read_bytes() == before
    assert set(tmp_path.iterdir()) - files == {tmp_path / "new"}


def test_a_store_behind_a_link_is_read_with_its_wal(store: Store, tmp_path: Path) -> None:
    """What another store's WAL alone holds comes along, though a link leads there."""
    other, link = tmp_path / "other.sqlite3", tmp_path / "links" / "other.sqlite3"
    link.parent.mkdir()
    link.symlink_to(other)
    with open_store(other, now=NOW, backups=False) as theirs:
        add_in_keys(theirs, "Stone step")
        go(theirs, 1, session(theirs), (Recall.CLEAN, Recall.CLEAN, Recall.CLEAN))
        assert import_export(store, link, NOW).attempts == 3
    assert "Stone step" in all_titles(store)


def test_the_csv_has_a_line_for_each_attempt(store: Store) -> None:
    """Undone ones too; a reader of CSV gets back what the document says."""
    data = document(store)
    with snapshot(store) as found:
        head, *lines = csv.reader(io.StringIO("".join(attempts_csv(found))))
    assert tuple(head) == COLUMNS
    first = dict(zip(head, lines[0], strict=True))
    assert first == {
        "at": "2026-03-01T18:00:00.000000Z", "zone": "Europe/Lisbon", "day": "2026-03-01",
        "phrase": "Late kettle", "key": "Bb", "recall": "lost", "tempo": "79", "goal": "132",
        "hint": "0", "seconds": "30.5", "loops": "2", "in_round": "False",
        "due_after": "2026-03-04", "undone_at": "", "uid": data["attempts"][0]["uid"],
    }  # fmt: skip
    undone = [line for line in lines if line[head.index("undone_at")]]
    assert [line[head.index("phrase")] for line in undone] == [f"'{FORMULA}"]


def test_the_csv_has_the_goal_of_the_time(store: Store) -> None:
    """A goal that was set later isn't that of the attempts before."""
    with store.write() as connection:
        connection.execute(change("UPDATE attempt SET goal = 132"))
        connection.execute(change("UPDATE phrase SET tempo = 200"))
    with snapshot(store) as found:
        head, *lines = csv.reader(io.StringIO("".join(attempts_csv(found))))
    assert {line[head.index("goal")] for line in lines} == {"132"}


@every_row(
    "text",
    [
        "=1+1",
        "+1",
        "-1",
        "@SUM(A1)",
        "\t=1",
        "\r=1",
        "\n=1",
        " =1",
        "|cmd",
        "%0A",
        "\uff1d1",
        "\uff0b1",
        "\uff0d1",
        "\uff20A",
        "\ufe661",
        "\u22121",
        "\u200b=1",
        "\ufeff=1",
        "\u2060+1",
        "\u034f=1",
        "\u3164=1",
        "\u00a0\uff1d1",
        "\x00=1",
    ],
)
def test_formula_characters_are_made_harmless(text: str) -> None:
    """The beginnings that OWASP's page on CSV injection names, wide ones, and what hides them."""
    cell = str(_harmless(text))
    assert cell.startswith("'")
    assert cell.endswith(text[-1])


@given(st.text())
def test_no_text_cell_begins_a_formula(text: str) -> None:
    """Whatever a title is: the cell is the title as it is shown, or that behind an apostrophe."""
    cell = str(_harmless(text))
    assert cell in {one_line(text), f"'{one_line(text)}"}
    assert cell.lstrip()[:1] not in {*"=+-@|%"}
    assert cell[:1] not in {"\t", "\r", "\n"}


def test_the_abc_is_read_back(store: Store, tmp_path: Path) -> None:
    """Every phrase is a tune of its own, with chart and line as they were written."""
    (path,) = (
        each for each in export_store(store, tmp_path / "out", write_abc).files
        if each.suffix == ".abc"
    )  # fmt: skip
    reading = read_bytes(path.read_bytes(), path.name)
    assert [tune.index for tune in reading.tunes] == [1, 2]
    phrases = [tune.phrase for tune in reading.tunes]
    assert [each.title for each in phrases if each] == ["Late kettle", FORMULA]
    assert all(each and each.chart == CHART and each.line == LINE for each in phrases)


def test_a_line_that_abc_cannot_hold_is_told(store: Store, tmp_path: Path) -> None:
    """The phrase is written with its chart alone, and its title is named."""

    def refuse_lines(phrase: Phrase, number: int) -> str:
        if phrase.line:
            raise BadInput("meant")
        return write_abc(phrase, number)

    done = export_store(store, tmp_path / "out", refuse_lines)
    assert done.unwritten == ("Late kettle", FORMULA)
    assert "Bb" in done.files[-1].read_text("utf-8")


@pytest.mark.parametrize("name", ["log.json", "out/attempts.csv", "out/phrases.abc"])
def test_another_file_in_the_way_is_left_alone(store: Store, tmp_path: Path, name: str) -> None:
    """Nothing at all is written then."""
    other = tmp_path / name
    other.parent.mkdir(exist_ok=True)
    other.write_text("my own words")
    files = set(tmp_path.rglob("*"))
    with pytest.raises(BadInput, match="is there already, and isn't an export"):
        export_store(store, tmp_path / ("out" if "out" in name else name), write_abc)
    assert other.read_text() == "my own words"
    assert set(tmp_path.rglob("*")) == files


def test_a_place_that_cannot_be_written_is_told(store: Store) -> None:
    """A folder without rights, and a folder that is a file."""
    with public_folder() as folder:
        folder.chmod(0o555)
        with without_rights(), pytest.raises(BadInput, match="Permission denied"):
            export_store(_same(store), folder / "out", write_abc)
    with pytest.raises(BadInput, match="Can't write"):
        export_store(store, store.place / "out", write_abc)


def _same(store: Store) -> Store:
    """Return the store with its connection already open, as nobody couldn't open one."""
    document(store)
    return store


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "can't be used"),
        (b"\xff\xfe\x00", "can't be used"),
        (b"{", "can't be used"),
        (b"[]", "can't be used"),
        (b"[" * 100_000, "can't be used"),
        (b'{"format": "drillbox", "version": 99}', "reads up to 3"),
    ],
)
def test_what_is_no_export_is_refused(
    store: Store, tmp_path: Path, content: bytes, said: str
) -> None:
    """Empty, binary, broken, too deep or too new: one line, and nothing changed."""
    (tmp_path / "in.json").write_bytes(content)
    before = document(store)
    with pytest.raises(BadInput, match=said):
        import_export(store, tmp_path / "in.json", NOW)
    assert document(store) == before


def test_what_is_not_there_is_told(store: Store, tmp_path: Path) -> None:
    """Neither a missing file nor a folder without an export is imported."""
    for source in (tmp_path / "none.json", tmp_path):
        with pytest.raises(NotFound, match="There is no export"):
            import_export(store, source, NOW)


def test_another_programs_database_is_refused(store: Store, tmp_path: Path) -> None:
    """A database that isn't a store is told apart."""
    with closing(sqlite3.connect(tmp_path / "mine.sqlite3")) as raw:
        raw.execute("CREATE TABLE mine (id INTEGER)")
    with pytest.raises(BadInput, match="isn't a drillbox store"):
        import_export(store, tmp_path / "mine.sqlite3", NOW)
    assert all_titles(store) == ["Late kettle", FORMULA]


def test_a_newer_store_is_refused_by_its_own_name(store: Store, tmp_path: Path) -> None:
    """Not by that of the copy that was looked into, which is gone by then."""
    newer = tmp_path / "newer.sqlite3"
    open_store(newer, now=NOW).close()
    with closing(sqlite3.connect(newer)) as raw:
        raw.execute("UPDATE alembic_version SET version_num = '0999'")
        raw.commit()
    with pytest.raises(StoreFailure, match="newer drillbox") as caught:
        import_export(store, newer, NOW)
    assert str(newer) in caught.value.what
