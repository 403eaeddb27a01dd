"""Ctrl-C at any moment ends the program without a traceback, and stores nothing half."""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tests.conftest import copied

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals of POSIX")
# A program that is sent SIGINT when it imports a module, or "at exit" when all is done.
CHILD = """
import atexit, os, signal, sys
moment = sys.argv.pop(1)
def interrupt(_=None):
    os.kill(os.getpid(), signal.SIGINT)
def imported(event, args):
    if event == "import" and args[0] == moment:
        interrupt()
sys.addaudithook(imported)
if moment == "at exit":
    atexit.register(interrupt)
from drillbox.cli import main
"""


def interrupted(
    place: Path, moment: str, *command: str, before: str = ""
) -> subprocess.CompletedProcess[str]:
    """Run a command that is interrupted at a moment; ``before`` is run before it."""
    words = [
        sys.executable,
        "-c",
        CHILD + before + "main()",
        moment,
        "--store",
        str(place),
        *command,
    ]
    return subprocess.run(
        words, stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False
    )


@pytest.mark.parametrize("moment", ["typer", "drillbox.cli.context", "at exit"])
def test_while_loading_and_at_the_end_it_ends_without_a_word(made: Path, moment: str):
    """The shell sees the signal, as of any program."""
    ran = interrupted(made, moment, "summary")
    assert (ran.returncode, ran.stderr) == (-signal.SIGINT, "")


@pytest.mark.parametrize("moment", ["drillbox.store.opening", "drillbox.screen.summary"])
def test_in_the_middle_of_a_command_it_is_broken_off(made: Path, moment: str):
    """With the exit code that the README lists."""
    ran = interrupted(made, moment, "summary")
    assert (ran.returncode, ran.stderr) == (130, "")


def test_where_it_is_ignored_it_stays_ignored(made: Path):
    """As a shell's & and nohup have it for what they start."""
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        ran = interrupted(made, "drillbox.store.opening", "phrases")
    finally:
        signal.signal(signal.SIGINT, before)
    assert (ran.returncode, ran.stderr) == (0, "")


def test_while_the_store_is_closed_it_ends_without_a_word(made: Path):
    """All that was asked for is done, and on disk."""
    closing = "from drillbox.store.opening import FileStore; FileStore.close = interrupt\n"
    ran = interrupted(made, "closing", "phrases", before=closing)
    assert (ran.returncode, ran.stderr) == (-signal.SIGINT, "")


def test_what_is_written_after_the_store_is_closed_is_tidied_up(
    blue_stairs: Path, place: Path, tmp_path: Path
):
    """A loop takes longest there: the file half written goes, and the player is told."""
    out = tmp_path / "loops" / "loop.mid"
    out.parent.mkdir()
    before = (
        "from drillbox.practice import looping\n"
        "def render(*_):\n"
        "    yield b'half'\n"
        "    interrupt()\n"
        "looping.render = render\n"
    )
    words = "loop", "1", "--out", str(out)
    ran = interrupted(copied(blue_stairs, place), "never", *words, before=before)
    assert (ran.returncode, ran.stderr) == (130, "drillbox: Stopped. Nothing was written.\n")
    assert list(out.parent.iterdir()) == []


def test_a_second_one_ends_what_the_first_left_to_tidy_up(made: Path):
    """Should tidying up take long; the shell sees the signal."""
    twice = (
        "from drillbox.practice import library\n"
        "def stuck(*_, **__):\n"
        "    try:\n"
        "        interrupt()\n"
        "    finally:\n"
        "        interrupt()\n"
        "library.list_phrases = stuck\n"
    )
    ran = interrupted(made, "stuck", "phrases", before=twice)
    assert (ran.returncode, ran.stderr) == (-signal.SIGINT, "")
