"""Which keyboard a session gets."""

import sys

import pytest

from drillbox.terminal.about import Terminal
from drillbox.terminal.line_input import LineKeys
from drillbox.terminal.which_keyboard import open_keys


def terminal(*, interactive: bool) -> Terminal:
    return Terminal(80, 24, interactive, True, True, False)


def test_lines_without_a_terminal() -> None:
    """Proves that a pipe is read line by line."""
    assert isinstance(open_keys(terminal(interactive=False)), LineKeys)


@pytest.mark.skipif(sys.platform == "win32", reason="Windows has its own keyboard")
def test_single_keys_on_a_terminal() -> None:
    """Proves that a terminal is read key by key."""
    from drillbox.terminal.posix import Keyboard

    assert isinstance(open_keys(terminal(interactive=True), alternate=True), Keyboard)
