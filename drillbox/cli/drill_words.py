"""A drill session in words: single keys and the click, line by line, for screen readers."""

from __future__ import annotations

from contextlib import closing
from typing import TYPE_CHECKING

from drillbox.cli.context import Asked
from drillbox.cli.drill_screen import Player, edited
from drillbox.cli.drill_view import view
from drillbox.cli.words import Words
from drillbox.screen.drill import drill_lines, hint_lines
from drillbox.screen.drill_keys import OVER_LINE, help_lines, keys_line
from drillbox.terminal.opening import open_keys
from drillbox.terminal.presses import BACKSPACE, END, ENTER, ESC, INTERRUPT, Keys

if TYPE_CHECKING:
    from drillbox.practice.drilling import Drill


def play_in_words(options: Asked, session: Drill) -> None:
    """Run the session to its end, each thing said once, on a line of its own."""
    with (
        open_keys(options.terminal) as keys,
        closing(DrillInWords(options, session, keys)) as player,
    ):
        player.run()


class DrillInWords(Words, Player):
    """A drill session that says what a screen would show."""

    def __init__(self, options: Asked, session: Drill, keys: Keys) -> None:
        super().__init__(options, session, keys)
        self.told: tuple[int, int] | None = None  # the card and the hint that were said last
        self.say([keys_line()])

    def draw(self) -> None:
        """Say what is new: the message, the card, its hint."""
        self.say_message()
        showing, look = self.session.showing, self.options.look
        now = (showing.card.id, showing.hint) if showing is not None else None
        if now == self.told and not self.anew:
            return
        if showing is None:
            self.say([OVER_LINE])
        else:
            said = view(self.session, showing, look)
            new = self.anew or self.told is None or self.told[0] != showing.card.id
            self.say([*(drill_lines(said, look) if new else []), *hint_lines(said, look)])
        self.told, self.anew = now, False

    def help(self) -> bool:
        """Say the keys; the session goes on."""
        self.say(help_lines())
        return False

    def typing(self, prompt: str, text: str) -> tuple[str | None, bool]:
        """Return the line that is typed after what stands there; Esc leaves it."""
        self.write(f"{prompt}: {text}")
        while True:
            press = self.keys.read_key(None)
            if press in {END, INTERRUPT, ESC, ENTER}:
                self.write("\n")
                return (text if press == ENTER else None), press in {END, INTERRUPT}
            self.write("\b \b" if press == BACKSPACE and text else press.character)
            text = edited(text, press)
