"""Real MIDI ports: JACK's dummy driver carries a virtual one, and pulling it stops no drill."""

from __future__ import annotations

import ctypes.util
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from drillbox.terminal.ears import GONE, MidiEar, devices_listed, open_ear

pytest.importorskip("rtmidi2", reason="needs the midi extra")
CHILD = Path(__file__).with_name("playing_midi.py")


@pytest.fixture
def keys(monkeypatch: pytest.MonkeyPatch) -> Iterator[subprocess.Popen[str]]:
    """Return a process with a port named "source:keys", on a JACK server of its own."""
    library = ctypes.util.find_library("jack")
    if not (shutil.which("jackd") and library):
        assert not os.environ.get("CI"), "CI must have jackd2"
        pytest.skip("jackd isn't installed")
    monkeypatch.setenv("JACK_DEFAULT_SERVER", f"drillbox{os.getpid()}")
    # The library's JACK client looks for this one's symbols where it is loaded already.
    monkeypatch.setenv("LD_PRELOAD", library)
    server = subprocess.Popen(
        ["jackd", "--no-realtime", "-d", "dummy"],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    source = None
    for _ in range(20):
        time.sleep(0.25)
        source = subprocess.Popen([sys.executable, str(CHILD)], text=True, stdin=subprocess.PIPE,
                                  stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)  # fmt: skip
        if source.stdout and source.stdout.readline() == "<open>\n":
            break
        end(source)
    else:
        pytest.fail("no JACK server came up")
    yield source
    end(source)
    server.terminate()
    server.wait(5)


def end(process: subprocess.Popen[str]) -> None:
    """End a child and close its pipes."""
    process.kill()
    process.communicate()


def until(ear: MidiEar, done) -> None:
    """Wait for something, five seconds at most."""
    for _ in range(500):
        if done(ear):
            return
        time.sleep(0.01)


def test_a_port_is_listed_heard_and_missed(keys: subprocess.Popen[str]):
    """By a part of its name; its notes come in, and where it vanishes one line says so."""
    assert devices_listed()["midi"] == ["source:keys"]
    ear = open_ear("midi", "SOURCE")
    assert isinstance(ear, MidiEar)
    assert keys.stdin is not None
    try:
        until(ear, lambda each: each.ready)
        for note in (60, 64, 67):
            keys.stdin.write(f"{note}\n")
            keys.stdin.flush()
        until(ear, lambda each: len(each.heard().notes) == 3)
        assert [note for _, _, note in ear.heard().notes] == [60, 64, 67]
        assert ear.problem == ""
        end(keys)
        until(ear, lambda each: each.problem)
        assert ear.problem == GONE
    finally:
        ear.close()
