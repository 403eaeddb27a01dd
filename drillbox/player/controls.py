"""What can be pressed: one row each, for drills and rounds alike; and a page-turning pedal."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from itertools import groupby
from typing import NamedTuple

from drillbox.memory.recall import Recall
from drillbox.screen.footer import Foot, Pair
from drillbox.terminal.presses import DOWN, ENTER, LEFT, PAGE_DOWN, PAGE_UP, RIGHT, SPACE, UP, Press

_MEANS = {"next": "skip"}  # what the setting calls otherwise than the controls do
_LONG = {
    "start": "start or stop the beat",
    "next": "on to the next key, unrated",
}


class Pedal(NamedTuple):
    """What the left and the right pedal do, as in the setting of that name."""

    left: str
    right: str

    def action(self, press: Press, actions: Collection[str]) -> str | None:
        """Return the action that a press of the pedal stands for, None for other presses.

        Pedals send arrows, Page Up and Page Down, or Space and Enter (common practice). Where
        neither side starts the beat, Space still does; where what was played without a beat can
        be heard, Enter asks for that.
        """
        side = None
        if press in {LEFT, UP, PAGE_UP} or (press == SPACE and "start" in self):
            side = self.left
        elif press in {RIGHT, DOWN, PAGE_DOWN} or (press == ENTER and "heard" not in actions):
            side = self.right
        return side and _meant_by(side, actions)

    def pairs(self, actions: Collection[str], signs: Pair) -> tuple[Pair, ...]:
        """Return the sides that do something now, under the signs of left and right."""
        words = {each.action: each.word for each in offered(actions)}
        sides = zip(signs, (_meant_by(side, actions) for side in self), strict=True)
        return tuple((sign, words[action]) for sign, action in sides if action in words)

    def notes(self, actions: Collection[str]) -> tuple[str, str]:
        """Say at length which presses count as the pedal's, and what they do."""
        space = ", space" if "start" in self else ""
        enter = "" if "heard" in actions else ", Enter"
        return (
            f"Pedal, left (left or up arrow, Page Up{space}): {self._said(self.left)}.",
            f"Pedal, right (right or down arrow, Page Down{enter}): {self._said(self.right)}.",
        )

    def _said(self, side: str) -> str:
        return _LONG.get(side, f"rate it {side}")


def _meant_by(side: str, actions: Collection[str]) -> str:
    """Return the action of a pedal's side: the one that starts takes a proposal, too."""
    if side == "start" and "accept" in actions:
        return "accept"
    return _MEANS.get(side, side)


def pedal_of(setting: tuple[str, str] | None) -> Pedal | None:
    """Return the pedal that is set up, None where there is none."""
    return Pedal(*setting) if setting else None


