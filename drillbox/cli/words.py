"""The stage of a session in words: nothing is drawn, each thing is said once."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from drillbox.cli.stage import Stage
from drillbox.screen.look import clean
from drillbox.terminal.presses import END, INTERRUPT, RESIZED

if TYPE_CHECKING:
    from rich.console import RenderableType

    from drillbox.music.pulse import Pulse
    from drillbox.screen.look import Look


class Words(Stage):
    """A stage that prints lines; ``anew`` asks for all of what is before the player once more."""

    anew = False

    def say(self, lines: Iterable[str]) -> None:
        """Print lines, made safe for one line of a terminal each."""
        for line in lines:
            print(clean(line, ascii=self.options.look.ascii), flush=True)

    def say_message(self) -> None:
        """Print what was last said, once."""
        if self.message:
            self.say([self.message])
            self.message = ""

    def start_beat(self, pulse: Pulse) -> None:
        """Count in and start the beat, saying so."""
        super().start_beat(pulse)
        self.say([f"Counting in, tempo {pulse.tempo}."])

    def write(self, text: str) -> None:
        """Write what is typed, as it is typed."""
        sys.stdout.write(text)
        sys.stdout.flush()

    def show_until_key(self, screen: Callable[[Look], RenderableType]) -> bool:
        """Print a screen of its own; return whether what is pressed then ends the session."""
        self.options.show(screen(self.options.look))
        while (press := self.keys.read_key(None)) == RESIZED:
            self.resize()
        return press in {END, INTERRUPT}

    def resize(self) -> None:
        """Take the terminal's size anew; what was said stays said."""
        self.options.measure()
