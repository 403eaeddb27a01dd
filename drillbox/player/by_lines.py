"""A session line by line, for pipes and scripts: each thing as text, one press a line."""

from __future__ import annotations

from collections.abc import Iterable

from drillbox.player.controls import controls_line
from drillbox.player.session import Display, Outcome, Session, do
from drillbox.screen.look import clean
from drillbox.terminal.presses import Keys


def run_by_lines(session: Session, display: Display, keys: Keys) -> None:
    """Say what is to be played, read one press a line, go on until the end.

    Raises StoreFailure at the first rating that the store can't take: the lines after it were
    written for other cards.
    """
    line = controls_line(session.actions())
    say([line, *([session.opening] if session.opening else [])], display)
    while not session.done:
        say(session.news(display.look) if session.shown else [session.over_line], display)
        help = {"help": lambda: Outcome(line)}
        outcome = do(session, keys.read_key(), {**session.actions(), **help})
        say([outcome.message] if outcome.message else [], display)
        if outcome.over:
            return


def say(lines: Iterable[str], display: Display) -> None:
    """Print lines, made safe for one line of a terminal each."""
    for line in lines:
        print(clean(line, ascii=display.look.ascii), flush=True)
