"""Hands on the instrument: the next key counts itself in, and a pedal does what it is set to."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillbox.player.controls import (
    CONTROLS,
    Pedal,
    action_of,
    controls_line,
    foot_of,
    help_of,
)
from drillbox.practice.preferences import preferences_from
from drillbox.practice.settings import PEDALS, read_setting
from drillbox.terminal.presses import (
    DOWN,
    ENTER,
    LEFT,
    PAGE_DOWN,
    PAGE_UP,
    RIGHT,
    SPACE,
    UP,
    Press,
)
from tests.player.children import BEAT, ended, pexpect, ratings, spawn
from tests.player.test_beat_settings import set_to

# Space and Enter mean something else only where drillbox listens.
ALL = [each.action for each in CONTROLS if each.action not in {"accept", "heard"}]


def test_after_a_rating_the_next_card_counts_itself_in(quick: Path):
    """One second is counted down, then the beat runs, without another press."""
    set_to(quick, next_after=1)
    child = spawn(quick, "drill")
    child.expect("Red door")
    child.send("c")
    child.expect("Tin roof")
    child.expect(r"after\b.*?\b1 s\b")
    child.expect(BEAT)
    child.send("c")
    child.expect("Red door")
    child.expect(BEAT)
    child.send("q")
    ended(child)
    assert ratings(quick) == [3, 3]


def test_another_tempo_goes_on_by_itself_where_the_beat_runs(quick: Path):
    """It counts in again, without another press; where no beat ran, none begins."""
    child = spawn(quick, "drill")
    child.expect("Red door")
    child.send("-")
    child.expect("Tempo 380")
    with pytest.raises(pexpect.TIMEOUT):
        child.expect(BEAT, timeout=1)
    child.send(" ")
    child.expect(BEAT)
    child.send("-")
    child.expect("Tempo 3[0-7]")
    child.expect(BEAT, timeout=5)
    child.send("q")
    ended(child)


def test_any_press_holds_it_and_space_starts_at_once(quick: Path):
    """A press that means nothing is enough to stop the countdown; the first card waits anyway."""
    set_to(quick, next_after=1)
    child = spawn(quick, "drill")
    child.expect("Red door")
    child.send("c")
    child.expect(r"after\b.*?\b1 s\b")
    child.send("x")
    child.expect("does nothing here")
    with pytest.raises(pexpect.TIMEOUT):
        child.expect(BEAT, timeout=2)
    child.send(" ")
    child.expect(BEAT)
    child.send("q")
    ended(child)


def test_a_pedal_that_rates_isnt_pressed_by_the_countdown(quick: Path):
    """Space is the left side of such a pedal, but nobody pressed it: the card counts itself in."""
    set_to(quick, next_after=1, pedal="clean start")
    child = spawn(quick, "drill")
    child.expect("Red door")
    child.send("c")
    child.expect(r"after\b.*?\b1 s\b")
    child.expect(BEAT)
    child.send("q")
    ended(child)
    assert ratings(quick) == [3]


def test_without_the_setting_a_card_waits(quick: Path):
    """0 seconds: nothing is counted down."""
    child = spawn(quick, "drill")
    child.expect("Red door")
    child.send("c")
    child.expect("Tin roof")
    child.expect("stop")
    child.send("q")
    assert "Counts in after" not in ended(child)


def test_in_words_the_seconds_are_said_once(quick: Path):
    """A screen reader isn't made to say each of them."""
    set_to(quick, next_after=1)
    child = spawn(quick, "--plain", "drill")
    child.expect("Red door")
    child.send("c")
    child.expect("Counts in after 1 s")
    child.expect("Counting in")
    assert "Counts in" not in child.before
    child.send("q")
    ended(child)


def test_a_pedal_goes_through_a_session(quick: Path):
    """Its sides stand in the footer; right rates clean, by an arrow, Page Down and Enter. Where
    the terminal is low, the help has a second page, on which both sides are told whole."""
    set_to(quick, pedal="start clean")
    child = spawn(quick, "drill")
    child.expect("Red door")
    child.expect("←.*start.*→.*clean")
    child.send("\x1b[D")
    child.expect(BEAT)
    child.send("\x1b[C")
    child.expect("Tin roof")
    child.send("\x1b[6~")
    child.expect("Tin roof in C: clean")  # "Red door" stands in the message before, too
    child.send("?")
    child.expect("Press anything for the rest")
    child.send("x")
    child.expect("Pedal, right")
    child.expect("Press anything to return")
    child.send("x")
    child.send("\r")
    child.expect("Tin roof")
    child.send("q")
    ended(child)
    assert ratings(quick) == [3, 3, 3]


