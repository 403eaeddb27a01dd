"""A round line by line: each key's chart in order, one rating a line."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

from drillbox.cli.drill_lines import do_next, tell
from drillbox.cli.round_keys import act
from drillbox.cli.round_view import view
from drillbox.screen.round import ROUND_OVER_LINE, round_keys_line, round_lines
from drillbox.terminal.opening import open_keys

if TYPE_CHECKING:
    from drillbox.cli.context import Asked
    from drillbox.practice.rounds import Round


def play_by_lines(options: Asked, session: Round) -> None:
    """Show each key as text, read one key a line, go on until the end."""
    look = options.look
    session.play_to(len(session.legs))
    shown = None
    with open_keys(options.terminal, tell=tell) as keys:
        print(round_keys_line())
        while session.shown is not None or session.rated:
            index = session.shown
            if index is None:
                print(ROUND_OVER_LINE, flush=True)
            elif index != shown:
                said = replace(view(session, index, loop=session.loops), asking=False)
                for line in round_lines(said, look):
                    print(line, flush=True)
            shown = index
            if do_next(keys, round_keys_line(), partial(act, session, ascii=look.ascii), look):
                return
