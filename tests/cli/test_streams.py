"""Output that can't be written, closed streams, and pipes where a file is meant: told in a line."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

FULL = Path("/dev/full")
pytestmark = pytest.mark.skipif(not FULL.exists(), reason="needs a device that is always full")


def in_shell(place: Path, command: str) -> subprocess.CompletedProcess[str]:
    """Run a shell line in which DRILLBOX stands for the program on a store of its own."""
    line = command.replace("DRILLBOX", f'"{sys.executable}" -m drillbox --store "{place}"')
    return subprocess.run(["sh", "-c", line], capture_output=True, text=True, check=False)


@pytest.mark.parametrize("command", ["phrases", "settings", "--help"])
def test_output_on_a_full_disk_is_one_line(made: Path, command: str) -> None:
    """What went wrong is said on stderr; nothing follows it when Python ends."""
    ran = in_shell(made, f"DRILLBOX {command} >/dev/full")
    assert ran.returncode == 1
    assert ran.stderr == (
        "drillbox: The output can't be written: No space left on device. Your ratings are kept.\n"
    )


def test_a_reader_that_leaves_is_no_fault(made: Path) -> None:
    """As ``| head -1`` does: no word about it."""
    ran = in_shell(made, "DRILLBOX settings | true")
    assert (ran.returncode, ran.stderr) == (0, "")


@pytest.mark.parametrize("output", ["| true", ">/dev/full"])
def test_an_edit_is_stored_whoever_reads_of_it(kettle, place: Path, output: str) -> None:
    """Nothing is asked, so it doesn't wait for its output: the goal is the new one."""
    in_shell(place, f"DRILLBOX edit blue --goal 168 {output}")
    assert "goal 168" in kettle("phrases").out


@pytest.mark.parametrize("closed", ["<&-", ">&-", "2>&-"])
def test_a_closed_stream_is_a_silent_one(made: Path, closed: str) -> None:
    """The command does its work."""
    ran = in_shell(made, f"DRILLBOX phrases {closed}")
    assert (ran.returncode, ran.stderr) == (0, "")


@pytest.mark.parametrize("unbuffered", ["", "1"])
def test_a_text_that_is_taken_in_part_is_said_to_be_unwritten(
    made: Path, tmp_path: Path, unbuffered: str
) -> None:
    """A file that may grow to 1 KiB takes a part of the help; nothing is dropped in silence.

    Python without a buffer drops the rest of such a write, be it for the disk or for a signal.
    """
    place = tmp_path / "help.txt"
    command = f'ulimit -f 2; PYTHONUNBUFFERED={unbuffered} DRILLBOX add --help >"{place}"'
    ran = in_shell(made, command)
    assert ran.returncode == 1
    assert ran.stderr.startswith("drillbox: The output can't be written: File too large.")
    assert place.stat().st_size == 1024


@pytest.fixture
def impatient() -> Iterator[None]:
    """Break off what waits for twenty seconds."""

    def give_up(*_: object) -> None:
        pytest.fail("it waited")

    former = signal.signal(signal.SIGALRM, give_up)
    signal.alarm(20)
    yield
    signal.alarm(0)
    signal.signal(signal.SIGALRM, former)


WHERE_A_FILE_IS_MEANT = (
    "add {}.abc", "add {}.mxl", "add --list {}.abc", "tune add {}.musicxml",
    "loop 1 --out {}.wav", "loop 1 --out {}.mid --force", "report --out {}.html --force",
    "listen {}.mid --phrase 1", "listen {}.wav --phrase 1",
    "store import {}.json", "store import {}.sqlite3", "store restore {}.sqlite3",
    "store export {}.json",
)  # fmt: skip


@pytest.mark.parametrize("words", WHERE_A_FILE_IS_MEANT)
@pytest.mark.usefixtures("impatient")
def test_a_pipe_where_a_file_is_meant_is_not_waited_for(kettle, tmp_path: Path, words: str) -> None:
    """Refused at once, whatever would read or write it; it stays a pipe."""
    arguments = words.format(tmp_path / "pipe").split()
    (pipe,) = (Path(each) for each in arguments if each.startswith(str(tmp_path)))
    os.mkfifo(pipe)
    ran = kettle(*arguments)
    assert (ran.code, ran.err.count("\n")) == (3, 1), ran
    assert pipe.is_fifo()
