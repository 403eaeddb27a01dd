"""Which keyboard a session reads from."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping

from drillbox.terminal.about import Terminal
from drillbox.terminal.line_input import LineKeys
from drillbox.terminal.presses import Keys, Press

if sys.platform == "win32":
    from drillbox.terminal.windows import ConsoleKeyboard
else:
    from drillbox.terminal.posix import Keyboard


def open_keys(
    terminal: Terminal,
    *,
    alternate: bool = False,
    words: Mapping[str, Press] | None = None,
    tell: Callable[[str], object] | None = None,
) -> Keys:
    """Return the keyboard for this terminal, to be entered with ``with``.

    ``alternate`` concerns a real terminal only; ``words`` and ``tell`` a stream of lines
    (see ``LineKeys``).
    """
    if not terminal.interactive:
        return LineKeys(words=words, tell=tell)
    if sys.platform == "win32":
        return ConsoleKeyboard(alternate=alternate and not terminal.dumb)
    return Keyboard(alternate=alternate and not terminal.dumb)
