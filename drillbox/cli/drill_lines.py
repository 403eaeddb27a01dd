"""A drill session line by line: for pipes and scripts."""

from __future__ import annotations

import sys
from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from drillbox.cli.drill_keys import Outcome, act
from drillbox.cli.drill_view import view
from drillbox.screen.drill import drill_lines, hint_lines
from drillbox.screen.drill_keys import OVER_LINE, keys_line
from drillbox.screen.look import Look, clean
from drillbox.terminal.opening import open_keys
from drillbox.terminal.presses import Keys, Press

if TYPE_CHECKING:
    from drillbox.cli.context import Asked
    from drillbox.practice.drilling import Drill, Showing
    from drillbox.store.values import CardRecord


def play_by_lines(options: Asked, session: Drill) -> None:
    """Show each card as text, read one key a line, go on until the end."""
    look = options.look
    shown = None
    with open_keys(options.terminal, tell=tell) as keys:
        print(keys_line())
        while session.showing is not None or session.rated:
            if session.showing is None:
                print(OVER_LINE, flush=True)
            elif session.showing is not shown:
                _say_card(options, session, new=_card(shown) is not _card(session.showing))
            shown = session.showing
            if do_next(keys, keys_line(), partial(act, session, ascii=look.ascii), look):
                return


def _card(showing: Showing | None) -> CardRecord | None:
    return showing.card if showing else None


def _say_card(options: Asked, session: Drill, *, new: bool) -> None:
    showing = session.showing
    assert showing is not None  # the caller's loop asks for it
    look = options.look
    said = view(session, showing, look)
    lines = drill_lines(said, look) if new else []
    for line in [*lines, *hint_lines(said, look)]:
        print(line, flush=True)


def do_next(keys: Keys, help: str, act: Callable[[Press], Outcome], look: Look) -> bool:
    """Do what the next key asks for and say what it came to; return whether that ends it all."""
    press = keys.read_key()
    if press.name == "?":
        print(help, flush=True)
        return False
    outcome = act(press)
    if outcome.message:
        print(clean(outcome.message, ascii=look.ascii), flush=True)
    return outcome.over


def tell(line: str) -> None:
    """Say something about a line of the input, beside what the session says."""
    print(line, file=sys.stderr)
