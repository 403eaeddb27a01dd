"""Random bytes in a real terminal: no session fails, and whatever was rated is whole."""

from __future__ import annotations

import random
import re
import signal
import termios
import time
from pathlib import Path

import pytest

from drillbox.store.checks import check_store
from drillbox.store.opening import open_store
from tests.player.children import pexpect, ratings, spawn
from tests.store.making import NOW

COMMANDS = (
    ("drill",),
    ("--plain", "drill"),
    ("round", "Red door", "--all"),
    ("--plain", "round", "Tin roof", "--all"),
)  # fmt: skip
PIECES = (
    b"\x1b", b"\x1b[", b"\x1b]", b"\x1bP", b"\x1bO", b"\x9b", b"\x1b[200~", b"\x1b[201~", b"\x1b[M",
    b"\x1b[A", b"\x1b[1;5C", b"\x1b[<0;3;4M", b"\x07", b"\x1b\\", b"\xff", b"\xc3", b"\xf0\x9f",
    b"\x00", b"\x7f", b"\r", b"\n", b"\t", b"\x10", b" ", b"9" * 300,
)  # fmt: skip
LETTERS = b"lrcfhu+-snp?aPQZ1230"


def noise(dice: random.Random) -> bytes:
    """Return some hundred bytes: raw ones, pieces of sequences, letters that are controls."""
    made = []
    for _ in range(dice.randrange(20, 120)):
        kind = dice.random()
        if kind < 0.3:
            raw = dice.randbytes(dice.randrange(1, 9))
            # What ends, stops or suspends the program by itself is for other tests.
            made.append(bytes(each for each in raw if each not in b"\x03\x04\x11\x13\x16\x1a\x1cq"))
        elif kind < 0.65:
            made.append(dice.choice(PIECES))
        else:
            made.append(bytes([dice.choice(LETTERS)]))
    return b"".join(made)


def session_of(place: Path, number: int) -> str:
    """Drive one session by noise and end it; return all that it wrote."""
    dice = random.Random(number)
    size = dice.choice([(24, 80), (10, 30), (50, 200)])
    child = spawn(place, *COMMANDS[number % len(COMMANDS)], size=size, encoding=None)
    before = termios.tcgetattr(child.child_fd)
    written = [child.read_nonblocking(100_000, 60)]
    for _ in range(3):
        for each in pieces(noise(dice)):
            if child.isalive():
                child.send(each)
                written.append(read(child, 0.02))
        written.append(read(child, dice.uniform(0.05, 0.3)))
    for _ in range(3):  # one leaves a note or the help, the next one the session
        if child.isalive():
            child.sendcontrol("c")
            written.append(read(child, 15.0))
    after = termios.tcgetattr(child.child_fd)
    child.close(force=True)
    text = b"".join(written).decode("utf-8", "replace")
    over = re.search(r"\d go(es)? in \d", text) or "Nothing was rated" in text
    # Once all is said, Ctrl-C may cut off what closes the program.
    ended = child.exitstatus in {0, 130} or (over and child.signalstatus == signal.SIGINT)
    assert ended, (number, child.exitstatus, child.signalstatus, text[-2000:])
    assert "Traceback" not in text, (number, text[-2000:])
    assert after == before, number
    return text


def pieces(data: bytes) -> list[bytes]:
    """Return bytes in portions that a terminal holds until they are read."""
    return [data[at : at + 1000] for at in range(0, len(data), 1000)]


def read(child, seconds: float) -> bytes:
    """Return what is written within so many seconds, or until the end."""
    found, until = [], time.monotonic() + seconds
    try:
        while (left := until - time.monotonic()) > 0:
            found.append(child.read_nonblocking(100_000, left))
    except (pexpect.TIMEOUT, pexpect.EOF):
        pass
    return b"".join(found)


def sessions(numbers: range, quick: Path) -> int:
    """Drive these sessions on one store, which stays whole; return how many ratings came."""
    for number in numbers:
        session_of(quick, number)
    with open_store(quick, now=NOW, backups=False) as store:
        # What isn't grave: this store's tempos were set by hand, so that no log gives them.
        assert [each for each in check_store(store) if each.grave] == []
    return len(ratings(quick))


def test_random_bytes_end_no_session(quick: Path) -> None:
    """Four sessions: a drill and a round, on the screen and in lines."""
    sessions(range(4), quick)


@pytest.mark.slow
@pytest.mark.parametrize("part", range(8))
def test_many_random_bytes_end_no_session(part: int, quick: Path) -> None:
    """160 sessions, 20 on one store; what counted as a rating among them is in it."""
    assert sessions(range(100 + 20 * part, 120 + 20 * part), quick) > 0
