"""A round on the whole screen: the beat runs through key after key without a stop."""

from __future__ import annotations

from contextlib import closing
from dataclasses import replace
from typing import TYPE_CHECKING

from drillbox.cli.context import Asked
from drillbox.cli.drill_keys import RATING_LETTERS
from drillbox.cli.round_keys import act
from drillbox.cli.round_view import view
from drillbox.cli.stage import Stage
from drillbox.music.pulse import Position, Pulse
from drillbox.screen.drill_keys import over_screen
from drillbox.screen.round import ROUND_OVER, round_help, round_screen
from drillbox.terminal.clock import OVER
from drillbox.terminal.opening import open_keys
from drillbox.terminal.presses import RESIZED, TIMEOUT, Keys, Press

if TYPE_CHECKING:
    from drillbox.practice.rounds import Round


def play_on_screen(options: Asked, session: Round) -> None:
    """Run the round to its end on the terminal's second screen."""
    with (
        open_keys(options.terminal, alternate=True) as keys,
        closing(RoundPlayer(options, session, keys)) as player,
    ):
        player.run()


class RoundPlayer(Stage):
    """The screen of one round: where the beat is in it, and what each key does."""

    def __init__(self, options: Asked, session: Round, keys: Keys) -> None:
        super().__init__(options, keys, session.preferences)
        self.session = session
        self.first = 0  # the key that the beat was started in
        self.beats = 0

    def run(self) -> None:
        """Draw, wait for a key or a beat, do what it asks for, until the round is over."""
        while self.session.shown is not None or self.session.rated:
            self.draw()
            happened = self.wait()
            if isinstance(happened, Position):
                self.follow(happened)
            elif happened == OVER:
                self.session.play_to(len(self.session.legs))
                self.message = ""
            elif happened != TIMEOUT and self.handle(happened):
                return

    def follow(self, position: Position) -> None:
        """Go on to the next key where the beat has reached it."""
        if position.count_in:
            return
        reached = self.first + position.bar // self.bars
        if reached != self.session.at:
            self.session.play_to(reached)
            self.message = ""

    @property
    def bars(self) -> int:
        """Return how many bars a key is played for, all its times through."""
        return len(self.session.legs[0].on.bars) * self.session.loops

    def handle(self, press: Press) -> bool:
        """Do what a key asks for; return whether the round is over."""
        if press == RESIZED:
            self.resize()
            return False
        own = {"space": self.start_or_stop, "?": self.help, "p": self.pause}
        if press.name in own and self.session.shown is not None:
            self.message = ""
            return own[press.name]()
        position = self.position
        counting_in = self.running and (position is None or position.count_in)
        if counting_in and press.name.lower() in RATING_LETTERS:
            self.message = "Counting in: nothing was played yet."
            return False
        outcome = act(self.session, press, running=self.running, ascii=self.options.look.ascii)
        self.message = outcome.message
        if outcome.over or outcome.stopped:
            self.stop_beat()
        return outcome.over

    def start_or_stop(self) -> bool:
        """Count in and start the beat in the key shown, or stop it."""
        if self.running:
            self.stop_beat()
            return False
        session = self.session
        left = len(session.legs) - session.at
        if not left:
            self.message = "All keys were played: rate them, or s leaves one unrated."
            return False
        leg = session.legs[session.at]
        doubled = leg.read.double_time and session.preferences.doubled_beat
        pulse = Pulse(leg.on.meter, left * self.bars, session.tempo, 1, doubled)
        self.first, self.beats = session.at, pulse.beats_in_bar
        self.start_beat(pulse)
        return False

    def pause(self) -> bool:
        """Stop the time until a key is pressed; return whether the round is over."""
        length, ended = self.paused()
        self.session.pause(length)
        return ended

    def help(self) -> bool:
        """Show the keys until one is pressed; return whether the round is over."""
        self.stop_beat()
        return self.show_until_key(round_help)

    def draw(self) -> None:
        """Draw the key that sounds or is asked for; or that the round is over."""
        look, index = self.options.look, self.session.shown
        if index is None:
            self.paint(over_screen(look, self.message, ROUND_OVER))
            return
        position, loop = self.position, 0
        if position is not None and not position.count_in:
            loop, bar = divmod(position.bar % self.bars, self.bars // self.session.loops)
            position = replace(position, bar=bar)
        said = view(self.session, index, self.message, position, self.beats, loop=loop)
        self.paint(round_screen(said, look))
