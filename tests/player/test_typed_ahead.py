"""What wasn't typed for the card on the screen rates nothing: pastes, answers, letters ahead."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from tests.player.children import ended, ratings, spawn

LATE = {
    "a colour": "\x1b]11;rgb:ffff/cccc/ffff\x1b\\",
    "a colour, ended by BEL": "\x1b]10;rgb:cccc/ffff/ffff\x07",
    "the mouse": "\x1b[M cf\x1b[M#cf",
    "a paste": "\x1b[200~flow colours\rclr\x1b[201~",
    "Alt and f": "\x1bf",
    "a version": "\x1bP>|term fclr\x1b\\",
}


@pytest.mark.parametrize("what", LATE)
def test_what_the_terminal_says_rates_nothing(quick: Path, what: str) -> None:
    """An answer, a report, a paste and an Alt key store nothing; the next letter does."""
    child = spawn(quick, "--plain", "drill")
    child.expect("Red door, key C")
    child.send(LATE[what])
    child.send("?")
    child.expect("u: undo the last rating")
    child.send("c")
    child.expect("Red door in C: clean")
    child.send("q")
    child.expect("1 go")
    ended(child)
    assert ratings(quick) == [3]


@pytest.mark.parametrize("plain", [True, False])
def test_a_long_note_is_shown_once_for_all_that_was_typed(quick: Path, plain: bool) -> None:
    """Three thousand characters at once are written a few times at most, and all are kept."""
    child = spawn(quick, *(["--plain"] if plain else []), "drill", size=(60, 200))
    child.expect("Red door")
    child.send("n")
    child.expect("Enter saves")
    child.send("xy\x7f" * 1000)
    child.send("\r")
    child.expect("Note kept")
    assert child.before.count("x") < 20_000
    child.send("q")
    ended(child)
    with sqlite3.connect(quick) as database:
        kept = database.execute("SELECT note FROM card WHERE note IS NOT NULL").fetchone()[0]
    database.close()
    assert kept == "x" * 1000


@pytest.mark.parametrize("plain", [True, False])
def test_letters_typed_before_a_card_was_seen_rate_nothing(quick: Path, plain: bool) -> None:
    """A title that is pasted without marks rates one card at most: the rest came before the next.

    What lies in the line before the session begins rates none: a new interpreter takes long enough
    to begin for that.
    """
    child = spawn(quick, *(["--plain"] if plain else []), "drill", PYTHONHASHSEED="0")
    child.send("fff")
    child.expect("Red door")
    child.send("frcf")
    child.expect("Tin roof")
    child.send("q")
    child.expect("go in")
    ended(child)
    assert ratings(quick) == [4]
