"""The keyboard on a real terminal: a child under a pty, its keys, signals and settings."""

import os
import signal
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

termios = pytest.importorskip("termios", reason="a pty is a POSIX thing")
pexpect = pytest.importorskip("pexpect", reason="a pty is a POSIX thing")
STUCK_AFTER = 2.0  # seconds, as keys.py has it

ROOT = Path(__file__).parents[2]
CHILD = [sys.executable, "-m", "tests.terminal.pressing"]


class Child:
    """A child that waits for one line, then reads keys; remembers the settings of before."""

    def __init__(self, *options: str, term: str = "xterm-256color") -> None:
        env = {**os.environ, "TERM": term}
        self.spawn = pexpect.spawn(
            CHILD[0], [*CHILD[1:], *options], env=env, cwd=str(ROOT), timeout=10, encoding="utf-8"
        )
        self.spawn.delaybeforesend = None
        self.spawn.expect_exact("waiting")
        self.before = self.settings()

    def settings(self) -> list[object]:
        return termios.tcgetattr(self.spawn.child_fd)

    def start(self) -> None:
        self.spawn.sendline("")
        self.spawn.expect_exact("<ready>")

    def expect(self, *names: str) -> None:
        for name in names:
            self.spawn.expect_exact(f"<{name}|")

    def over(self) -> str:
        """Wait for the end; return everything printed since the last expected text."""
        self.spawn.expect_exact("over")
        text = str(self.spawn.before)
        self.spawn.expect(pexpect.EOF)
        return text


@pytest.fixture
def child() -> Iterator[Child]:
    each = Child()
    yield each
    each.spawn.close(force=True)


def test_single_keys_come_without_enter_and_without_echo(child: Child) -> None:
    """Proves one press per key: letters, UTF-8, arrows, Esc alone, a key after Esc."""
    child.start()
    child.spawn.send("l")
    child.expect("l")
    assert "l" not in str(child.spawn.before)
    for typed, name in [("é", "é"), ("\x1b[A", "up"), (" ", "space"), ("\r", "enter")]:
        child.spawn.send(typed)
        child.expect(name)
    began = time.monotonic()
    child.spawn.send("\x1b")
    child.expect("esc")
    assert time.monotonic() - began < 1
    child.spawn.send("\x1bx")  # Alt held
    child.expect("unknown")
    child.spawn.send("q")
    child.over()
    assert child.settings() == child.before


def test_an_arrow_that_arrives_in_pieces_is_one_arrow(child: Child) -> None:
    """Proves that a slow line does not turn an arrow into Esc."""
    child.start()
    for piece in ("\x1b", "[", "D"):
        child.spawn.send(piece)
        time.sleep(0.01)
    child.expect("left")
    assert "esc" not in str(child.spawn.before)


def test_keys_typed_ahead_come_one_at_a_time_and_are_not_echoed() -> None:
    """Proves that a burst typed during work is neither lost, nor joined, nor printed."""
    child = Child("busy")
    child.start()
    child.spawn.send("lrcf\x1b[Aq")
    child.expect("l", "r", "c", "f", "up", "q")
    child.over()


def test_what_was_typed_for_something_else_is_dropped() -> None:
    """Proves that a session begins without what lies in the line, but with a Ctrl-D that does."""
    child = Child("forget")
    child.spawn.send("\n")
    child.spawn.expect_exact("<ready>")
    child.spawn.send("lr\x1b]11;rgb:cccc")
    child.spawn.expect_exact("<forgotten>")
    child.spawn.send("/ffff/ffff\x1b\\f\x04")
    child.expect("f", "end")
    assert child.spawn.before.count("<") == 0
    child.over()


def test_pastes_are_marked_while_keys_are_read(child: Child) -> None:
    """Proves that a paste comes as one press of no meaning, and the marks are put off after."""
    child.start()
    assert "\x1b[?2004h" in str(child.spawn.before)
    child.spawn.send("\x1b[200~flow\x1b[201~q")
    child.expect("unknown", "q")
    assert "\x1b[?2004l" in child.over()


def test_ctrl_c_is_a_press_and_the_terminal_comes_back(child: Child) -> None:
    """Proves that Ctrl-C breaks into nothing and leaves the settings as they were."""
    child.start()
    assert child.settings() != child.before
    child.spawn.sendintr()
    child.expect("interrupt")
    child.over()
    assert child.settings() == child.before


def test_a_second_ctrl_c_breaks_off_a_program_that_is_stuck() -> None:
    """Proves that one isn't locked out when no key is read, and the settings come back."""
    child = Child("stuck")
    child.start()
    child.spawn.sendintr()
    time.sleep(STUCK_AFTER + 0.2)
    child.spawn.sendintr()
    child.spawn.expect_exact("KeyboardInterrupt")
    child.spawn.expect(pexpect.EOF)
    assert child.settings() == child.before


@pytest.mark.parametrize(
    ("number", "why"),
    [
        (signal.SIGTERM, "asked to terminate"),
        (signal.SIGHUP, "the terminal was closed"),
        (signal.SIGQUIT, "asked to quit"),
    ],
)
@pytest.mark.parametrize("when", ["waiting for a key", "in the middle of work"])
def test_a_signal_ends_the_session_cleanly(number: int, why: str, when: str) -> None:
    """Proves that END comes with its reason and the terminal is as before, idle or busy."""
    child = Child("alternate", *(["busy"] if when == "in the middle of work" else []))
    child.start()
    child.spawn.kill(number)
    child.spawn.expect_exact(f"<end|{why}>")
    last = child.over()
    assert "\x1b[?25h" in last
    assert "\x1b[?1049l" in last
    assert child.settings() == child.before


