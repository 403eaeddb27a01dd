"""Documents with a wrong value somewhere: refused in a line, or harmless to every command."""

from __future__ import annotations

import copy
import io
import json
import random
import shutil
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from drillbox.cli import run
from drillbox.errors import ExitCode
from drillbox.memory.recall import DEFAULT_WEIGHTS, Recall
from drillbox.music.keys import parse_key
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.tunes import Tune, parse_form
from drillbox.practice.adding import keep, prepare
from drillbox.practice.changing import change_setting
from drillbox.practice.preferences import preferences_from
from drillbox.store.access import Store
from drillbox.store.card_rows import keep_heard, set_note
from drillbox.store.opening import open_store
from drillbox.store.phrase_rows import delete_phrase, retire_phrase
from drillbox.store.setting_rows import set_setting
from drillbox.store.tune_rows import NewTune, add_gig, add_tunes, delete_gig
from drillbox.store.values import HeardAttempt
from tests.store.making import CHART, LINE, NOW, go, session
from tests.store.reading import document

Path_ = tuple[Any, ...]

READING = (
    ["phrases"], ["phrases", "--retired"], ["show", "1"], ["show", "2", "--notes"], ["summary"],
    ["summary", "--json"], ["summary", "--phrase", "1"], ["progress"], ["upcoming"], ["settings"],
    ["tune", "list"],
    ["store", "check"],
)  # fmt: skip
NASTY: tuple[Any, ...] = (
    None, True, False, 0, 1, -1, 3, 12, 10**15, 10**400, -(10**20), 0.5, -0.0, 1e308, "", " ", "x",
    "abc", "nan", "Infinity", "C", "Cm", "H", "Gb", "B#m", "4/4", "0/0", "1/0", "99999/1", "1/3",
    "-1", "C4", "C-99", "Cbbbbbbbbb4", "\x1b]52;c;eA==\x07", "\u202e\u2028", "\ud800", "é" * 300,
    "a" * 100_000, "9999-12-31", "0001-01-01", "2026-02-30", "9999-12-31T23:59:59Z",
    "0001-01-01T00:00:00+14:00", "2026-03-01T18:00:00", "2026-03-01T18:00:00.000000Z",
    "1971-01-01T00:00:00Z", "2198-12-31T23:59:59Z", "Mars/Olympus", "../../etc/passwd", "dominant",
    "pedal", "Tristan", "other", "none", "Neapolitan", "fourths", "own", "drill", "lost", [], {},
    [[]], [None], ["x"], [1, 2, 3], {"a": 1}, [[["0", "4", ["C", "splendid"]]]],
)  # fmt: skip


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, Any]]:
    """Return an empty store, and a document with something in every field."""
    folder = tmp_path_factory.mktemp("sound")
    open_store(folder / "empty.sqlite3", now=NOW, backups=False).close()
    with open_store(folder / "full.sqlite3", now=NOW, backups=False) as store:
        fill(store)
        found = json.loads(json.dumps(document(store)))
    return folder / "empty.sqlite3", found


def fill(store: Store) -> None:
    """Bring in phrases with a pickup, without a line, retired and deleted; rate some."""
    usual = preferences_from({})
    pickup = LineNote(-CHART.meter.beat, CHART.meter.beat, LINE[0].pitch, target=True)
    for title, line in (("Late kettle", (pickup, *LINE)), ("Blue door", ()), ("Gone", LINE)):
        phrase = Phrase(title, parse_key("Bb"), 132, CHART, line)
        keep(store, [prepare(phrase, usual)], NOW)
    at = session(store)
    go(store, 1, at)
    (heard, *_) = go(store, 14, at)
    with store.write() as connection:
        told = HeardAttempt("midi", Recall.CLEAN, Recall.FLUENT, {"missed": 2, "late": [0.5]})
        keep_heard(connection, heard.id, told)
    set_note(store, 2, "thumb", NOW)
    tune = Tune("Corner lamp", parse_key("C"), 120, CHART, parse_form("AB", len(CHART.bars)))
    (added,) = add_tunes(store, [NewTune(tune, ("quartet",))], NOW)
    delete_gig(store, add_gig(store, "Attic", NOW.date(), [], NOW), NOW)
    add_gig(store, "Cellar", NOW.date(), [added], NOW)
    retire_phrase(store, 2, NOW)
    delete_phrase(store, 3, NOW)
    change_setting(store, "instrument", "trombone", NOW)
    change_setting(store, "minutes", "1", NOW)  # short days are soon looked ahead over
    change_setting(store, "listen_to", "Yamaha", NOW)
    change_setting(store, "own_order", "C G D A E B Gb Db Ab Eb Bb F", NOW)
    set_setting(store, "weights", list(DEFAULT_WEIGHTS), NOW)


