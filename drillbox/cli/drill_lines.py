"""A drill session line by line: for pipes and scripts."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from drillbox.cli.drill_keys import act
from drillbox.cli.drill_view import view
from drillbox.screen.drill import drill_lines, hint_lines
from drillbox.screen.drill_keys import OVER_LINE, keys_line
from drillbox.screen.look import clean
from drillbox.terminal.opening import open_keys

if TYPE_CHECKING:
    from drillbox.cli.context import Asked
    from drillbox.practice.drilling import Drill, Showing
    from drillbox.store.values import CardRecord


def play_by_lines(options: Asked, session: Drill) -> None:
    """Show each card as text, read one key a line, go on until the end."""
    look = options.look
    shown = None
    with open_keys(options.terminal, tell=_tell) as keys:
        print(keys_line())
        while session.showing is not None or session.rated:
            if session.showing is None:
                print(OVER_LINE, flush=True)
            elif session.showing is not shown:
                _say_card(options, session, new=_card(shown) is not _card(session.showing))
            shown = session.showing
            press = keys.read_key()
            if press.name == "?":
                print(keys_line(), flush=True)
                continue
            outcome = act(session, press, ascii=look.ascii)
            if outcome.message:
                print(clean(outcome.message, ascii=look.ascii), flush=True)
            if outcome.over:
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


def _tell(line: str) -> None:
    print(line, file=sys.stderr)
