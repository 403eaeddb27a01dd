"""A round in words: the key that sounds and the next one ahead, for screen readers."""

from __future__ import annotations

from contextlib import closing
from typing import TYPE_CHECKING

from drillbox.cli.context import Asked
from drillbox.cli.round_screen import RoundPlayer
from drillbox.cli.round_view import view
from drillbox.cli.words import Words
from drillbox.screen.round import ROUND_OVER_LINE, round_help_lines, round_keys_line, round_lines
from drillbox.terminal.opening import open_keys
from drillbox.terminal.presses import Keys

if TYPE_CHECKING:
    from drillbox.practice.rounds import Round


def play_in_words(options: Asked, session: Round) -> None:
    """Run the round to its end, each thing said once, on a line of its own."""
    with (
        open_keys(options.terminal) as keys,
        closing(RoundInWords(options, session, keys)) as player,
    ):
        player.run()


class RoundInWords(Words, RoundPlayer):
    """A round that says what a screen would show."""

    def __init__(self, options: Asked, session: Round, keys: Keys) -> None:
        super().__init__(options, session, keys)
        self.told: tuple[int | None, bool] = (-1, False)  # the key said last, and if asked for
        self.say([round_keys_line()])

    def draw(self) -> None:
        """Say what is new: the message, the key, its chart, and the key after it."""
        self.say_message()
        index = self.session.shown
        now = (index, self.session.at == len(self.session.legs))
        if now == self.told:
            return
        self.told = now
        if index is None:
            self.say([ROUND_OVER_LINE])
        else:
            said = view(self.session, index, loop=self.session.loops)
            self.say(round_lines(said, self.options.look))

    def help(self) -> bool:
        """Say the keys; the beat and the round go on."""
        self.say(round_help_lines())
        return False
