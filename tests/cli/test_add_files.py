"""``drillbox add`` of a file of many tunes: a line each, the doubtful last; and given keys."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tests.player.children import ended, spawn

TUNE = """X:{number}
T:{title}
M:4/4
L:1/8
Q:1/4=120
K:C
{music}

"""
SOUND = '"Dm7"d2f2 "G7"b2g2 | "Cmaj7"e4 "A7"c4 |'
TIED = '"Dm7"d2f2 "G7"b2g2 | "Cmaj7"e4 "A7"c4- |'


@pytest.fixture
def many(tmp_path: Path) -> Path:
    """Return a file of three tunes, the first of them doubtful."""
    file = tmp_path / "lines.abc"
    tunes = {"Loose end": TIED, "Tin roof": SOUND, "Blue door": SOUND}
    file.write_text(
        "%abc-2.1\n"
        + "".join(
            TUNE.format(number=number, title=title, music=music)
            for number, (title, music) in enumerate(tunes.items(), start=1)
        )
    )
    return file


def test_a_file_is_listed_a_line_each_the_doubtful_last(drillbox, many: Path):
    """They are counted at the end; --details shows each in all its keys."""
    ran = drillbox("add", str(many))
    lines = [line for line in ran.out.splitlines() if "goal 120" in line]
    assert lines[-1].startswith("Loose end: key C")
    assert len(lines) == 3
    assert "Stored 3 phrases in twelve keys; " in ran.out
    assert "check: the tie" in ran.err
    again = drillbox("add", str(many), "--dry-run", "--keep-good", "--details")
    assert "In twelve keys" not in again.out
    assert "this one is skipped" in again.err


def test_details_show_every_key(drillbox, many: Path):
    """Once for each tune."""
    assert drillbox("add", str(many), "--details").out.count("In twelve keys") == 3


def test_storing_does_not_wait_for_a_reader(drillbox, many: Path, place: Path):
    """All is stored though who reads the output takes nothing of it and goes."""
    program = str(Path(sys.executable).with_name("drillbox"))
    command = [program, "--store", str(place), "add", str(many), "--details"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL) as child:
        assert child.stdout
        child.stdout.close()
        child.wait(timeout=60)
    assert drillbox("phrases").out.count("goal 120") == 3


def test_a_chart_that_moves_as_minor_is_said(drillbox):
    """Without a terminal in one line, with the option that takes it."""
    given = ("add", "--title", "Late kettle", "--key", "C", "--tempo", "120", "--chart")
    ran = drillbox(*given, "Dm7b5 G7 | Cm6")
    assert "moves as Cm (--key Cm, if that is meant)" in ran.err
    other = drillbox("add", "--title", "Tin roof", "--key", "C", "--tempo", "120",
                     "--chart", "Cm7 F7 | Bbmaj7 G7")  # fmt: skip
    assert "moves as" not in other.err


def test_a_chart_that_moves_as_minor_is_asked_about_in_a_terminal(drillbox, place: Path):
    """A yes takes the minor key."""
    child = spawn(place, "add", "--title", "Late kettle", "--key", "C", "--tempo", "120",
                  "--chart", "Dm7b5 G7 | Cm6", "--no-turnaround")  # fmt: skip
    child.expect("moves as Cm")
    child.expect("Take it as Cm")
    child.sendline("y")
    child.expect("Stored 1 phrase")
    ended(child)
    assert "key Cm" in drillbox("phrases").out
