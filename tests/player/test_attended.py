"""Time for which the program was stopped isn't practice: Ctrl-Z, and back by fg, or a lid shut."""

from __future__ import annotations

import sqlite3
import time
from contextlib import closing
from pathlib import Path

import pytest

from drillbox.player import attended
from drillbox.player.attended import Attended
from drillbox.terminal.presses import CONTINUED, RESIZED, TIMEOUT, Press
from tests.player.children import pexpect
from tests.player.test_endings import spawn_shell

STOPPED = 5.0


class _Scripted:
    """Keys whose answers are written down, each with the seconds that it takes."""

    def __init__(self, *answers: tuple[float, Press]) -> None:
        self.now, self.asked = 100.0, list[float | None]()
        self._answers = list(answers)

    def read_key(self, timeout: float | None = None) -> Press:
        self.asked.append(timeout)
        seconds, press = self._answers.pop(0)
        self.now += seconds
        return press


def _left_out(monkeypatch: pytest.MonkeyPatch, keys: _Scripted, timeout: float | None = None):
    """Return the press that comes, and what was left out before it."""
    seconds: list[float] = []
    monkeypatch.setattr(attended.time, "time", lambda: keys.now)
    monkeypatch.setattr(attended.time, "monotonic", lambda: keys.now)
    press = Attended(keys, seconds.append).read_key(timeout)  # type: ignore[arg-type]
    return press, seconds


def test_a_stop_is_told_from_when_the_program_woke_last(monkeypatch: pytest.MonkeyPatch):
    """Seconds of waiting before it are still practice: the clock is looked at once a second."""
    keys = _Scripted((1.0, TIMEOUT), (1.0, TIMEOUT), (600.5, CONTINUED))
    assert _left_out(monkeypatch, keys) == (RESIZED, [600.5])


def test_a_computer_put_to_sleep_is_told_by_the_clock(monkeypatch: pytest.MonkeyPatch):
    """Nothing says so when it wakes; a look that comes late by seconds, on a busy one, isn't it."""
    keys = _Scripted((1.0, TIMEOUT), (3600.0, TIMEOUT), (9.0, TIMEOUT), (0.2, Press("c")))
    assert _left_out(monkeypatch, keys, None) == (Press("c"), [3600.0])


def test_work_between_two_waits_is_no_stop(monkeypatch: pytest.MonkeyPatch):
    """A long round's sound may take a slow computer longer than any wait; Ctrl-Z in the middle
    of that is a stop."""
    keys = _Scripted((0.5, Press("c")), (1.0, TIMEOUT), (0.5, Press("x")), (0.5, CONTINUED))
    seconds: list[float] = []
    monkeypatch.setattr(attended.time, "time", lambda: keys.now)
    read = Attended(keys, seconds.append).read_key  # type: ignore[arg-type]
    assert read() == Press("c")
    keys.now += 60.0
    assert (read(), seconds) == (Press("x"), [])
    keys.now += 60.0
    assert (read(), seconds) == (RESIZED, [60.5])


def test_a_window_that_is_resized_leaves_nothing_out(monkeypatch: pytest.MonkeyPatch):
    """The same press without a stop is only to be drawn."""
    assert _left_out(monkeypatch, _Scripted((0.5, RESIZED))) == (RESIZED, [])


@pytest.mark.parametrize("timeout", [0, 0.4, 1.0, 3.5])
def test_a_wait_is_as_long_as_was_asked_for(monkeypatch: pytest.MonkeyPatch, timeout: float):
    """Looking at the clock in between makes it neither longer nor shorter."""
    whole, rest = divmod(timeout, 1)
    keys = _Scripted(*[(1.0, TIMEOUT)] * int(whole), (rest, TIMEOUT))
    began = keys.now
    assert _left_out(monkeypatch, keys, timeout) == (TIMEOUT, [])
    assert keys.now - began == pytest.approx(timeout)


@pytest.mark.parametrize("pause", ["", "p"])
def test_seconds_under_ctrl_z_are_no_seconds_of_an_attempt(quick: Path, pause: str):
    """Neither of one that goes nor, a second time, of one that is paused."""
    child = spawn_shell(quick)
    child.sendline("$RUN drill --minutes 20")
    child.expect("Red door")
    child.expect("stop")
    began = time.time()
    time.sleep(1.5)
    child.send(pause or " ")
    child.expect("Paused" if pause else "1 ·")
    child.send("\x1a")
    child.expect("Stopped")
    time.sleep(STOPPED)
    child.sendline("fg")
    child.expect("Paused" if pause else "Red door")
    child.send("xc" if pause else "c")
    child.expect("Tin roof")
    took = time.time() - began
    child.send("q")
    child.expect("1 go in")
    child.sendline("exit")
    child.expect(pexpect.EOF)
    child.close()
    with closing(sqlite3.connect(quick)) as database:
        (seconds,) = database.execute("SELECT seconds FROM attempt").fetchone()
    assert 1.4 < seconds < took - STOPPED + 1.1
