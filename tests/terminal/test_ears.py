"""The live ears: bytes become notes however they are cut, and no device stops a drill."""

from __future__ import annotations

import os
import select
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from drillbox.hearing.takes import Overheard
from drillbox.terminal import ears, trying
from drillbox.terminal.ears import GONE, DeafEar, Ear, MicrophoneEar, MidiEar, open_ear
from drillbox.terminal.midi_port import OPENED, Notes, chosen_port
from drillbox.terminal.presses import SPACE, TIMEOUT, Press
from drillbox.terminal.trying import heard_line, record_sound

posix = pytest.mark.skipif(sys.platform == "win32", reason="a FIFO is POSIX's")


def notes(*pieces: bytes) -> list[tuple[int, bool]]:
    """Return the notes that a stream cut into these pieces holds."""
    reader = Notes()
    return [note for piece in pieces for note in reader.feed(piece)]


@pytest.mark.parametrize(
    ("data", "found"),
    [
        (bytes([0x90, 60, 64, 0x80, 60, 0]), [(60, True), (60, False)]),
        # Running status, and velocity 0 for an end (MIDI 1.0 Detailed Specification, 1996).
        (bytes([0x90, 60, 64, 62, 64, 60, 0]), [(60, True), (62, True), (60, False)]),
        # Clock and active sensing inside a message.
        (bytes([0x90, 0xF8, 60, 0xFE, 64]), [(60, True)]),
        # Controllers, pitch wheel and a program change between the notes.
        (bytes([0xB0, 64, 127, 1, 5, 0xE0, 0, 64, 0xC0, 5, 0x90, 60, 1]), [(60, True)]),
        # System exclusive ends running status; stray data after it is nothing.
        (bytes([0x90, 60, 1, 0xF0, 1, 2, 3, 0xF7, 61, 1]), [(60, True)]),
        # The drums' channel is left out.
        (bytes([0x99, 38, 99, 0x91, 60, 1]), [(60, True)]),
    ],
)
def test_notes_in_a_stream(data: bytes, found: list[tuple[int, bool]]):
    """What the standard allows on a cable is understood."""
    assert notes(data) == found


@given(st.binary(max_size=60), st.integers(0, 60))
def test_where_it_is_cut_changes_nothing(data: bytes, cut: int):
    """Any bytes, in one piece or in two: the same notes, numbers from 0 to 127."""
    found = notes(data)
    assert found == notes(data[:cut], data[cut:])
    assert all(0 <= note < 128 for note, _ in found)


@pytest.mark.parametrize(
    ("wanted", "chosen"),
    [("", 2), ("stage", 2), ("KEYS 2", 3), ("through", 0), ("USB/DIN", 3), ("organ", None)],
)
def test_which_port_is_listened_to(wanted: str, chosen: int | None):
    """By a part of its name; without one not the port that Linux and JACK's bridge put first."""
    names = ["Midi Through:Midi Through Port-0 14:0",
             "Midi-Bridge:Midi Through:(capture_0) Midi Through Port-0",
             "Stage piano:Stage piano MIDI 1 20:0", "Keys 2 USB/DIN:Keys 2 24:0"]  # fmt: skip
    assert chosen_port(names, wanted) == chosen
    assert chosen_port(names[:2], "") is None


