"""A drill in a real terminal: a pty, single keys, and what is left when it ends."""

from __future__ import annotations

import signal
from pathlib import Path

import pytest

from tests.player.children import SHOWN, ended, pexpect, ratings, spawn

pytestmark = pytest.mark.usefixtures("made")

CHART = "Dm7 G7 | Cmaj7 (A7)"


@pytest.fixture
def lines(drillbox, place: Path) -> Path:
    """Return a store with four invented phrases, each key of which is played once a visit."""
    drillbox("settings", "goes", "1")
    drillbox("settings", "next_after", "0")
    for title in ("Red door", "Tin roof", "Wide sill", "Long hall"):
        drillbox("add", "--title", title, "--key", "C", "--tempo", "120", "--chart", CHART)
    return place


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
    child.expect("2 attempts")
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
    child.expect("1 attempt")
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
    child.expect("1 attempt")
    child.expect(pexpect.EOF)
    child.close()
    assert ratings(lines) == [3]