def test_a_closed_terminal_ends_the_child(tmp_path: Path) -> None:
    """Proves that the child leaves by itself when the window is closed."""
    child = Child("alternate")
    child.start()
    pid = child.spawn.pid
    os.close(child.spawn.child_fd)
    for _ in range(100):
        if os.waitpid(pid, os.WNOHANG)[0]:
            break
        time.sleep(0.05)
    else:
        os.kill(pid, signal.SIGKILL)
        pytest.fail("still running five seconds after its terminal was closed")
    child.spawn.closed, child.spawn.terminated = True, True
    child.spawn.child_fd = -1


def test_a_new_size_is_reported_at_once(child: Child) -> None:
    """Proves that a resize wakes the wait for a key."""
    child.start()
    child.spawn.setwinsize(20, 40)
    child.expect("resized")
    child.spawn.send("f")
    child.expect("f")


def under_a_shell(then: str) -> tuple[Any, str]:
    """Start the child under a shell with job control, which goes on with ``then`` once it stops;
    return the shell, and its terminal's settings before."""
    command = " ".join(CHILD) + " alternate"
    bash = pexpect.spawn(
        "bash",
        ["--norc", "-c", f"set -m; stty -g; {command}; {then}"],
        cwd=str(ROOT),
        timeout=10,
        encoding="utf-8",
        env={**os.environ, "TERM": "xterm-256color"},
    )
    bash.expect(r"([0-9a-f:]{20,})\r\n")
    before = bash.match[1]
    bash.expect_exact("waiting")
    bash.sendline("")
    bash.expect_exact("<ready>")
    return bash, before


def test_ctrl_z_gives_the_shell_its_terminal_and_fg_takes_it_back() -> None:
    """Proves a stop under a real job-control shell: settings, screens, redraw, keys after it."""
    bash, before = under_a_shell("echo stopped; stty -g; fg >/dev/null; stty -g")
    bash.send("\x1a")
    bash.expect_exact("stopped")
    assert "\x1b[?1049l" in bash.before
    bash.expect(r"([0-9a-f:]{20,})\r\n")
    assert bash.match[1] == before
    bash.expect_exact("<resized|continued>")
    assert "\x1b[?1049h" in bash.before
    bash.send("f")
    bash.expect_exact("<f|")
    bash.send("q")
    bash.expect_exact("over")
    bash.expect(r"([0-9a-f:]{20,})\r\n")
    assert bash.match[1] == before
    bash.close(force=True)


def test_ctrl_z_is_taken_as_often_as_it_is_pressed() -> None:
    """Proves the same of a second stop as of the first: the shell's screen and settings, then
    keys again."""
    twice = "echo stopped; stty -g; fg >/dev/null; echo stopped again; stty -g; fg >/dev/null"
    bash, before = under_a_shell(twice)
    for said in ("stopped", "stopped again"):
        bash.send("\x1a")
        bash.expect_exact(f"{said}\r\n")
        assert "\x1b[?1049l" in bash.before
        bash.expect(r"([0-9a-f:]{20,})\r\n")
        assert bash.match[1] == before
        bash.expect_exact("<resized|continued>")
        bash.send("f")
        bash.expect_exact("<f|")
    bash.send("q")
    bash.expect_exact("over")
    bash.close(force=True)


def test_ctrl_z_where_nothing_can_stop_it_draws_anew() -> None:
    """Proves that a session with no shell above it, which no stop can reach, goes on with keys."""
    child = Child("alternate")
    child.start()
    reading = child.settings()
    child.spawn.send("\x1a")
    child.expect("resized")
    said = str(child.spawn.before)
    assert said.index("\x1b[?1049l") < said.index("\x1b[?1049h")
    assert child.settings() == reading
    child.spawn.send("lq")
    child.expect("l", "q")
    child.over()


def test_a_stop_that_gives_no_warning_is_mended_when_it_goes_on() -> None:
    """Proves that SIGCONT alone takes the terminal back and draws anew: SIGSTOP can't be handled,
    and a shell may have put its own settings in force since."""
    child = Child("alternate")
    child.start()
    reading = child.settings()
    os.kill(child.spawn.pid, signal.SIGSTOP)
    termios.tcsetattr(child.spawn.child_fd, termios.TCSANOW, child.before)
    os.kill(child.spawn.pid, signal.SIGCONT)
    child.expect("resized")
    assert "\x1b[?1049h" in str(child.spawn.before)
    assert child.settings() == reading
    child.spawn.send("q")
    child.expect("q")
    child.over()
    assert child.before == child.settings()


def test_a_dumb_terminal_is_sent_no_escape_codes() -> None:
    """Proves that TERM=dumb sees nothing but the text, on the second screen or not."""
    child = Child("alternate", term="dumb")
    child.start()
    child.spawn.send("q")
    child.expect("q")
    assert "\x1b" not in child.over()


def test_ctrl_d_and_a_lost_terminal_are_the_end(child: Child) -> None:
    """Proves that Ctrl-D ends the session with its own reason."""
    child.start()
    child.spawn.send("\x04")
    child.spawn.expect_exact("<end|Ctrl-D>")
    child.over()
