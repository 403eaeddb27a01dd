"""A drill session on the whole screen: single keys, the beat moving through the chart."""

from __future__ import annotations

import time
from datetime import timedelta
from typing import TYPE_CHECKING

from drillbox.cli.context import Asked
from drillbox.cli.drill_keys import Outcome, act
from drillbox.cli.drill_view import view
from drillbox.music.pulse import Position, pulse_of
from drillbox.screen.drill import drill_screen
from drillbox.screen.drill_keys import help_screen, over_screen, paused_screen
from drillbox.terminal.click import Click, ClickChoice, SilentClick, open_click
from drillbox.terminal.clock import OVER, BeatClock
from drillbox.terminal.opening import open_keys
from drillbox.terminal.paint import Canvas
from drillbox.terminal.presses import (
    BACKSPACE,
    END,
    ENTER,
    ESC,
    INTERRUPT,
    RESIZED,
    SPACE,
    TIMEOUT,
    Keys,
    Press,
)

if TYPE_CHECKING:
    from rich.console import RenderableType

    from drillbox.practice.drilling import Drill, Showing

REFRESH = 10.0  # seconds after which the minutes left are drawn anew while nothing happens


def play_on_screen(options: Asked, session: Drill) -> None:
    """Run the session to its end on the terminal's second screen."""
    with open_keys(options.terminal, alternate=True) as keys:
        player = Player(options, session, keys)
        try:
            player.run()
        finally:
            player.click.close()


class Player:
    """The screen of one session: what is drawn, what the beat does, what was last said."""

    def __init__(self, options: Asked, session: Drill, keys: Keys) -> None:
        self.options, self.session, self.keys = options, session, keys
        self.canvas = Canvas()
        self.click: Click = SilentClick()
        self.beat: BeatClock | None = None
        self.beats = 0
        self.click_tried = False
        self.message = ""

    def run(self) -> None:
        """Draw, wait for a key or a beat, do what it asks for, until the session is over."""
        while self.session.showing is not None or self.session.rated:
            self.draw()
            happened = self.wait()
            if isinstance(happened, Position) or happened in {TIMEOUT, OVER}:
                continue
            if self.handle(happened):
                return

    def wait(self) -> Press | Position:
        """Return the next beat or key."""
        if self.beat is not None and self.beat.running:
            return self.beat.wait()
        return self.keys.read_key(REFRESH)

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
        if self.beat is None or before is None:
            return
        if (
            outcome.over
            or now is None
            or (now.card.id, now.tempo) != (before.card.id, before.tempo)
        ) or outcome.rated:
            self.stop_beat()

    def start_or_stop(self) -> bool:
        """Count in and start the beat, or stop it."""
        if self.beat is not None and self.beat.running:
            self.stop_beat()
            return False
        self.open_click()
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
        self.beat = BeatClock(self.keys, pulse, self.click)
        self.beat.start()
        return False

    def open_click(self) -> None:
        """Open the sound device at the first beat of the session, saying once why it can't be."""
        if not self.click_tried:
            self.click_tried = True
            preferences = self.session.preferences
            choice = ClickChoice(
                preferences.click_kind, preferences.click_beats, preferences.volume
            )
            self.click, self.message = open_click(choice)

    def stop_beat(self) -> None:
        """Stop the beat and forget where it was."""
        if self.beat is not None:
            self.beat.pause()
            self.beat = None

    def pause(self) -> bool:
        """Stop the time until a key is pressed; return whether the session is over."""
        self.stop_beat()
        began = time.monotonic()
        ended = self.show_until_key(paused_screen(self.options.look))
        self.session.pause(timedelta(seconds=time.monotonic() - began))
        return ended

    def help(self) -> bool:
        """Show the keys until one is pressed; return whether the session is over."""
        self.stop_beat()
        return self.show_until_key(help_screen(self.options.look))

    def show_until_key(self, screen: RenderableType) -> bool:
        """Show a screen of its own; return whether what was pressed ends the session."""
        while True:
            self.paint(screen)
            press = self.keys.read_key(None)
            if press != RESIZED:
                self.canvas.forget()
                return press in {END, INTERRUPT}
            self.resize()

    def note(self) -> bool:
        """Let the player type a note to self for this card; return whether the session is over."""
        self.stop_beat()
        showing = self.session.showing
        assert showing is not None  # the run loop asks for it
        text = showing.card.note or ""
        while True:
            self.message = f"note (Enter keeps it, Esc leaves it): {text}_"
            self.draw()
            press = self.keys.read_key(None)
            if press in {END, INTERRUPT}:
                return True
            if press == RESIZED:
                self.resize()
            elif press == ENTER:
                self.session.note(text.strip())
                self.message = "Note kept." if text.strip() else "No note."
                return False
            elif press == ESC:
                self.message = ""
                return False
            elif press == BACKSPACE:
                text = text[:-1]
            elif press == SPACE or len(press.name) == 1:
                text += press.character

    def resize(self) -> None:
        """Take the terminal's size anew and draw from nothing."""
        self.options.measure()
        self.canvas.forget()

    def draw(self) -> None:
        """Draw the card with its beat, hints and message; or that no card is left."""
        showing, look = self.session.showing, self.options.look
        if showing is None:
            self.paint(over_screen(look, self.message))
            return
        running = self.beat is not None and self.beat.running
        position = self.beat.position if self.beat is not None and running else None
        said = view(self.session, showing, look, self.message, position, self.beats)
        self.paint(drill_screen(said, look))

    def paint(self, screen: RenderableType) -> None:
        """Put a screen on the terminal, cut to its height."""
        console = self.options.console
        with console.capture() as captured:
            console.print(screen)
        lines = captured.get().split("\n")
        self.canvas.paint(lines[: self.options.look.height])
