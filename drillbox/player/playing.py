"""Play a session to its end: on the whole screen, in words, or by the lines of a pipe."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from contextlib import closing
from functools import partial
from itertools import takewhile
from typing import TYPE_CHECKING

from rich.cells import cell_len

from drillbox.music.pulse import Pulse
from drillbox.output import drawing, tell
from drillbox.player.controls import controls_line, foot_of, help_lines
from drillbox.player.session import Display, Outcome, Prompt, Session, do
from drillbox.player.stage import Stage
from drillbox.screen.footer import Foot, help_pages, help_screen, over_screen
from drillbox.screen.look import clean
from drillbox.terminal.keyboards import open_keys
from drillbox.terminal.paint import Canvas
from drillbox.terminal.presses import LEAVING, RESIZED, Keys

if TYPE_CHECKING:
    from rich.console import RenderableType

    from drillbox.practice.listening import Heard
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
            reasons = f"{found.text}." if found else ""
            said = " ".join(filter(None, (self.message, reasons, self.coming())))
            self.paint(self.session.screen(look, said, self.foot()))
        else:
            session = self.session
            self.paint(over_screen(session.over_heading, session.closing, self.message, look))

    def foot(self) -> Foot:
        """Return what can be pressed now, a pedal's two sides among it."""
        return foot_of(self.actions(), self.pedal, ascii=self.display.look.ascii)

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
                return press in LEAVING
            self.resize()

    def show_typed(self, prompt: Prompt, text: str) -> None:
        """Draw the line that is being typed as the message, of a long one the end."""
        look = self.display.look
        room = look.width * look.height // 8
        more = "..." if look.ascii else "…"
        self.message = f"{prompt.asked}: {more if len(text) > room else ''}{text[-room:]}_"
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


def run_by_lines(session: Session, display: Display, keys: Keys) -> bool:
    """Say what is to be played, read one press a line, go on until the end.

    Return whether it was broken off. Raises StoreFailure at the first rating that the store
    can't take: the lines after it were written for other cards.
    """
    line = controls_line(session.actions())
    say([line, *([session.opening] if session.opening else [])], display)
    while not session.done:
        say(session.news(display.look) if session.shown else [session.over_line], display)
        help = {"help": lambda: Outcome(line)}
        press = keys.read_key()
        outcome = do(session, press, {**session.actions(), **help})
        say([outcome.message] if outcome.message else [], display)
        if outcome.over:
            return press in LEAVING
    return False


def say(lines: Iterable[str], display: Display) -> None:
    """Print lines, made safe for one line of a terminal each."""
    for line in lines:
        print(clean(line, ascii=display.look.ascii), flush=True)


class InWords(Stage):
    """A session that says what a screen would show."""

    def __init__(self, session: Session, display: Display, keys: Keys) -> None:
        super().__init__(session, display, keys)
        self._over_said = False
        self._proposed: Heard | None = None  # the proposal that was said
        self._taking_told = False  # how one is taken was said
        self._typed: str | None = None  # what stands on the line that is being typed
        say([controls_line(self.actions(), self.pedal)], display)

    def present(self) -> None:
        """Say what is new: the message, what is to be played, its hint."""
        found = self.session.proposal
        proposed = found.text if found and found is not self._proposed else ""
        self._proposed = found
        if self.message or proposed:
            taken = ""
            if proposed and not self._taking_told:
                taken, self._taking_told = controls_line(self.actions(), self.pedal), True
            say(filter(None, (self.message, proposed, self.coming(), taken)), self.display)
            self.message = ""
        if self.session.shown:
            say(self.session.news(self.display.look), self.display)
        elif not self._over_said:
            say([self.session.over_line], self.display)
        self._over_said = not self.session.shown

    def help(self) -> Outcome:
        """Say what can be pressed; beat and session go on."""
        say(help_lines(self.helps(), self.notes()), self.display)
        return Outcome()

    def start_attempt(self, pulse: Pulse) -> str:
        """Count in and start the beat, saying so."""
        problem = super().start_attempt(pulse)
        say([f"Counting in, tempo {pulse.tempo}."], self.display)
        return problem

    def show_until_press(self, screen: Callable[[Look], RenderableType]) -> bool:
        """Print a screen of its own; return whether what is pressed then ends the session."""
        self.display.show(screen(self.display.look))
        while (press := self.keys.read_key(None)) == RESIZED:
            self.resize()
        return press in LEAVING

    def typing(self, prompt: Prompt) -> Outcome:
        """Let a line be typed after what stands there; Esc leaves it."""
        self._typed = None
        outcome = super().typing(prompt)
        _write("\n")
        return outcome

    def show_typed(self, prompt: Prompt, text: str) -> None:
        """Write what was typed since the last time, as it is typed."""
        if self._typed is None:
            _write(f"{prompt.asked}: {text}")
        else:
            pairs = zip(self._typed, text, strict=False)
            same = sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], pairs))
            _write("\b \b" * cell_len(self._typed[same:]), drawn=True)
            _write(text[same:])
        self._typed = text


def _write(text: str, *, drawn: bool = False) -> None:
    out = drawing(sys.stdout) if drawn else sys.stdout
    out.write(text)
    out.flush()


def play(session: Session, display: Display) -> bool:
    """Play a session on what the terminal can show; its presses are read until it is over.

    Return whether it was broken off: by Ctrl-C, or as nothing more could be read.
    """
    if not display.terminal.interactive:
        if session.hears and session.preferences.listen != "off":
            tell("Not listening: that needs a terminal.")
        with open_keys(display.terminal, tell=tell) as keys:
            return run_by_lines(session, display, keys)
    elif display.look.plain:
        with open_keys(display.terminal) as keys, closing(InWords(session, display, keys)) as stage:
            return stage.run()
    else:
        with (
            open_keys(display.terminal, alternate=True) as keys,
            closing(OnScreen(session, display, keys)) as drawn,
        ):
            return drawn.run()