def places(value: Any, path: Path_ = ()) -> Iterator[Path_]:
    """Yield the path of every value within a document."""
    if path:
        yield path
    if isinstance(value, dict | list):
        inner = value.items() if isinstance(value, dict) else enumerate(value)
        for name, each in inner:
            yield from places(each, (*path, name))


def by_field(found: dict[str, Any]) -> list[list[Path_]]:
    """Return the places of a document together with those of the same field elsewhere."""
    fields: dict[Path_, list[Path_]] = {}
    for path in places(found):
        kind = tuple("*" if isinstance(step, int) else step for step in path)
        fields.setdefault(kind, []).append(path)
    return list(fields.values())


def spoilt(
    found: dict[str, Any], fields: list[list[Path_]], dice: random.Random
) -> tuple[dict[str, Any], list[str]]:
    """Return the document with one to three values replaced, taken away or doubled."""
    broken, done = copy.deepcopy(found), []
    for _ in range(dice.choice((1, 1, 1, 2, 3))):
        path = dice.choice(dice.choice(fields))
        deed = dice.choice(("replace", "replace", "replace", "replace", "remove", "double"))
        try:
            inner: Any = broken
            for step in path[:-1]:
                inner = inner[step]
            value = inner[path[-1]]
            if deed == "replace":
                inner[path[-1]] = copy.deepcopy(dice.choice(NASTY))
            elif deed == "remove":
                del inner[path[-1]]
            elif isinstance(inner, list):
                inner.append(copy.deepcopy(value))
            else:
                inner[f"{path[-1]}2"] = value
        except (LookupError, TypeError):
            continue  # an earlier deed took the place away
        done.append(f"{deed} {path}")
    return broken, done


@pytest.fixture
def command(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Callable[..., int]:
    """Return a function that runs a command on the test's store; no traceback is let through."""

    def ran(*arguments: str, keys: str = "") -> int:
        monkeypatch.setattr(sys, "stdin", io.StringIO(keys))
        code = run(["--store", str(tmp_path / "store.sqlite3"), *arguments])
        said = capsys.readouterr()
        assert "Traceback" not in said.err + said.out
        assert code in set(ExitCode)
        assert len(said.err) < 3000
        return code

    return ran


def accepted(
    number: int, sound: tuple[Path, dict[str, Any]], folder: Path, command: Callable[..., int]
) -> bool:
    """Import one spoilt document; if it is accepted run every command that reads."""
    empty, found = sound
    dice = random.Random(number)
    broken, done = spoilt(found, by_field(found), dice)
    for left in folder.glob("store.sqlite3*"):
        shutil.rmtree(left) if left.is_dir() else left.unlink()
    shutil.copyfile(empty, folder / "store.sqlite3")
    (folder / "in.json").write_text(json.dumps(broken), encoding="utf-8")
    if command("store", "import", str(folder / "in.json")) != ExitCode.OK:
        with open_store(folder / "store.sqlite3", now=NOW, backups=False) as store:
            assert document(store)["phrases"] == [], done
        return False
    for words in READING:
        code = command(*words)
        assert code in {ExitCode.OK, ExitCode.NOT_FOUND}, (number, words, done)
    assert command("report", "--out", str(folder / "r.html"), "--force") == ExitCode.OK, done
    assert command("store", "export", str(folder / "out")) == ExitCode.OK, done
    assert command("drill", keys="h\nc\nl\n") in {ExitCode.OK, ExitCode.NOT_FOUND}, done
    assert command("store", "check") == ExitCode.OK, done
    return True


def test_spoilt_documents_are_refused_or_harmless(sound, tmp_path, command):
    """12 in each run: some are accepted, as what is made anew may be anything."""
    took = sum(accepted(number, sound, tmp_path, command) for number in range(12))
    assert 1 < took < 10


@pytest.mark.slow
@pytest.mark.parametrize("part", range(12))
def test_many_spoilt_documents_are_refused_or_harmless(part, sound, tmp_path, command):
    """3,000 of them, each followed by every command that reads, where it was accepted."""
    numbers = range(1000 + part * 250, 1250 + part * 250)
    took = sum(accepted(number, sound, tmp_path, command) for number in numbers)
    assert took > 15


def test_a_sound_document_is_accepted(sound, tmp_path, command):
    """What all of this rests on: unspoilt it comes in, and every command has work to do."""
    empty, found = sound
    shutil.copyfile(empty, tmp_path / "store.sqlite3")
    (tmp_path / "in.json").write_text(json.dumps(found), encoding="utf-8")
    assert command("store", "import", str(tmp_path / "in.json")) == ExitCode.OK
    assert all(command(*words) == ExitCode.OK for words in READING)
    assert len(by_field(found)) > 90
