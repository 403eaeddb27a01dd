"""A session on the whole screen: the beat moving through the chart, single presses."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import TYPE_CHECKING

from drillbox.player.controls import foot_of, pedal_of
from drillbox.player.session import Display, Outcome, Prompt, Session
from drillbox.player.stage import Stage
from drillbox.screen.footer import Foot, help_pages, help_screen, over_screen
from drillbox.terminal.paint import Canvas
from drillbox.terminal.presses import END, INTERRUPT, RESIZED, Keys

if TYPE_CHECKING:
    from rich.console import RenderableType

    from drillbox.screen.look import Look


class OnScreen(Stage):
    """A session on the terminal's second screen."""

    def __init__(self, session: Session, display: Display, keys: Keys) -> None:
        super().__init__(session, display, keys)
        self._canvas = Canvas()

    def present(self) -> None:
        """Draw what is to be played with its beat and message; or that nothing is left."""
        look = self.display.look
        if self.session.shown:
            found = self.session.proposal
            said = " ".join(filter(None, (self.message, found and found.text, self.coming())))
            self.paint(self.session.screen(look, said, self.foot()))
        else:
            self.paint(over_screen(self.session.over_heading, self.message, look))

    def foot(self) -> Foot:
        """Return what can be pressed now, a pedal's two sides among it."""
        pedal = pedal_of(self.session.preferences.pedal)
        return foot_of(self.actions(), pedal.pairs(ascii=self.display.look.ascii) if pedal else ())

    def help(self) -> Outcome:
        """Show what can be pressed, until something is, page by page on a low terminal."""
        self.end_attempt("stopped")
        helps, notes, page = self.helps(), self.notes(), 0
        while page < len(help_pages(helps, notes, self.display.look)):
            if self.show_until_press(partial(help_screen, helps, notes, page=page)):
                return Outcome(over=True)
            page += 1
        return Outcome()

    def show_until_press(self, screen: Callable[[Look], RenderableType]) -> bool:
        """Draw a screen of its own; return whether what was pressed ends the session."""
        while True:
            self.paint(screen(self.display.look))
            press = self.keys.read_key(None)
            if press != RESIZED:
                self._canvas.forget()
                return press in {END, INTERRUPT}
            self.resize()

    def show_typed(self, prompt: Prompt, text: str) -> None:
        """Draw the line that is being typed as the message."""
        self.message = f"{prompt.asked}: {text}_"
        self.present()

    def resize(self) -> None:
        """Measure the terminal again and draw from nothing."""
        super().resize()
        self._canvas.forget()

    def paint(self, screen: RenderableType) -> None:
        """Put a screen on the terminal, cut to its height."""
        console = self.display.console
        with console.capture() as captured:
            console.print(screen)
        lines = captured.get().split("\n")
        self._canvas.paint(lines[: self.display.look.height])
