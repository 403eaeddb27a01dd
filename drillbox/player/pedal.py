"""A page-turning pedal: to the terminal it is a keyboard with a left and a right key."""

from __future__ import annotations

from typing import NamedTuple

from drillbox.screen.footer import Pair
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

    def action(self, press: Press) -> str | None:
        """Return the action that a press of the pedal stands for, None for other presses.

        Pedals send arrows, Page Up and Page Down, or Space and Enter (common practice). Where
        neither side starts the beat, Space still does.
        """
        side = None
        if press in {LEFT, UP, PAGE_UP} or (press == SPACE and "start" in self):
            side = self.left
        elif press in {RIGHT, DOWN, PAGE_DOWN, ENTER}:
            side = self.right
        return side and _MEANS.get(side, side)

    def pairs(self, *, ascii: bool) -> tuple[Pair, Pair]:
        """Return what the footer shows."""
        left, right = ("<-", "->") if ascii else ("←", "→")
        return (left, self.left), (right, self.right)

    def notes(self) -> tuple[str, str]:
        """Say at length which presses count as the pedal's, and what they do."""
        space = ", space" if "start" in self else ""
        return (
            f"Pedal, left (left or up arrow, Page Up{space}): {self._said(self.left)}.",
            f"Pedal, right (right or down arrow, Page Down, Enter): {self._said(self.right)}.",
        )

    def _said(self, side: str) -> str:
        return _LONG.get(side, f"rate it {side}")


def pedal_of(setting: tuple[str, str] | None) -> Pedal | None:
    """Return the pedal that is set up, None where there is none."""
    return Pedal(*setting) if setting else None
