"""A drill session on the whole screen: single keys, the beat moving through the chart."""

from __future__ import annotations

from contextlib import closing
from typing import TYPE_CHECKING

from drillbox.cli.context import Asked
from drillbox.cli.drill_keys import Outcome, act
from drillbox.cli.drill_view import view
from drillbox.cli.stage import Stage
from drillbox.music.pulse import Position, pulse_of
from drillbox.screen.drill import drill_screen
from drillbox.screen.drill_keys import help_screen, over_screen
from drillbox.terminal.clock import OVER
from drillbox.terminal.opening import open_keys
from drillbox.terminal.presses import (
    BACKSPACE,
    END,
    ENTER,
    ESC,
    INTERRUPT,
    RESIZED,
    TIMEOUT,
    Keys,
    Press,
)

if TYPE_CHECKING:
    from drillbox.practice.drilling import Drill, Showing


def play_on_screen(options: Asked, session: Drill) -> None:
    """Run the session to its end on the terminal's second screen."""
    with (
        open_keys(options.terminal, alternate=True) as keys,
        closing(Player(options, session, keys)) as player,
    ):
        player.run()


class Player(Stage):
    """The screen of one drill session: what is drawn, and what each key and beat does."""

    def __init__(self, options: Asked, session: Drill, keys: Keys) -> None:
        super().__init__(options, keys, session.preferences)
        self.session = session
        self.beats = 0

    def run(self) -> None:
        """Draw, wait for a key or a beat, do what it asks for, until the session is over."""
        while self.session.showing is not None or self.session.rated:
            self.draw()
            happened = self.wait()
            if isinstance(happened, Position) or happened in {TIMEOUT, OVER}:
                continue
            if self.handle(happened):
                return

    def handle(self, press: Press) -> bool:
        """Do what a key asks for; return whether the session is over."""
        if press == RESIZED:
            self.resize()
            return False
        name = press.name.lower()
        own = {"space": self.start_or_stop, "?": self.help, "p": self.pause, "n": self.note}
        if name in own and self.session.showing is not None:
            self.message = ""
            return own[name]()
        before = self.session.showing
        outcome = act(self.session, press, ascii=self.options.look.ascii)
        self.message = outcome.message
        self.after(before, outcome)
        return outcome.over

    def after(self, before: Showing | None, outcome: Outcome) -> None:
        """End the beat where the card or its tempo is another one now."""
        now = self.session.showing
        if before is None:
            return
        if (
            outcome.over
            or outcome.rated
            or now is None
            or (now.card.id, now.tempo) != (before.card.id, before.tempo)
        ):
            self.stop_beat()

    def start_or_stop(self) -> bool:
        """Count in and start the beat, or stop it."""
        if self.running:
            self.stop_beat()
            return False
        showing = self.session.showing
        assert showing is not None  # the run loop asks for it
        preferences = self.session.preferences
        pulse = pulse_of(
            showing.card.chart,
            showing.tempo,
            loops=preferences.rules.loops or None,
            doubled=showing.card.double_time and preferences.doubled_beat,
        )
        self.beats = pulse.beats_in_bar
        self.start_beat(pulse)
        return False

    def pause(self) -> bool:
        """Stop the time until a key is pressed; return whether the session is over."""
        length, ended = self.paused()
        self.session.pause(length)
        return ended

    def help(self) -> bool:
        """Show the keys until one is pressed; return whether the session is over."""
        self.stop_beat()
        return self.show_until_key(help_screen)

    def note(self) -> bool:
        """Let the player type a note to self for this card; return whether the session is over."""
        self.stop_beat()
        showing = self.session.showing
        assert showing is not None  # the run loop asks for it
        typed, over = self.typing("note (Enter keeps it, Esc leaves it)", showing.card.note or "")
        if typed is not None:
            self.session.note(typed.strip())
            self.message = "Note kept." if typed.strip() else "No note."
        return over

    def typing(self, prompt: str, text: str) -> tuple[str | None, bool]:
        """Return the line that is typed over ``text``, None for Esc; and if the session is over."""
        while True:
            self.message = f"{prompt}: {text}_"
            self.draw()
            press = self.keys.read_key(None)
            if press in {END, INTERRUPT, ESC, ENTER}:
                self.message = ""
                return (text if press == ENTER else None), press in {END, INTERRUPT}
            if press == RESIZED:
                self.resize()
            else:
                text = edited(text, press)

    def draw(self) -> None:
        """Draw the card with its beat, hints and message; or that no card is left."""
        showing, look = self.session.showing, self.options.look
        if showing is None:
            self.paint(over_screen(look, self.message))
            return
        said = view(self.session, showing, look, self.message, self.position, self.beats)
        self.paint(drill_screen(said, look))


def edited(text: str, press: Press) -> str:
    """Return a line of text after one more key."""
    return text[:-1] if press == BACKSPACE else text + press.character
