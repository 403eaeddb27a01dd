"""Which keyboard a session reads from; without a terminal, lines; and the prompt of a question."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from types import TracebackType
from typing import Self, TextIO

from drillbox.errors import BadInput, Interrupted
from drillbox.output import one_line
from drillbox.terminal.about import Terminal
from drillbox.terminal.presses import (
    END,
    ENTER,
    ESC,
    INTERRUPT,
    SPACE,
    UNKNOWN,
    Keys,
    Press,
)

WORDS: Mapping[str, Press] = {
    **{word: Press(word[0]) for word in ("lost", "rough", "clean", "fluent")},
    **{press.name: press for press in (ENTER, SPACE, ESC)},
}


class LineKeys:
    """Presses read from lines of text: the first word of each is a character or a known word.

    ``tell`` is given one line for an empty line, which isn't a press. ``read_key`` waits for a
    whole line whatever its timeout: without a terminal there is no beat to keep.
    """

    def __init__(
        self,
        stdin: TextIO | None = None,
        *,
        tell: Callable[[str], object] | None = None,
    ) -> None:
        self._stdin = sys.stdin if stdin is None else stdin
        self._tell = tell
        self._line = 0

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        return None

    def forget_typed(self) -> None:
        """Do nothing: lines that were written ahead are meant."""

    def read_key(self, timeout: float | None = None) -> Press:
        """Return the press of the next line that isn't empty; END at the end of input."""
        del timeout
        while True:
            try:
                line = self._stdin.readline()
            except KeyboardInterrupt:
                return INTERRUPT
            except UnicodeDecodeError:
                return Press(END.name, f"Line {self._line + 1} of the input isn't text.")
            if not line:
                return END
            self._line += 1
            if line.strip():
                return self._press(line.split()[0])
            if self._tell:
                self._tell(f"drillbox: Line {self._line} is empty; it rates nothing.")

    def _press(self, word: str) -> Press:
        if len(word) == 1:
            return Press(word)
        return WORDS.get(word.lower(), Press(UNKNOWN.name, f"line {self._line}: {word!r}"))


def ask(prompt: str, default: str = "") -> str:
    """Ask for one line of text; return it stripped, or ``default`` for an empty one.

    Raises Interrupted on Ctrl-C and at the end of input, BadInput for bytes that aren't text.
    """
    shown = f"{prompt} [{default}]: " if default else f"{prompt}: "
    try:
        answer = input(one_line(shown)).strip()
    except (EOFError, KeyboardInterrupt):
        print()  # what follows stands on a line of its own
        raise Interrupted("Stopped", "Nothing was changed.") from None
    except UnicodeDecodeError:
        raise BadInput("What you typed isn't text", "Type it again in UTF-8.") from None
    return answer or default


if sys.platform == "win32":
    from drillbox.terminal.windows import ConsoleKeyboard
else:
    from drillbox.terminal.posix import Keyboard


def open_keys(
    terminal: Terminal,
    *,
    alternate: bool = False,
    tell: Callable[[str], object] | None = None,
) -> Keys:
    """Return the keyboard for this terminal, to be entered with ``with``.

    ``alternate`` concerns a real terminal only, ``tell`` a stream of lines (see ``LineKeys``).
    """
    if not terminal.interactive:
        return LineKeys(tell=tell)
    if sys.platform == "win32":
        return ConsoleKeyboard(alternate=alternate and not terminal.dumb)
    return Keyboard(alternate=alternate and not terminal.dumb)
