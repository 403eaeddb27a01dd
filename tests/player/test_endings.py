"""However a drill or a round ends, the terminal is as before and no rating is missing."""

from __future__ import annotations

import signal
import sys
import termios
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.player.children import BEAT, PLAIN, environment, keep_one_key, pexpect, ratings, spawn

LEAVE_SCREEN, SHOW_CURSOR = "\x1b[?1049l", "\x1b[?25h"


def first_screen(child: Any) -> list[int]:
    child.expect("Red door")
    child.expect("stop")
    return []


def one_rated(child: Any) -> list[int]:
    first_screen(child)
    child.send("c")
    child.expect("Tin roof")
    return [3]


def counting_in(child: Any) -> list[int]:
    stored = one_rated(child)
    child.send(" ")
    child.expect("1 ·")
    return stored


def in_mid_beat(child: Any) -> list[int]:
    stored = one_rated(child)
    child.send(" ")
    child.expect(BEAT)
    return stored


def paused(child: Any) -> list[int]:
    stored = one_rated(child)
    child.send("p")
    child.expect("Paused")
    return stored


def in_the_help(child: Any) -> list[int]:
    stored = one_rated(child)
    child.send("?")
    child.expect("Press anything to return")
    return stored


def typing_a_note(child: Any) -> list[int]:
    stored = one_rated(child)
    child.send("nthumb")
    child.expect("thumb_")
    return stored


def where_no_key_is_left(child: Any) -> list[int]:
    one_rated(child)
    child.send("s")
    child.expect("Wide sill")
    child.send("s")
    child.expect("Red door")
    child.send("s")
    child.expect("Nothing left to play")
    return [3]


def round_running(child: Any) -> list[int]:
    child.expect("key 1 of 12")
    child.send(" ")
    child.expect("key 4 of 12")
    child.send("c")
    child.expect(": clean")
    return [3]


def round_rating(child: Any) -> list[int]:
    round_running(child)
    child.send("q")
    child.expect(r"\[C\]")
    child.send("f")
    child.expect(r"\[F\]")
    return [3, 4]


def round_counting_in(child: Any) -> list[int]:
    child.expect("key 1 of 12")
    child.send("c")
    child.expect("key 2 of 12")
    child.send(" ")
    child.expect("1 ·")
    return [3]


DRILL = (
    first_screen, counting_in, in_mid_beat, paused, in_the_help, typing_a_note,
    where_no_key_is_left,
)  # fmt: skip
ROUND = (round_running, round_rating, round_counting_in)
COMMANDS = dict.fromkeys(DRILL, ("drill",)) | dict.fromkeys(ROUND, ("round", "Red door", "--all"))
ENDINGS: dict[str, Callable[[Any], object]] = {
    "ctrl-c": lambda child: child.send("\x03"),
    "terminate": lambda child: child.kill(signal.SIGTERM),
    "hang-up": lambda child: child.kill(signal.SIGHUP),
}


def pairs() -> list[Any]:
    """Return each ending at each stage; in the default run each stage has one of them."""
    found = []
    for number, stage in enumerate(COMMANDS):
        for place, ending in enumerate(ENDINGS):
            marks = () if place == number % len(ENDINGS) else (pytest.mark.slow,)
            name = f"{stage.__name__}-{ending}"
            found.append(pytest.param(stage, ending, marks=marks, id=name))
    return found


def test_a_pause_stops_the_beat(quick: Path):
    """Back from it the space bar counts in anew; had the beat gone on, it would have stopped it."""
    child = spawn(quick, "drill")
    in_mid_beat(child)
    child.send("p")
    child.expect("Paused")
    child.send("x")
    child.expect("stop")
    child.send(" ")
    child.expect("1 ·")
    child.send("q")
    child.expect(pexpect.EOF)


@pytest.mark.parametrize(("stage", "ending"), pairs())
def test_every_ending_at_every_stage(quick: Path, stage: Callable[[Any], list[int]], ending: str):
    """Ctrl-C, SIGTERM and SIGHUP: settings, screen and cursor come back, ratings are kept."""
    if stage is where_no_key_is_left:
        keep_one_key(quick)
    child = spawn(quick, *COMMANDS[stage])
    before = termios.tcgetattr(child.child_fd)
    stored = stage(child)
    assert termios.tcgetattr(child.child_fd) != before
    ENDINGS[ending](child)
    child.expect("rated in this session|go(es)? in")
    shown = child.before
    child.expect(pexpect.EOF)
    after = termios.tcgetattr(child.child_fd)
    child.close()
    assert child.exitstatus == 0
    assert LEAVE_SCREEN in shown
    assert SHOW_CURSOR in shown
    assert after == before
    assert ratings(quick) == stored


@pytest.mark.parametrize(
    "stage",
    [in_mid_beat, *(pytest.param(s, marks=pytest.mark.slow) for s in (typing_a_note, *ROUND))],
)
def test_stopped_and_back(quick: Path, stage: Callable[[Any], list[int]]):
    """Ctrl-Z gives the shell its terminal; fg draws the screen anew, and nothing is missing."""
    words = " ".join(f"'{word}'" for word in COMMANDS[stage])
    child = spawn_shell(quick)
    child.sendline("stty -a | cksum; echo before-$?")
    child.expect(r"(\d+ \d+)\s+before-0")
    before = child.match[1]
    child.sendline(f"$RUN {words}; echo ended-$?")
    stored = stage(child)
    child.send("\x1a")
    child.expect("Stopped")
    child.sendline("stty -a | cksum; echo stopped-$?")
    child.expect(r"(\d+ \d+)\s+stopped-0")
    assert child.match[1] == before
    child.sendline("fg")
    child.expect("Red door|Tin roof")
    child.send("\x03")
    child.expect("go(es)? in")
    child.sendline("stty -a | cksum; echo after-$?")
    child.expect(r"(\d+ \d+)\s+after-0")
    assert child.match[1] == before
    child.sendline("exit")
    child.expect(pexpect.EOF)
    child.close()
    assert ratings(quick) == stored


def spawn_shell(place: Path) -> Any:
    """Start a shell with job control on a pty of its own; ``$RUN`` is drillbox."""

    run = f"{sys.executable} -m drillbox --store {place}"
    child = pexpect.spawn(
        "bash", ["--norc", "--noprofile", "-i"], env=environment(RUN=run, PS1="$ "),
        dimensions=PLAIN, encoding="utf-8", timeout=20,
    )  # fmt: skip
    child.expect(r"\$ ")
    return child