@pytest.mark.parametrize("name", ["", "USB/DIN keys"])
def test_a_file_in_the_players_folder_is_never_run(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    """A module's name on it doesn't make it one; and a port's name with a slash is no path."""
    (tmp_path / "typing.py").write_text("open('ran', 'w')")
    monkeypatch.chdir(tmp_path)
    assert "can't be opened" not in said(open_ear("midi", name))
    assert not Path("ran").exists()


@pytest.fixture
def cable(tmp_path: Path):
    """Return the path of a FIFO that stands for a raw MIDI device."""
    path = tmp_path / "midi1"
    os.mkfifo(path)
    return path


def plugged(cable: Path) -> tuple[MidiEar, int]:
    """Return an ear at the cable, and the other end of it."""
    end = os.open(cable, os.O_RDWR)
    ear = open_ear("midi", str(cable))
    assert isinstance(ear, MidiEar)
    return ear, end


def said(ear: Ear) -> str:
    """Wait for an ear's problem and return it; let go of the ear."""
    for _ in range(500):
        if ear.problem:
            break
        time.sleep(0.01)
    ear.close()
    return ear.problem


def until(ear: MidiEar, count: int) -> list[int]:
    """Wait until so many notes were heard; return them."""
    for _ in range(200):
        if len(ear.heard().notes) >= count:
            break
        time.sleep(0.01)
    return [note for _, _, note in ear.heard().notes]


@posix
def test_a_raw_device_is_heard_in_a_process_of_its_own(cable: Path):
    """Notes come with the time that they were played; a stuck one ends now, a flood is passed."""
    ear, end = plugged(cable)
    try:
        os.write(end, bytes([0x90, 50, 64, 50, 0]))
        assert until(ear, 1) == [50]
        before = time.monotonic()
        ear.begin()
        os.write(end, bytes([0xB0, 1, 1]) * 5000)
        os.write(end, bytes([0x90, 60, 64, 62, 64, 60, 0]))
        assert until(ear, 2) == [60, 62]
        heard = ear.heard()
        assert all(before <= at <= ended <= time.monotonic() for at, ended, _ in heard.notes)
        assert heard.notes[0][1] < heard.notes[1][1]
        assert ear.quiet_for() is not None
        assert ear.problem == ""
    finally:
        ear.close()
        os.close(end)


@posix
def test_ctrl_z_does_not_stop_the_process_that_hears(cable: Path):
    """What is played until ``fg`` keeps the time that it was played at, and can be told from what
    comes after."""
    end = os.open(cable, os.O_RDWR)
    # In a group of its own: the system stops none that has no other of its session above it.
    child = subprocess.Popen(
        [sys.executable, "-m", "drillbox.terminal.midi_port", str(cable)],
        stdout=subprocess.PIPE, text=True, process_group=0,
    )  # fmt: skip
    try:
        assert child.stdout is not None
        assert child.stdout.readline().strip() == OPENED
        child.send_signal(signal.SIGTSTP)
        os.write(end, bytes([0x90, 60, 64]))
        assert select.select([child.stdout], [], [], 10)[0]
    finally:
        child.kill()
        child.communicate()
        os.close(end)


@posix
def test_what_ends_a_session_ends_the_process_that_hears(cable: Path):
    """Ctrl-C, or a terminal that is closed, while the port is being opened: it is of the group that
    the terminal tells, and holds no device after the program is gone."""
    ear, end = plugged(cable)
    try:
        assert os.getpgid(ear._process.pid) == os.getpgid(0)
    finally:
        ear.close()
        os.close(end)


@posix
def test_a_device_that_goes_away_is_said_once(cable: Path):
    """Unplugged in the middle: what was played before is kept, and one line says so."""
    ear, end = plugged(cable)
    os.write(end, bytes([0x90, 60, 64]))
    assert until(ear, 1) == [60]
    ear._process.terminate()
    for _ in range(200):
        if ear.problem:
            break
        time.sleep(0.01)
    assert ear.problem == GONE
    assert until(ear, 1) == [60]
    ear.close()
    os.close(end)


def test_no_port_is_one_line(tmp_path: Path):
    """A device that isn't there, or a name that no port has, is said in a line; nothing waits."""
    for name in (str(tmp_path / "none"), "no port is called so"):
        began = time.monotonic()
        ear = open_ear("midi", name)
        assert time.monotonic() - began < 0.5
        assert said(ear).startswith("Not listening: ")
        assert ear.heard().notes == []


def test_a_process_that_dies_at_once_is_one_line(monkeypatch: pytest.MonkeyPatch):
    """The library may end its process where a port can't be opened: the drill goes on."""
    monkeypatch.setattr(ears, "_port", lambda _: subprocess.Popen(
        [sys.executable, "-c", "import os; os.abort()"], stdout=subprocess.PIPE, text=True
    ))  # fmt: skip
    assert said(open_ear("midi", "")) == "Not listening: the MIDI port can't be opened."


def test_the_microphone_keeps_what_it_hears_in_memory():
    """miniaudio's null device hears silence in real time; each attempt begins anew."""
    miniaudio = pytest.importorskip("miniaudio", reason="needs the sound extra")
    ear = open_ear("mic", "", backends=[miniaudio.Backend.NULL])
    assert ear.problem == ""
    try:
        began = time.monotonic()
        ear.begin()
        time.sleep(0.3)
        heard = ear.heard()
        assert 0.1 <= len(heard.sound) / 2 / ears.RATE <= 0.6
        assert abs(heard.since - began) < 0.15
        assert ear.problem == ""
        ear.begin()
        assert len(ear.heard().sound) < len(heard.sound)
    finally:
        ear.close()


def test_the_microphone_hears_from_when_it_is_opened():
    """A first attempt in the player's own time has no other beginning."""
    miniaudio = pytest.importorskip("miniaudio", reason="needs the sound extra")
    ear = open_ear("mic", "", backends=[miniaudio.Backend.NULL])
    try:
        time.sleep(0.3)
        assert len(ear.heard().sound) / 2 / ears.RATE >= 0.1
    finally:
        ear.close()


def test_the_microphone_keeps_the_last_of_a_long_go(monkeypatch: pytest.MonkeyPatch):
    """The latest second here, in whatever pieces it came, and none of it from before ``begin``."""

    class Device:
        def start(self, stream: Iterator[None]) -> None:
            self.stream = stream

    monkeypatch.setattr(ears, "LONGEST", 1)
    device = Device()
    ear = MicrophoneEar(device, OSError)
    for beginning in (0, 50_000):
        ear.begin()
        numbers = np.arange(beginning, beginning + ears.RATE * 5 // 2, dtype=np.int32)
        told = (numbers % 30_011).astype("<i2").tobytes()
        pieces = [told[at : at + 1764] for at in range(0, len(told), 1764)]
        for piece in (*pieces[:40], b"".join(pieces[40:43]), *pieces[43:]):
            device.stream.send(bytearray(piece))
        heard = ear.heard()
        assert told.endswith(heard.sound)
        assert ears.RATE * 2 - 1764 <= len(heard.sound) <= ears.RATE * 2
        assert heard.since == pytest.approx(time.monotonic() - 1, abs=0.1)


def test_a_recording_ends_before_its_beginning_is_dropped(monkeypatch: pytest.MonkeyPatch):
    """Nobody has to press anything: what the microphone keeps is what is saved."""

    class Late:
        waits = 0

        def read_key(self, timeout: float | None = None) -> Press:
            self.waits += 1
            return TIMEOUT if self.waits < 3 else SPACE

    keys = Late()
    monkeypatch.setattr(trying, "LONGEST", 0)
    record_sound(DeafEar(""), keys)  # type: ignore[arg-type]
    assert keys.waits == 1


def test_no_microphone_is_one_line():
    """Without the extra or a device there is a line, and no trace of either on the screen."""
    assert said(open_ear("mic", "no microphone is called so")).startswith("Not listening: ")


def test_what_is_heard_now_is_shown_by_name():
    """The latest notes by MIDI; by microphone the note that sounds, a bar and the level."""
    names = ["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"]
    line = heard_line(Overheard(0.0, [(0.0, 0.1, 60), (0.2, 0.3, 69)]), names.__getitem__)
    assert line == "C A"
    many = [(0.0, 0.1, 60), *[(0.2, 0.3, 69)] * 12]
    assert heard_line(Overheard(0.0, many), names.__getitem__).split() == ["A"] * 12
    at = np.arange(ears.RATE) / ears.RATE
    tone = (np.sin(2 * np.pi * 440 * at) * 8000).astype(np.int16).tobytes()
    line = heard_line(Overheard(0.0, sound=tone, rate=ears.RATE), names.__getitem__)
    assert line.split() == ["A", "=========", "-15", "dB"]
    silence = Overheard(0.0, sound=bytes(20_000), rate=ears.RATE)
    assert heard_line(silence, names.__getitem__).split() == ["-", "-100", "dB"]
