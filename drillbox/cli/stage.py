"""The whole screen of a session: what is painted on it, its keys, its beat and its click."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import timedelta
from typing import TYPE_CHECKING

from drillbox.cli.context import Asked
from drillbox.music.pulse import Position, Pulse
from drillbox.screen.drill_keys import paused_screen
from drillbox.terminal.click import Click, ClickChoice, SilentClick, open_click
from drillbox.terminal.clock import BeatClock
from drillbox.terminal.paint import Canvas
from drillbox.terminal.presses import END, INTERRUPT, RESIZED, Keys, Press

if TYPE_CHECKING:
    from rich.console import RenderableType

    from drillbox.practice.preferences import Preferences
    from drillbox.screen.look import Look

REFRESH = 10.0  # seconds after which the screen is drawn anew while nothing happens


class Stage:
    """One session on the terminal's second screen; ``message`` is what was last said."""

    def __init__(self, options: Asked, keys: Keys, preferences: Preferences) -> None:
        self.options, self.keys, self.preferences = options, keys, preferences
        self.message = ""
        self.beat: BeatClock | None = None
        self._canvas = Canvas()
        self._click: Click = SilentClick()
        self._click_tried = False

    def close(self) -> None:
        """Fall silent and let go of the sound device."""
        self._click.close()

    @property
    def running(self) -> bool:
        """Return whether the beat runs."""
        return self.beat is not None and self.beat.running

    @property
    def position(self) -> Position | None:
        """Return the beat that fell last, None while none runs."""
        return self.beat.position if self.beat is not None and self.beat.running else None

    def wait(self) -> Press | Position:
        """Return the next beat or key, or TIMEOUT after a while without either."""
        if self.beat is not None and self.beat.running:
            return self.beat.wait()
        return self.keys.read_key(REFRESH)

    def start_beat(self, pulse: Pulse) -> None:
        """Count in and start the beat; at the first one, open the sound device.

        Where it can't be opened ``message`` says why, once a session.
        """
        if not self._click_tried:
            self._click_tried = True
            mine = self.preferences
            choice = ClickChoice(mine.click_kind, mine.click_beats, mine.volume)
            self._click, self.message = open_click(choice)
        self.beat = BeatClock(self.keys, pulse, self._click)
        self.beat.start()

    def stop_beat(self) -> None:
        """Stop the beat and forget where it was."""
        if self.beat is not None:
            self.beat.pause()
            self.beat = None

    def paused(self) -> tuple[timedelta, bool]:
        """Stand still until a key is pressed; return how long, and whether it ends the session."""
        self.stop_beat()
        began = time.monotonic()
        ended = self.show_until_key(paused_screen)
        return timedelta(seconds=time.monotonic() - began), ended

    def show_until_key(self, screen: Callable[[Look], RenderableType]) -> bool:
        """Show a screen of its own; return whether what was pressed ends the session."""
        while True:
            self.paint(screen(self.options.look))
            press = self.keys.read_key(None)
            if press != RESIZED:
                self._canvas.forget()
                return press in {END, INTERRUPT}
            self.resize()

    def resize(self) -> None:
        """Take the terminal's size anew and draw from nothing."""
        self.options.measure()
        self._canvas.forget()

    def paint(self, screen: RenderableType) -> None:
        """Put a screen on the terminal, cut to its height."""
        console = self.options.console
        with console.capture() as captured:
            console.print(screen)
        lines = captured.get().split("\n")
        self._canvas.paint(lines[: self.options.look.height])
