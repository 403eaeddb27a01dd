"""Play a session to its end: on the whole screen, in words, or by the lines of a pipe."""

from __future__ import annotations

from contextlib import closing

from drillbox.player.session import Display, Session
from drillbox.terminal.which_keyboard import open_keys


def play(session: Session, display: Display) -> None:
    """Play a session on what the terminal can show; its presses are read until it is over."""
    if not display.terminal.interactive:
        from drillbox.output import tell
        from drillbox.player.in_words import run_by_lines

        if session.hears and session.preferences.listen != "off":
            tell("Not listening: that needs a terminal.")
        with open_keys(display.terminal, tell=tell) as keys:
            run_by_lines(session, display, keys)
    elif display.look.plain:
        from drillbox.player.in_words import InWords

        with open_keys(display.terminal) as keys, closing(InWords(session, display, keys)) as stage:
            stage.run()
    else:
        from drillbox.player.on_screen import OnScreen

        with (
            open_keys(display.terminal, alternate=True) as keys,
            closing(OnScreen(session, display, keys)) as drawn,
        ):
            drawn.run()
