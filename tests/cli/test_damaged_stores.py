"""Damaged store files: every command that reads ends in a line or works, and damage is told."""

from __future__ import annotations

import json
import os
import random
import shutil
import sqlite3
import struct
from collections.abc import Callable, Sequence
from contextlib import closing
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from drillbox.cli import run
from drillbox.errors import DrillboxError, ExitCode
from drillbox.memory.recall import Recall
from drillbox.store.files import beside
from drillbox.store.opening import open_store
from drillbox.store.setting_rows import set_setting
from tests.store.hardship import cut, flip, spoil_text
from tests.store.making import NOW, add_in_keys, go, session
from tests.store.reading import document

READING = (
    ["phrases"], ["show", "1"], ["summary"], ["summary", "--json"], ["progress"], ["upcoming"],
    ["settings"], ["fits", "1"], ["tune", "list"], ["gig", "list"],
)  # fmt: skip
WRITING = (["edit", "2", "--goal", "120"], ["edit", "--undo"])
PAGE = 4096


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """Return a store of some dozens of pages and a WAL of twenty ratings, and what it holds."""
    folder = tmp_path_factory.mktemp("sound")
    place, copy = folder / "first.sqlite3", folder / "sound.sqlite3"
    with open_store(place, now=NOW, backups=False) as store:
        set_setting(store, "minutes", 1)  # short days are soon looked ahead over
        add_in_keys(store, *(f"Title {number}" for number in range(4)))
        at = session(store)
        for card_id in range(1, 40):
            go(store, card_id, at, (Recall.LOST, Recall.CLEAN))
    with open_store(place, now=NOW, backups=False) as store:
        at = session(store)
        for card_id in range(1, 21):
            go(store, card_id, at, at=NOW + timedelta(minutes=card_id))
        for end in ("", "-wal"):  # as a power cut leaves them
            shutil.copyfile(beside(place, end), beside(copy, end))
        return copy, json.dumps(document(store))


def spoil(place: Path, number: int) -> str:
    """Damage a store, its file or its WAL; return how."""
    dice = random.Random(number)
    wal = beside(place, "-wal")
    kind = ("noise", "zeros", "swapped", "cut", "log", "log header", "log cut")[number % 7]
    if kind in {"noise", "zeros", "swapped", "cut"}:
        with closing(sqlite3.connect(place)) as raw:
            raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    pages = place.stat().st_size // PAGE
    if kind == "noise":
        flip(place, number)
    elif kind == "cut":
        cut(place, number)
    elif kind == "log cut":  # in mid-commit: nobody was told that it is stored
        frames = (wal.stat().st_size - 32) // (24 + PAGE)
        os.truncate(wal, 32 + _last_commit(wal, frames) * (24 + PAGE) + dice.randrange(1, 4000))
    elif kind in {"log", "log header"}:
        data = bytearray(wal.read_bytes())
        data[dice.randrange(32, len(data)) if kind == "log" else dice.randrange(32)] ^= 0xFF
        wal.write_bytes(data)
    else:
        data = bytearray(place.read_bytes())
        one, other = (dice.randrange(1, pages) * PAGE for _ in range(2))
        first, second = data[one : one + PAGE], data[other : other + PAGE]
        data[one : one + PAGE] = bytes(PAGE) if kind == "zeros" else second
        if kind == "swapped":
            data[other : other + PAGE] = first
        place.write_bytes(data)
    return kind


def _last_commit(wal: Path, frames: int) -> int:
    data = wal.read_bytes()
    return max(
        n for n in range(frames) if struct.unpack_from(">I", data, 32 + n * (24 + PAGE) + 4)[0]
    )