class Control(NamedTuple):
    """One thing to press: the action that it stands for, and how it is told of.

    ``shown`` is how the footer names it, ``word`` what it says there, ``help`` the longer form
    ("" where none is needed) and ``in_round`` that of a round where it differs.
    """

    action: str
    shown: str
    word: str
    help: str = ""
    in_round: str = ""
    others: tuple[str, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """Return the presses that mean it."""
        return (self.shown, *self.others)


_RATE = ("rate: lost, rough, clean, fluent; the next key follows",
         "rate the key that sounds; the beat goes on")  # fmt: skip
_RUNGS = "a step faster or slower now", "a step faster or slower, while the beat is stopped"
CONTROLS = (
    Control("accept", "space", "take it", "take the rating that is proposed", others=("enter",)),
    Control("replay", "a", "once more", "play it once more; nothing is rated"),
    Control("heard", "enter", "done", "you have played, without a beat: hear what it was"),
    Control("start", "space", "start", "count in; again to stop",
            "count in and start the beat; again to stop"),
    *(Control(each.word, each.letter, each.word, *_RATE) for each in Recall),
    Control("hint", "h", "hint", "hint: targets, degrees, names"),
    Control("skip", "s", "skip", "skip this key for this session", "leave this key unrated"),
    Control("undo", "u", "undo", "undo the last rating",
            "undo the last rating, as often as you like"),
    Control("faster", "+", "faster", *_RUNGS, others=("=",)),
    Control("slower", "-", "slower", *_RUNGS),
    Control("note", "n", "note", "note to self, for the hints"),
    Control("pause", "p", "pause", "pause the clock", "pause"),
    Control("stop", "q", "stop", "stop; all ratings are kept",
            "stop, and rate what you played; again to end the round"),
    Control("help", "?", "help"),
)  # fmt: skip
RATES = {"accept", "heard", *(each.word for each in Recall)}
"""What rates, or has a rating proposed."""


def offered(actions: Collection[str]) -> list[Control]:
    """Return the controls whose actions can be done."""
    return [each for each in CONTROLS if each.action in actions]


def action_of(press: Press, actions: Collection[str], pedal: Pedal | None = None) -> str | None:
    """Return the action that a press stands for, None where it does nothing here.

    What a pedal sends is the pedal's.
    """
    name = press.name.lower()
    own = next((each.action for each in offered(actions) if name in each.names), None)
    return (pedal and pedal.action(press, actions)) or own


def _told(actions: Collection[str], pedal: Pedal | None) -> list[tuple[Control, str]]:
    """Return the controls that can be pressed, each with the first press that is left to it."""

    def left(control: Control) -> list[str]:
        means = control.action
        return [name for name in control.names if action_of(Press(name), actions, pedal) == means]

    return [(each, left(each)[0]) for each in offered(actions) if left(each)]


def unknown_line(press: Press) -> str:
    """Say that a press does nothing here."""
    shown = press.reason.split(": ")[-1] if press.name == "unknown" else repr(press.name)
    return f"{shown or 'That'} does nothing here; press ? for help."


def foot_of(actions: Collection[str], pedal: Pedal | None = None, *, ascii: bool = False) -> Foot:
    """Return what the footer shows: what rates, a pedal's sides, then the other controls."""
    pairs = {each.action: (name, each.word) for each, name in _told(actions, pedal)}
    ratings = tuple(pair for action, pair in pairs.items() if action in RATES)
    others = tuple(pair for action, pair in pairs.items() if action not in RATES)
    signs = ("<-", "->") if ascii else ("←", "→")
    return Foot(ratings, others, pedal.pairs(actions, signs) if pedal else ())


def while_running(foot: Foot, *without: str) -> Foot:
    """Return what the footer shows while the beat runs: what starts it stops it now.

    ``without`` are the words of what can't be done then.
    """

    def shown(pairs: Sequence[Pair]) -> tuple[Pair, ...]:
        told = [(press, "stop beat" if word == "start" else word) for press, word in pairs]
        return tuple(pair for pair in told if pair[1] not in without)

    return Foot(foot.ratings, shown(foot.others), shown(foot.pedal))


def controls_line(actions: Collection[str], pedal: Pedal | None = None) -> str:
    """Say the controls on one line, the ratings first, a pedal's sides last."""
    foot = foot_of(set(actions) - {"help"}, pedal)
    sides = pedal.pairs(actions, ("left pedal", "right pedal")) if pedal else ()
    pairs = (*foot.ratings, *foot.others, *sides)
    return f"Controls: {', '.join(' '.join(pair) for pair in pairs)}."


def coming_line(seconds: int) -> str:
    """Say in how many seconds the next card counts itself in."""
    return f"Counts in after {seconds} s; press anything to wait."


def taking_line(seconds: int) -> str:
    """Say in how many seconds the proposed rating is taken."""
    return f"Taken in {seconds} s; press anything to wait."


def help_of(
    actions: Collection[str], *, in_round: bool, pedal: Pedal | None = None
) -> list[tuple[str, str]]:
    """Return what each control does; those that do the same in a row stand together."""
    told = [
        (name, (in_round and each.in_round) or each.help) for each, name in _told(actions, pedal)
    ]
    grouped = groupby([each for each in told if each[1]], key=lambda each: each[1])
    return [(" ".join(shown for shown, _ in group), help) for help, group in grouped]


def help_lines(helps: Sequence[tuple[str, str]], notes: Sequence[str]) -> list[str]:
    """Say what each control does line by line, and the notes."""
    return [*(f"{shown}: {help}" for shown, help in helps), *notes]
