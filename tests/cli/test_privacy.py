"""Nothing leaves the machine, and nothing that a player wrote runs on it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

# An audit hook sees every socket that Python code asks for, whichever library it is in.
GUARD = """
import io, sys

def refuse(event, arguments):
    if event.startswith("socket.") or event.startswith(("urllib.", "http.", "smtplib.", "ftplib.")):
        print("REACHED OUT:", event, arguments, file=sys.stderr)
        raise SystemExit(99)

sys.addaudithook(refuse)
from drillbox.cli import run

def command(*words, keys=""):
    sys.stdin = io.StringIO(keys)
    code = run(["--store", sys.argv[1], *words])
    assert code == 0, (words, code)
"""
SCRIPT = f"""{GUARD}
command("add", "--title", "Late kettle", "--key", "Bb", "--tempo", "132",
        "--chart", "Cm7 F7 | Bbmaj7 (G7)")
command("settings", "minutes", "1")
command("drill", "--minutes", "5", keys="h\\nc\\nl\\nu\\nr\\n")
command("summary")
command("phrases")
command("show", "late")
command("upcoming", "--days", "2")
command("settings")
command("add", sys.argv[3])
command("store", "check")
command("store", "backup")
command("store", "export", sys.argv[2])
command("store", "import", sys.argv[2])
"""
SCORE = Path(__file__).with_name("tin_umbrella.musicxml")
PROBE = SCRIPT.replace("from drillbox.cli import run", "import socket; socket.socket(); run = None")


def guarded(script: str, folder: Path) -> subprocess.CompletedProcess[str]:
    """Run a script that may not use the network."""
    return subprocess.run(
        [sys.executable, "-c", script, str(folder / "store.sqlite3"), str(folder / "out"), SCORE],
        capture_output=True,
        text=True,
        check=False,
    )


def test_no_command_uses_the_network(tmp_path: Path) -> None:
    """Every command of the main job and of the store, with sockets refused.

    A library that comes with the one that reads notation asks for none, not even on loopback.
    """
    ran = guarded(SCRIPT, tmp_path)
    assert "REACHED OUT" not in ran.stderr
    assert ran.returncode == 0, ran.stderr


def test_the_guard_would_see_it(tmp_path: Path) -> None:
    """A socket that is opened does end the script."""
    ran = guarded(PROBE, tmp_path)
    assert ran.returncode == 99
    assert "REACHED OUT: socket.__new__" in ran.stderr


HOSTILE = {
    "sql": "'); DROP TABLE phrase; --",
    "escape": "\x1b[2J\x1b]0;gone\x07bell",
    "markup": "[bold red]loud[/bold red]",
    "bidi": "\u202eelttek\u202c",
    "emoji": "🎷🎺👩🏽‍🎤",
    "format": "%s %(x)s {0} {x}",
    "shell": "$(touch gone); `touch gone`",
}


@pytest.mark.usefixtures("made")
@pytest.mark.parametrize("mode", [(), ("--ascii",), ("--plain",)], ids="".join)
def test_hostile_titles_break_no_screen(drillbox, mode):
    """Each screen shows the titles as text: no escape sequence, markup or bidi mark gets out."""
    drillbox("settings", "minutes", "1")  # short days are soon looked ahead over
    outputs = [
        drillbox(*mode, "add", "--title", title, "--key", "Bb", "--tempo", "120",
                 "--chart", "Cm7 F7 | Bbmaj7 (G7)")
        for title in HOSTILE.values()
    ]  # fmt: skip
    shown = [("show", str(number + 1)) for number in range(len(HOSTILE))]
    drill, ahead = ("drill", "--minutes", "5"), ("upcoming", "--days", "2")
    commands = (*shown, drill, ("phrases",), ("summary",), ahead)
    outputs += [drillbox(*mode, *command, keys="c\n" * len(HOSTILE)) for command in commands]
    for ran in outputs:
        assert ran.code == 0, ran.err
        for character in ("\x1b", "\x07", "\u202e", "\u202c"):
            assert character not in ran.out + ran.err
        if mode == ("--ascii",):
            assert ran.out.isascii()
    assert sum(HOSTILE["markup"] in ran.out for ran in outputs) >= 3
