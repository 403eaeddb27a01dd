"""``--plain`` in a terminal: single keys and the beat, and all that a screen shows in words."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

from tests.player.children import ended, keep_one_key, ratings, spawn


def test_a_drill_in_words(quick: Path):
    """Card, beat, hint, note, unknown key, rating, undo, help: each said once on its line."""
    child = spawn(quick, "--plain", "drill")
    child.expect("Controls: l lost")
    child.expect("Red door, key C, tempo 400, goal 400, first go today, 2/4, 20 minutes left")
    child.expect("Dm7 G7 \\| Cmaj7")
    child.send(" ")
    child.expect("Counting in, tempo 400")
    child.send("h")
    child.expect("hint 1 of 3")
    child.send("n")
    child.expect("Enter saves")
    child.send("thumbs\x7f up\r")
    child.expect("Note kept")
    child.send("h")
    child.expect("your note: thumb up")
    child.send("x")
    child.expect("'x' does nothing here")
    child.send("?")
    child.expect("u: undo the last rating")
    child.send("c")
    child.expect("Red door in C: clean")
    child.expect("Tin roof, key C")
    child.send("u")
    child.expect("Rating undone")
    child.expect("Red door, key C")
    child.send("p")
    child.expect("Paused")
    child.send(" ")
    child.send("l")
    child.expect("Tin roof, key C")
    child.send("q")
    child.expect("1 go")
    ended(child)
    assert ratings(quick) == [1]
    with closing(sqlite3.connect(quick)) as database:  # the note is on disk, with this card alone
        notes = database.execute("SELECT note FROM card WHERE note IS NOT NULL").fetchall()
    assert notes == [("thumb up",)]


def test_nothing_is_drawn(quick: Path):
    """No escape code moves the cursor or clears what was said, which would be said anew."""
    child = spawn(quick, "--plain", "drill")
    child.expect("Red door")
    shown = child.before
    child.send(" c")
    child.expect("Tin roof")
    shown += child.before
    child.send("q")
    child.expect("1 go")
    ended(child)
    assert "\x1b[" not in shown.replace("\x1b[?2004h", "").replace("\x1b[?2004l", "")


def test_a_note_may_be_left_as_it_was(quick: Path):
    """Esc leaves the note; Ctrl-C in the middle of one ends the session."""
    child = spawn(quick, "--plain", "drill")
    child.expect("Red door")
    child.send("nthumb")
    child.expect("thumb")
    child.send("\x1b")
    child.expect("\r\n")  # an x at once would be Alt and x
    child.send("x")
    child.expect("'x' does nothing here")
    child.send("nring")
    child.expect("ring")
    child.send("\x03")
    child.expect("Nothing was rated")
    ended(child)


def test_the_last_card_in_words(quick: Path):
    """When no card is left it is said once, and the last rating can still be taken back."""
    keep_one_key(quick)
    child = spawn(quick, "--plain", "drill")
    for title, press in (("Red door", "s"), ("Tin roof", "s"), ("Wide sill", "f")):
        child.expect(f"{title}, key")
        child.send(press)
    child.expect("Wide sill, key")
    child.send("s")
    child.expect("Nothing left to play")
    child.setwinsize(30, 90)
    child.send("u")
    child.expect("Wide sill, key")
    assert "Nothing left" not in child.before
    child.send("q")
    ended(child)
    assert ratings(quick) == []


def test_a_round_in_words(quick: Path):
    """The beat runs on; a rating at a change is for the key before; the rest is asked for."""
    child = spawn(quick, "--plain", "round", "Red door", "--all")
    child.expect("Red door, key C, 1 of 12, tempo 400, 2/4, then F\r\n  Dm7 G7 \\| Cmaj7 \\(D7\\)")
    child.send("?")
    child.expect("rate the key that sounds")
    child.send(" ")
    child.expect("Counting in")
    child.expect("key F, 2 of 12")
    child.send("c")
    child.expect("Red door in C: clean")
    child.expect("key B♭, 3 of 12")
    child.send("q")
    child.expect("how was F\\?, 2 of 12")
    child.send("l")
    child.expect("The round is over")
    child.send("q")
    child.expect("2 goes")
    ended(child)
    assert ratings(quick) == [3, 1]


def test_a_pause_is_said_without_a_rule(quick: Path):
    """A rule is drawn for the eye."""
    child = spawn(quick, "--plain", "drill")
    child.expect("Red door, key C")
    child.send("p")
    child.expect(r"Paused\. Press anything to continue\.")
    shown = child.before + child.after
    child.send(" c")
    child.expect("Tin roof")
    shown += child.before
    child.send("q")
    ended(child)
    assert "─" not in shown
