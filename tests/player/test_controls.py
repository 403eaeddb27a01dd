"""Each control stands in one row, and is offered where its action can be done."""

from __future__ import annotations

from collections import Counter

from drillbox.player.controls import (
    CONTROLS,
    action_of,
    controls_line,
    foot_of,
    help_of,
    unknown_line,
)
from drillbox.terminal.presses import SPACE, UNKNOWN, Press

# Space and Enter mean something else only where drillbox listens.
ALL = [each.action for each in CONTROLS if each.action not in {"accept", "heard"}]


def test_no_press_stands_for_two_actions():
    """Otherwise the row that comes first would hide the other.

    A proposed rating takes the place of what starts the beat and of what asks to be heard.
    """
    for apart in ({"accept"}, {"start", "heard"}):
        offered = [each for each in CONTROLS if each.action not in apart]
        assert max(Counter(name for each in offered for name in each.names).values()) == 1


def test_the_ratings_are_pressed_by_their_first_letters():
    """Capitals too; + and = are one press on most keyboards, with and without shift."""
    for letter, action in (("l", "lost"), ("R", "rough"), ("c", "clean"), ("f", "fluent")):
        assert action_of(Press(letter), ALL) == action
    assert action_of(Press("="), ALL) == action_of(Press("+"), ALL) == "faster"
    assert action_of(SPACE, ALL) == "start"


def test_what_can_not_be_done_is_neither_offered_nor_understood():
    """A round has no hints: h is unknown there, and neither footer nor help names it."""
    some = [name for name in ALL if name != "hint"]
    assert action_of(Press("h"), some) is None
    assert ("h", "hint") not in foot_of(some).others
    assert "h" not in dict(help_of(some, in_round=True))


def test_controls_that_do_the_same_are_told_of_together():
    """The four ratings share a line of the help, and so do + and -."""
    helps = dict(help_of(ALL, in_round=False))
    assert "rate: lost" in helps["l r c f"]
    assert "faster or slower" in helps["+ -"]
    assert helps["s"] == "skip this key for this session"
    assert dict(help_of(ALL, in_round=True))["s"] == "leave this key unrated"


def test_the_line_of_controls_begins_with_the_ratings():
    """By lines and in words it is the first thing said."""
    assert controls_line(["clean", "stop", "help"]) == "Controls: c clean, q stop."


def test_an_unknown_press_is_named_as_far_as_it_can_be():
    """A character by itself, a word of a script in its own quotes, the rest by no name."""
    assert unknown_line(Press("x")).startswith("'x'")
    assert unknown_line(Press(UNKNOWN.name, "line 4: 'what'")).startswith("'what'")
    assert unknown_line(UNKNOWN).startswith("That does nothing")
