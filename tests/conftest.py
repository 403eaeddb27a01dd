"""What every test stands on: a clean environment, and the command line run in one process."""

from __future__ import annotations

import gc
import io
import os
import shutil
import signal
import sys
from collections.abc import Callable, Generator
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import pytest
from hypothesis import settings

from drillbox.cli import run

NOW = "2026-03-02T18:00:00Z"

# How long an example takes is the machine's affair. A failure in CI must come again; elsewhere new
# examples are worth more, and each run has others: a law need not have many in each.
settings.register_profile("repeatable", deadline=None, derandomize=True, max_examples=50)
settings.register_profile("new", deadline=None, max_examples=50)
settings.register_profile("many", deadline=None, max_examples=2000)
settings.load_profile("repeatable" if os.environ.get("CI") else "new")

# Four processes import all tests, and some two hundred run the program: what one of them compiled
# the others needn't.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)

# Thousands of stores wait for the disk at each commit: in memory, where it has room, none does.
MEMORY = Path("/dev/shm")
if MEMORY.is_dir() and shutil.disk_usage(MEMORY).free > 1 << 30:
    os.environ.setdefault("PYTEST_DEBUG_TEMPROOT", str(MEMORY))

# A shell's "&" and nohup start a run with these ignored, and so would be all that it starts.
for each in {"SIGINT", "SIGQUIT", "SIGHUP"} & set(dir(signal)):
    if signal.getsignal(number := getattr(signal, each)) == signal.SIG_IGN:
        signal.signal(number, signal.default_int_handler if each == "SIGINT" else signal.SIG_DFL)


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Generator[None, object, object]:
    """Look for no garbage while five thousand tests come in with their libraries, nor, ever
    again, among them; later, less often than every 700 new objects."""
    gc.disable()
    try:
        return (yield)
    finally:
        gc.collect()
        gc.freeze()
        gc.set_threshold(20_000)
        gc.enable()


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mix the rooms, so that some files compute while others, as the player's, wait for the beat.

    xdist's own order puts the files of one or two long tests last, where the rest is done.
    """
    items.sort(key=lambda item: item.path.name)


@pytest.fixture(autouse=True)
def clean_environment(monkeypatch: pytest.MonkeyPatch, request: pytest.FixtureRequest) -> None:
    """Keep the developer's own store, zone, terminal and time out of every test.

    One that asks for no folder has no home to write in: a folder for each would take seconds.
    """
    asked = "tmp_path" in request.fixturenames
    home = request.getfixturevalue("tmp_path") if asked else Path(os.devnull) / "home"
    for name in ("DRILLBOX_STORE", "NO_COLOR", "LC_ALL", "LC_CTYPE", "LINES"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("LANG", "C.UTF-8")
    monkeypatch.setenv("HOME", str(home))
    monkeypatch.setenv("XDG_DATA_HOME", str(home / "data"))
    monkeypatch.setenv("TZ", "UTC")
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.setenv("DRILLBOX_NOW", NOW)


@dataclass(frozen=True)
class Ran:
    """What a command came to."""

    code: int
    out: str
    err: str


@pytest.fixture
def place(tmp_path: Path) -> Path:
    """Return where a test's own store lies."""
    return tmp_path / "store.sqlite3"


def copied(file: Path, place: Path) -> Path:
    """Copy a store's file to a place, for its owner alone as stores are; return the place."""
    shutil.copyfile(file, place)
    place.chmod(0o600)
    return place


@pytest.fixture(scope="session")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the file of an empty store with the newest schema; copy it, don't change it."""
    from drillbox.store.opening import open_store  # heavy, and most tests open no store

    path = tmp_path_factory.mktemp("empty") / "store.sqlite3"
    open_store(path, now=datetime.fromisoformat(NOW), backups=False).close()
    return path


@pytest.fixture
def made(empty: Path, place: Path) -> Path:
    """Return where a test's own store lies, with an empty store there that isn't open.

    It is a copy: whoever doesn't test how a store is made saves making one each time.
    """
    return copied(empty, place)


@pytest.fixture(scope="session")
def past_file(empty: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the file of a store with eight weeks behind it; read it, don't change it."""
    from tests.practice.past import build_past  # heavy as well

    path = copied(empty, tmp_path_factory.mktemp("past") / "past.sqlite3")
    build_past(path)
    return path


@pytest.fixture(scope="session")
def blue_stairs(empty: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the file of a store with one invented phrase; copy it, don't change it."""
    from drillbox.practice.adding import keep, prepare, typed_phrase
    from drillbox.practice.preferences import preferences_from
    from drillbox.store.opening import open_store

    path = copied(empty, tmp_path_factory.mktemp("blue_stairs") / "store.sqlite3")
    phrase = typed_phrase(
        title="Blue stairs", key="Bb", tempo="120", chart="Cm7 F7 | Bbmaj7 (G7)", meter="4/4"
    )
    now = datetime.fromisoformat(NOW)
    with open_store(path, now=now, backups=False) as store:
        keep(store, [prepare(phrase, preferences_from({}))], now)
    return path


@pytest.fixture
def short_past(monkeypatch: pytest.MonkeyPatch) -> None:
    """Give the demo's player a week of two phrases, where what that store holds isn't asked."""
    from drillbox.practice import demo

    monkeypatch.setattr(demo, "DAYS", 7)
    monkeypatch.setattr(demo, "_arrivals", lambda count: [(0, 2)])


@pytest.fixture
def drillbox(
    place: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> Callable[..., Ran]:
    """Return a function that runs one command line on the test's own store."""

    def ran(*arguments: str, keys: str = "", now: str = NOW) -> Ran:
        monkeypatch.setenv("DRILLBOX_NOW", now)
        monkeypatch.setattr(sys, "stdin", io.StringIO(keys))
        code = run(["--store", str(place), *arguments])
        captured = capsys.readouterr()
        return Ran(code, captured.out, captured.err)

    return ran


@pytest.fixture
def kettle(blue_stairs: Path, place: Path, drillbox: Callable[..., Ran]) -> Callable[..., Ran]:
    """Return the same function, over a store that holds one invented phrase."""
    copied(blue_stairs, place)
    return drillbox
