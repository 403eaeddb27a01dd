"""A drill in a real terminal: a pty, single keys, and what is left when it ends."""

from __future__ import annotations

import signal
from datetime import UTC, datetime
from pathlib import Path

import pytest

from drillbox.practice.adding import keep, prepare, typed_phrase
from drillbox.practice.preferences import preferences_from
from drillbox.store.opening import open_store
from drillbox.store.setting_rows import set_setting
from tests.conftest import copied
from tests.player.children import SHOWN, ended, pexpect, ratings, spawn

CHART = "Dm7 G7 | Cmaj7 (A7)"
WRITTEN = datetime(2026, 3, 2, 18, tzinfo=UTC)


@pytest.fixture(scope="module")
def four(empty: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the file of a store with four invented phrases, each key of which is played once a
    visit; copy it."""
    place = copied(empty, tmp_path_factory.mktemp("four") / "store.sqlite3")
    titles = ("Red door", "Tin roof", "Wide sill", "Long hall")
    phrases = [typed_phrase(title=each, key="C", tempo="120", chart=CHART) for each in titles]
    with open_store(place, now=WRITTEN, backups=False) as store:
        set_setting(store, "goes", 1)
        set_setting(store, "next_after", 0)
        keep(store, [prepare(each, preferences_from({})) for each in phrases], WRITTEN)
    return place


@pytest.fixture
def lines(four: Path, place: Path) -> Path:
    """Return a copy of that store for one test."""
    return copied(four, place)


def test_a_whole_session_by_single_keys(lines: Path):
    """Rate, take back, rate anew, read the help, skip, stop: the store holds what was rated."""
    child = spawn(lines, "drill")
    child.expect("Red door")
    child.expect("stop")
    child.send("l")
    child.expect("Tin roof")
    child.send("u")
    child.expect("Rating undone")
    child.send("f")
    child.expect("Tin roof")
    child.send("?")
    child.expect("Press anything to return")
    child.send("?")
    child.expect("Tin roof")
    child.send("x")
    child.expect("does nothing here")
    child.send("c")
    child.expect("Red door")
    child.send("q")
    child.expect("2 goes")
    ended(child)
    assert ratings(lines) == [4, 3]


def test_a_note_to_self_is_kept_and_shown_with_the_hint(lines: Path):
    """A note is typed at the card and comes with its hints."""
    child = spawn(lines, "drill")
    child.expect("Red door")
    child.send("n")
    child.expect("Enter saves")
    child.send("thumb over\x7fr\r")
    child.expect("Note kept")
    child.send("h")
    child.expect("your note: thumb over")
    child.send("q")
    ended(child)


def test_the_last_rating_can_be_taken_back_at_the_end(drillbox, lines: Path):
    """When no key is left, u still takes the last rating back."""
    for title in ("Tin roof", "Wide sill", "Long hall"):
        drillbox("retire", title)
    drillbox(
        "edit",
        "Red door",
        *(f"--aside={key}" for key in ["Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B"]),
    )
    child = spawn(lines, "drill")
    child.expect("Red door")
    child.send("f")
    child.expect("Red door")
    child.send("s")
    child.expect("Nothing left to play")
    child.send("u")
    child.expect("Rating undone")
    child.send("l")
    child.expect("Red door")
    child.send("q")
    child.expect(pexpect.EOF)
    child.close()
    assert ratings(lines) == [1]


@pytest.mark.parametrize(("number", "code"), [(signal.SIGINT, 0), (signal.SIGTERM, 0)])
def test_a_signal_ends_the_session_cleanly(lines: Path, number: int, code: int):
    """Ctrl-C and a request to terminate: what was rated is stored, the screen is given back."""
    child = spawn(lines, "drill")
    child.expect("Red door")
    child.send("c")
    child.expect("Tin roof")
    child.send(" ")
    child.expect("1")
    child.kill(number)
    child.expect("1 go")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == code
    assert ratings(lines) == [3]


def test_a_closed_terminal_ends_the_session(lines: Path):
    """A hang-up loses nothing that was rated, and no process stays behind."""
    child = spawn(lines, "drill")
    child.expect("Red door")
    child.send("c")
    child.expect("Tin roof")
    child.close(force=False)
    child.wait()
    assert ratings(lines) == [3]


@pytest.mark.parametrize("size", [(24, 80), (20, 40), (60, 200)])
def test_the_card_shows_at_every_size_and_after_a_resize(lines: Path, size):
    """Title, key, chords and tempo are there; a resize in mid-beat draws anew."""
    child = spawn(lines, "drill", size=size)
    child.expect("Red door")
    child.expect(SHOWN)
    child.send(" ")
    child.setwinsize(30, 60)
    child.expect("Red door")
    child.send("c")
    child.expect("Tin roof")
    child.send("q")
    ended(child)


@pytest.mark.parametrize("more", [{"NO_COLOR": "1"}, {"LC_ALL": "C"}, {"TERM": "dumb"}])
def test_plain_terminals(lines: Path, more: dict[str, str]):
    """Without colour, without Unicode, without escape codes: the drill still goes."""
    child = spawn(lines, "drill", **more)
    child.expect("Red door")
    child.send("c")
    child.expect("Tin roof")
    child.send("q")
    child.expect("1 go")
    child.expect(pexpect.EOF)
    child.close()
    assert ratings(lines) == [3]
