"""A round in a real terminal: the beat runs from key to key, ratings go in beside it."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.player.children import BEAT, SHOWN, ended, pexpect, ratings, spawn

ROUND = ("round", "Red door", "--all")


def test_a_whole_round_rated_as_it_goes_and_after(quick: Path):
    """One count-in, twelve keys; what wasn't rated is asked for, in the order of playing."""
    child = spawn(quick, *ROUND)
    child.expect("key 1 of 12")
    child.expect("then F")
    child.send(" ")
    child.expect("Counting in|2")
    child.expect("key 2 of 12")
    for _ in range(3):
        child.expect(BEAT)
    child.send("f")
    child.expect("F: fluent")
    child.expect("key 12 of 12")
    child.expect(r"\[C\]")
    for key in ("C", "B♭", "E♭", "A♭", "D♭", "G♭", "B", "E", "A", "D", "G"):
        if key != "C":
            child.expect(rf"\[{key}\]")
        child.send("c")
    child.expect("The round is over")
    child.send("u")
    child.expect("Rating undone")
    child.send("l")
    child.expect("The round is over")
    child.send("q")
    child.expect("12 goes")
    ended(child)
    assert ratings(quick) == [4, *[3] * 10, 1]


def test_a_rating_does_not_stop_the_beat(quick: Path):
    """After the rating the next keys come by themselves; nothing but time passes."""
    child = spawn(quick, *ROUND)
    child.expect("key 1 of 12")
    child.send(" ")
    child.send("c")
    child.expect("nothing was played")
    child.expect("key 2 of 12")
    child.send("c")
    child.expect("C: clean|F: clean")
    child.expect("key 3 of 12")
    child.expect("key 4 of 12")
    child.send("\x03")
    child.expect("1 go")
    child.expect(pexpect.EOF)
    child.close()
    assert ratings(quick) == [3]


def test_stopped_in_between_the_round_goes_on_in_the_same_key(quick: Path):
    """Space stops and counts in anew where it was; the beat's key stays, played ones wait."""
    child = spawn(quick, *ROUND)
    child.expect("key 1 of 12")
    child.send(" ")
    child.expect("key 3 of 12")
    child.send(" ")
    child.send("-")
    child.expect("Tempo 380 for the rest")
    child.send(" ")
    child.expect("then E♭ +1 ·")
    child.expect("key 4 of 12")
    child.send("q")
    child.expect("3 to rate")
    child.expect(r"\[C\]")
    child.send("q")
    child.expect("Nothing was rated")
    ended(child)


def test_without_the_clock_a_rating_goes_on_to_the_next_key(quick: Path):
    """A player may ignore the beat: rate, and the next key is shown; skip leaves one out."""
    child = spawn(quick, *ROUND, "--order", "semitones-up", "--from", "Eb")
    child.expect("key 1 of 12")
    child.expect("then E")
    child.send("c")
    child.expect("key 2 of 12")
    child.send("s")
    child.expect("E is left unrated")
    child.send("?")
    child.expect("Press anything to return")
    child.send("x")
    child.expect("key 3 of 12")
    child.send("p")
    child.expect("Paused")
    child.send(" ")
    child.expect("key 3 of 12")
    child.send("x")
    child.expect("'x' does nothing here")
    child.send("q")
    child.expect("1 go")
    child.expect(pexpect.EOF)
    child.close()
    assert ratings(quick) == [3]


@pytest.mark.parametrize("size", [(24, 80), (20, 40), (60, 200)])
def test_every_size_and_a_resize_in_mid_beat(quick: Path, size: tuple[int, int]):
    """The key is there in letters of either size; the new size is drawn while the beat runs."""
    child = spawn(quick, *ROUND, size=size)
    child.expect("key 1 of 12")
    child.expect(SHOWN)
    child.send(" ")
    child.expect("key 2 of 12")
    child.setwinsize(30, 60)
    child.expect(r"\x1b\[2J")
    child.expect(r"Red door\S* {39}key")
    child.send("c")
    child.expect("clean")
    child.send("\x03")
    child.expect("1 go")
    ended(child)
    assert ratings(quick) == [3]


def test_the_help_is_drawn_anew_after_a_resize(quick: Path):
    """The rule is as long as the new terminal is wide."""
    child = spawn(quick, *ROUND)
    child.expect("key 1 of 12")
    child.send("?")
    child.expect("Press anything to return")
    child.setwinsize(20, 43)
    child.expect(r"\x1b\[2;1H\S*?─{43}\x1b")
    child.send("q")
    child.expect("key 1 of 12")
    child.send("q")
    ended(child)


@pytest.mark.parametrize("more", [{"NO_COLOR": "1"}, {"LC_ALL": "C"}, {"TERM": "dumb"}])
def test_plain_terminals(quick: Path, more: dict[str, str]):
    """Without colour, without Unicode, without escape codes: the round still goes."""
    child = spawn(quick, *ROUND, **more)
    child.expect("Red door")
    child.send("c")
    child.expect("C: clean")
    child.send("q")
    child.expect("1 go")
    child.expect(pexpect.EOF)
    child.close()
    assert ratings(quick) == [3]
