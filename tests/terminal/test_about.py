"""What is found out about the terminal."""

import io
import os

import pytest

from drillbox.terminal.about import Terminal, terminal_facts, terminal_size


class Screen(io.StringIO):
    """A stream with an encoding that says it is a terminal, or not."""

    def __init__(self, encoding: str = "utf-8", tty: bool = True) -> None:
        super().__init__()
        self._encoding, self._tty = encoding, tty

    @property
    def encoding(self) -> str:  # type: ignore[override] # a test double
        return self._encoding

    def isatty(self) -> bool:
        return self._tty


def seen(encoding: str = "utf-8", *, tty: bool = True, keys: bool = True, **env: str) -> Terminal:
    return terminal_facts(Screen(tty=keys), Screen(encoding, tty), env)


def test_a_usual_terminal() -> None:
    """Proves the whole record where nothing is special; no size known is 80 by 24."""
    assert seen(TERM="xterm", LANG="en_GB.UTF-8") == Terminal(80, 24, True, True, True, False)


def test_a_pipe_on_either_side_is_not_interactive() -> None:
    """Proves that keys are read only where both streams are terminals."""
    assert not seen(keys=False).interactive
    piped = seen(tty=False)
    assert (piped.interactive, piped.colour, piped.dumb) == (False, False, True)


def test_no_color_and_dumb() -> None:
    """Proves NO_COLOR by its convention (set and not empty), and TERM=dumb."""
    assert not seen(NO_COLOR="1").colour
    assert seen(NO_COLOR="").colour
    dumb = seen(TERM="dumb")
    assert (dumb.colour, dumb.unicode, dumb.dumb) == (False, False, True)


@pytest.mark.parametrize(
    ("encoding", "env", "expected"),
    [
        ("utf-8", {}, True),
        ("cp1252", {}, False),
        ("ascii", {}, False),
        ("latin-1", {}, False),
        ("no-such-encoding", {}, False),
        ("utf-8", {"LC_ALL": "C"}, False),
        ("utf-8", {"LC_CTYPE": "POSIX", "LANG": "de_DE.UTF-8"}, False),
        ("utf-8", {"LC_ALL": "C.UTF-8", "LANG": "C"}, True),
    ],
)
def test_flats_only_where_they_can_be_written(
    encoding: str, env: dict[str, str], expected: bool
) -> None:
    """Proves that no screen is asked to write a sign which its encoding or locale refuses."""
    assert terminal_facts(Screen(), Screen(encoding), env).unicode is expected


def test_the_size_is_the_environments_first() -> None:
    """Proves that COLUMNS and LINES win where they are numbers above nought."""
    assert terminal_size(Screen(), {"COLUMNS": "100", "LINES": "30"}) == (100, 30)
    for none in ("0", "many", "9" * 5000, "99999"):
        assert terminal_size(Screen(), {"COLUMNS": none, "LINES": none}) == (80, 24)


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="a pty is a POSIX thing")
def test_the_size_of_a_real_terminal() -> None:
    """Proves that the terminal itself is asked, and asked anew."""
    import fcntl
    import struct
    import termios

    leader, follower = os.openpty()
    with os.fdopen(leader, "rb"), os.fdopen(follower, "w") as screen:
        fcntl.ioctl(follower, termios.TIOCSWINSZ, struct.pack("HHHH", 20, 40, 0, 0))
        assert terminal_size(screen, {}) == (40, 20)
        fcntl.ioctl(follower, termios.TIOCSWINSZ, struct.pack("HHHH", 60, 200, 0, 0))
        assert terminal_size(screen, {}) == (200, 60)