@pytest.fixture
def look(
    sound: tuple[Path, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> Callable[[int], tuple[str, bool, bool]]:
    """Return a function that damages a store, reads it by every command, and then writes to it.

    It returns how the store was damaged, whether that was told, and whether anything is lost.
    """
    whole, holds = sound
    place, later = tmp_path / "store.sqlite3", tmp_path / "later.json"
    later.write_text(json.dumps(changed_later(json.loads(holds))))

    def looked(number: int) -> tuple[str, bool, bool]:
        shutil.rmtree(beside(place, "-backups"), ignore_errors=True)
        for left in tmp_path.glob("store.sqlite3*"):
            left.unlink()
        for end in ("", "-wal"):
            shutil.copyfile(beside(whole, end), beside(place, end))
        kind = spoil(place, number)
        before = place.read_bytes() if kind in {"noise", "zeros", "cut"} else None
        said, failed = "", False
        for words in (*READING, ["store", "check"]):
            code = run(["--store", str(place), *words])
            told = capsys.readouterr()
            assert "Traceback" not in told.out + told.err, (number, kind, words)
            assert code in set(ExitCode) - {ExitCode.INTERNAL}, (number, kind, words, told.err)
            assert len(told.err) < 2000
            said += told.err
            failed |= code == ExitCode.STORE
        if before is not None:
            assert place.read_bytes() == before, (number, kind)
        checked = code == ExitCode.OK and "Nothing is wrong" in told.out
        damage_told = "damaged" in said or "isn't a drillbox store" in said or not checked
        assert damage_told or not failed, (number, kind, said)
        lost = held(place) != holds
        for words in (["store", "import", str(later)], *WRITING):
            code = run(["--store", str(place), *words])
            told = capsys.readouterr()
            assert "Traceback" not in told.out + told.err, (number, kind, words)
            assert code in set(ExitCode) - {ExitCode.INTERNAL}, (number, kind, words, told.err)
        return kind, damage_told, lost

    return looked


def changed_later(found: dict[str, Any]) -> dict[str, Any]:
    """Return a document with its first phrase changed later than any other store has it."""
    first, *others = found["phrases"]
    first |= {"tempo": 111, "changed_at": (NOW + timedelta(days=9)).isoformat()}
    return {**found, "phrases": [first, *others]}


def held(place: Path) -> str | None:
    """Return what a store holds, None where it can't be read."""
    try:
        with open_store(place, now=NOW, backups=False) as store:
            return json.dumps(document(store))
    except (DrillboxError, ValueError, TypeError):
        return None


def all_told(numbers: Sequence[int], look: Callable[[int], tuple[str, bool, bool]]) -> None:
    """Damage so many stores; where anything is lost or can't be read, it was told."""
    lost = 0
    for number in numbers:
        kind, told, differs = look(number)
        lost += differs
        if kind != "log cut":  # what was cut off there was never acknowledged
            assert told or not differs, (number, kind)
    assert lost >= len(numbers) // 3


def test_damaged_stores_are_told(look) -> None:
    """A page of noise, two pages swapped, a flipped byte in the log."""
    all_told((0, 2, 4), look)


@pytest.mark.slow
@pytest.mark.parametrize("part", range(7))
def test_many_damaged_stores_are_told(part: int, look) -> None:
    """140 of them: pages of noise, of zeros and swapped, cut off, flipped bytes in the log."""
    all_told(range(100 + part * 20, 120 + part * 20), look)


NAMES = {"sqlite_autoindex_alembic_version": True, "drill_session": True, "ix_attempt_card": False}


@pytest.mark.parametrize("name", NAMES)
def test_a_flipped_bit_in_a_name_of_the_schema(kettle, place: Path, name: str) -> None:
    """SQLite's own words can't be read then: damage is told in a line, by every command where
    nothing can be read and else by a check. A restore mends it, and neither a restore nor an
    import takes such a file in."""
    kettle("drill", keys="c\n")
    kettle("store", "backup")
    (backup,) = place.with_name(f"{place.name}-backups").glob("*-asked.sqlite3")
    hurt = Path(shutil.copyfile(place, place.with_name("hurt.sqlite3")))
    spoil_text(hurt, name)
    for words in ("restore", "import"):
        refused = kettle("store", words, str(hurt))
        assert refused.code in (ExitCode.STORE, ExitCode.BAD_INPUT), refused
        assert "is not whole" in refused.err or "or a damaged one" in refused.err
        assert refused.err.count("\n") == 1
    assert "goes 1" in kettle("phrases").out
    spoil_text(place, name)
    for words in (*(READING if NAMES[name] else ()), ["store", "check"]):
        ran = kettle(*words)
        assert (ran.code, ran.err.count("\n")) == (ExitCode.STORE, 1), ran.err
        assert "is damaged" in ran.err
        assert ". The newest backup is of 2026-03-02" in ran.err
    assert backup.name in kettle("store", "list").out
    assert kettle("store", "restore", backup.name).code == ExitCode.OK
    assert "goes 1" in kettle("phrases").out


@pytest.mark.parametrize("text", ["UTC", "2026-03-02 18:00:00", "Blue stairs", "blue stairs"])
def test_a_text_that_is_none_any_more_is_damage(kettle, place: Path, text: str) -> None:
    """A flipped bit in a zone, a time or a title: check and whatever reads it say damage."""
    kettle("drill", keys="c\n")
    spoil_text(place, text)
    for words in (["store", "check"], ["store", "export", str(place.with_name("x.json"))]):
        ran = kettle(*words)
        assert "Traceback" not in ran.err
        if words[1] == "check" or text != "blue stairs":  # what can be made anew isn't exported
            assert ran.code == ExitCode.STORE, (words, ran)
            assert "is damaged" in ran.err