def test_every_press_that_a_pedal_may_send():
    """Three pairs of keys are common; with 'start' on neither side the space bar keeps it."""
    pedal = Pedal("start", "next")
    assert [pedal.action(press, ALL) for press in (LEFT, UP, PAGE_UP, SPACE)] == ["start"] * 4
    assert [pedal.action(press, ALL) for press in (RIGHT, DOWN, PAGE_DOWN, ENTER)] == ["skip"] * 4
    assert Pedal("lost", "clean").action(SPACE, ALL) is None
    assert action_of(SPACE, ALL) == "start"
    assert pedal.action(Press("c"), ALL) is None


@pytest.mark.parametrize(
    ("sides", "press", "actions", "does", "shown"),
    [
        (("start", "clean"), ENTER, {*ALL, "heard"}, "heard", ("enter", "done")),
        (("start", "clean"), RIGHT, {*ALL, "heard"}, "clean", ("->", "clean")),
        (("start", "clean"), ENTER, {*ALL}, "clean", ("->", "clean")),
        (("clean", "start"), RIGHT, {*ALL}, "start", ("->", "start")),
        (("clean", "start"), RIGHT, {"accept", "clean"}, "accept", ("->", "take it")),
        (("clean", "start"), ENTER, {"accept", "clean"}, "accept", ("enter", "take it")),
    ],
)
def test_a_press_does_what_the_footer_says_of_it(
    sides: tuple[str, str], press: Press, actions: set[str], does: str, shown: tuple[str, str]
):
    """Enter is 'done' where that is offered, and the side that starts takes what is proposed."""
    pedal = Pedal(*sides)
    assert action_of(press, actions, pedal) == does
    foot = foot_of(actions, pedal, ascii=True)
    assert shown in (*foot.ratings, *foot.others, *foot.pedal)
    told = (*foot.ratings, *foot.others)
    assert all(action_of(Press(name), actions, pedal) in actions for name, _ in told)


def test_a_press_that_the_pedal_takes_is_not_told_for_anything_else():
    """Where the left side rates clean, so does the space bar: it doesn't start the beat."""
    pedal = Pedal("clean", "start")
    assert action_of(SPACE, ALL, pedal) == "clean"
    assert "space" not in dict(foot_of(ALL, pedal).others)
    assert "space" not in dict(help_of(ALL, in_round=False, pedal=pedal))
    assert "space" not in controls_line(ALL, pedal)
    assert controls_line(ALL, pedal).endswith(", left pedal clean, right pedal start.")


def test_a_side_that_can_do_nothing_is_not_shown():
    """While a tune goes nothing can be rated."""
    assert Pedal("start", "clean").pairs({"start", "stop"}, ("<-", "->")) == (("<-", "start"),)


@pytest.mark.parametrize("side", PEDALS)
def test_every_side_is_an_action_and_is_said(side: str):
    """What the setting takes can be done, and the help says it in words."""
    assert Pedal(side, "start").action(LEFT, ALL) in ALL
    told = Pedal(side, "start").notes(ALL)[0]
    assert len(told) > len("Pedal, left (left or up arrow, Page Up): .")


def test_the_setting_takes_two_actions_or_off():
    """Anything else is refused with what can be chosen."""
    assert read_setting("pedal", "Start  CLEAN") == "start clean"
    assert preferences_from({"pedal": "start clean"}).pedal == ("start", "clean")
    assert preferences_from({}).pedal is None
    for wrong in ("start", "start stop", "a b c"):
        with pytest.raises(Exception, match="pedal"):
            read_setting("pedal", wrong)


def test_the_side_that_starts_takes_a_proposed_rating():
    """A proposal stands where the beat would be started, as for the space bar."""
    from drillbox.player.session import Outcome, do

    class Proposing:
        preferences = preferences_from({"pedal": "start clean"})
        shown = True

    actions = {"accept": lambda: Outcome("taken"), "clean": lambda: Outcome("clean")}
    assert do(Proposing(), LEFT, actions).message == "taken"
    assert do(Proposing(), SPACE, actions).message == "taken"
    assert do(Proposing(), RIGHT, actions).message == "clean"
