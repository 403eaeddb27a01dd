"""``drillbox listen``: a recording heard, and one line that says what it speaks for."""

from __future__ import annotations

import io
import wave
from datetime import datetime
from pathlib import Path

import mido
import numpy as np
import pytest

from drillbox.errors import ExitCode
from drillbox.practice.adding import keep, prepare, read_file
from drillbox.practice.preferences import preferences_from
from drillbox.sound.ticks import tick
from drillbox.store.opening import open_store
from tests.conftest import NOW, copied
from tests.player.children import pexpect, spawn

ABC = """%abc-2.1
X:1
T:Tin kettle
M:4/4
L:1/8
Q:1/4=120
K:Bb
"Cm7"ceg_b "F7"agfe | "Bbmaj7"dcBd "(G7)"f2z2 |
"""
LINE = [72, 75, 79, 82, 81, 79, 77, 75, 74, 72, 70, 74, 77]
RATE = 22_050


@pytest.fixture(scope="module")
def tin_kettle(empty: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the file of a store that holds one phrase with a line, in eighths; copy it."""
    folder = tmp_path_factory.mktemp("tin")
    place, page = copied(empty, folder / "store.sqlite3"), folder / "tin.abc"
    page.write_text(ABC)
    (tune,) = read_file(page, part=None, tempo=None, title=None, key=None).tunes
    now = datetime.fromisoformat(NOW)
    with open_store(place, now=now, backups=False) as store:
        keep(store, [prepare(tune.phrase, preferences_from({}))], now)
    return place


@pytest.fixture
def tin(drillbox, tin_kettle: Path, place: Path):
    """Return the command over a copy of that store."""
    copied(tin_kettle, place)
    return drillbox


def as_midi(place: Path, pitches: list[int], ticks: int = 240) -> Path:
    """Write notes of an eighth each, after two seconds, at 120."""
    track = mido.MidiTrack()
    for number, pitch in enumerate(pitches):
        wait = 1920 if number == 0 else 0
        track.append(mido.Message("note_on", note=pitch, velocity=90, time=wait))
        track.append(mido.Message("note_off", note=pitch, time=ticks))
    mido.MidiFile(tracks=[track], ticks_per_beat=480).save(place)
    return place


def as_sound(place: Path, pitches: list[int]) -> Path:
    """Write the notes as tones of five partials, a quarter of a second each, with a soft edge."""
    at = np.arange(RATE // 4) / RATE
    shape = np.minimum(1, at / 0.01) * np.minimum(1, (0.25 - at) / 0.02)
    turns = [2 * np.pi * 440 * 2 ** ((pitch - 69) / 12) * at for pitch in pitches]
    tones = [shape * sum(np.sin(k * turn) / k for k in range(1, 6)) for turn in turns]
    samples = np.concatenate([np.zeros(RATE), *tones, np.zeros(RATE)])
    data = io.BytesIO()
    with wave.open(data, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes((samples / np.abs(samples).max() * 20_000).astype("<i2").tobytes())
    place.write_bytes(data.getvalue())
    return place


@pytest.mark.parametrize(("write", "name"), [(as_midi, "take.mid"), (as_sound, "take.wav")])
def test_a_recording_of_the_line_is_fluent_and_another_keys_is_lost(
    tin, tmp_path: Path, write, name: str
):
    """The same notes speak for one key and against another, by MIDI and as sound. The key is at
    72 yet: so the tempo is told."""
    file = str(write(tmp_path / name, LINE))
    ran = tin("--ascii", "listen", file, "--phrase", "tin")
    assert (ran.code, ran.err) == (ExitCode.OK, "")
    assert ran.out == "Tin kettle in Bb\nfluent? all 13 notes, in time, at 120\n"
    ran = tin("--ascii", "listen", file, "--phrase", "tin", "--key", "C")
    assert ran.out == "Tin kettle in C\nlost? played in Bb\n"


@pytest.mark.parametrize(("write", "name"), [(as_midi, "take.mid"), (as_sound, "take.wav")])
def test_slips_are_named_in_the_players_pitch(tin, tmp_path: Path, write, name: str):
    """Two wrong notes as a tenor player reads them, a tone above what sounds."""
    tin("settings", "instrument", "tenor sax")
    heard = [*LINE[:1], 76, *LINE[2:8], 73, *LINE[9:]]
    ran = tin("listen", str(write(tmp_path / name, heard)), "--phrase", "1")
    assert ran.out == "Tin kettle in C\nrough? F♯ for F in bar 1, E♭ for E in bar 2, at 120\n"


def test_to_a_click_the_beat_is_held_to(tin, tmp_path: Path):
    """A quarter late is fine alone, and a fault where the first bar began earlier; so is another
    tempo."""
    file = str(as_midi(tmp_path / "take.mid", LINE))
    asked = ("listen", file, "--phrase", "tin", "--tempo", "120")
    assert "fluent? all 13" in tin(*asked).out
    assert "fluent? all 13" in tin(*asked, "--start", "2.0").out
    assert "rough? came in a quarter late" in tin(*asked, "--start", "1.5").out
    assert "fluent? all 13" in tin(*asked, "--start", "-2.0").out  # the first loop sat out
    asked = ("listen", file, "--phrase", "tin", "--tempo", "150", "--start", "2")
    assert "rough? slowed by" in tin(*asked).out


def test_a_phrase_without_a_line_is_heard_for_its_changes(kettle, tmp_path: Path):
    """Chart only: it says what came at the changes, and that it can't judge the notes."""
    file = str(as_midi(tmp_path / "take.mid", [75, 74, 72, 70, 69, 67, 65, 63, 62]))
    ran = kettle("listen", file, "--phrase", "blue", "--tempo", "120", "--start", "2")
    assert ran.out.splitlines()[1] == (
        "no line to judge the notes by, played in 2 of 2 bars, chord tones at 3 of 3 changes,"
        " with the beat"
    )


def test_the_devices_are_listed_or_why_there_are_none(tin):
    """Both kinds have a heading, whatever this machine has."""
    ran = tin("listen", "--list")
    assert ran.code == ExitCode.OK
    headings = [line for line in ran.out.splitlines() if not line.startswith(" ")]
    assert headings == ["MIDI ports:", "Microphones:"]
    assert len(ran.out.splitlines()) >= 4


@pytest.mark.parametrize(
    ("arguments", "code", "text"),
    [
        ([], ExitCode.BAD_INPUT, "Nothing to listen to."),
        (["take.mid"], ExitCode.BAD_INPUT, "No phrase was named for take.mid. Say which was"),
        (["--try", "foo"], ExitCode.BAD_INPUT, "--try needs midi or mic, not 'foo'."),
        (["none.mid", "--phrase", "1"], ExitCode.NOT_FOUND, "There is no file none.mid."),
        (["take.ogg", "--phrase", "1"], ExitCode.BAD_INPUT, "neither a WAV nor a MIDI file"),
        (["bad.mid", "--phrase", "1"], ExitCode.BAD_INPUT, "isn't a MIDI file"),
        (["bad.wav", "--phrase", "1"], ExitCode.BAD_INPUT, "isn't a WAV file"),
        (["take.mid", "--phrase", "9"], ExitCode.NOT_FOUND, "9"),
        (["take.mid", "--phrase", "1", "--key", "H"], ExitCode.BAD_INPUT,
         "'H' isn't a key. 'Tin kettle' is played in Bb"),
        (["take.mid", "--phrase", "1", "--key", ""], ExitCode.BAD_INPUT, "'' isn't a key."),
        (["--try", "mic"], ExitCode.BAD_INPUT, "--try needs a terminal"),
        (["take.mid", "--list"], ExitCode.BAD_INPUT, "Both a file and --list were given."),
        (["take.mid", "--try", "mic"], ExitCode.BAD_INPUT, "Both a file and --try were given."),
        (["--list", "--try", "mic"], ExitCode.BAD_INPUT, "Both --list and --try were given."),
        ([".", "--phrase", "1"], ExitCode.BAD_INPUT, "'.' is a folder."),
        (["--save", "take.wav"], ExitCode.BAD_INPUT, "--save needs a terminal"),
        (["take.mid", "--phrase", "1", "--start", "1"], ExitCode.BAD_INPUT, "Add --tempo"),
        (["take.mid", "--phrase", "1", "--tempo", "9"], ExitCode.BAD_INPUT, "20"),
        (["take.mid", "--phrase", "1", "--tempo", "120", "--start", "nan"], ExitCode.BAD_INPUT,
         "--start nan isn't a time. Give seconds"),
        (["take.mid", "--phrase", "1", "--tempo", "120", "--start", "inf"], ExitCode.BAD_INPUT,
         "--start inf isn't a time"),
    ],
)  # fmt: skip
def test_what_cant_be_heard_is_said_in_one_line(
    tin, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, arguments, code, text: str
):
    """Whatever is wrong: one line on standard error, the right code, nothing on standard output."""
    monkeypatch.chdir(tmp_path)
    as_midi(tmp_path / "take.mid", LINE)
    for name in ("bad.mid", "bad.wav"):
        (tmp_path / name).write_bytes(b"not music")
    ran = tin("listen", *arguments)
    assert (ran.code, ran.out) == (code, "")
    assert text in ran.err
    assert ran.err.count("\n") == 1


def test_a_line_buried_in_other_notes_is_lost_for_these(tin, tmp_path: Path):
    """All of the line is there, and four times as many notes: that is what is said."""
    buried = [pitch + up for pitch in LINE for up in (0, 1, 6, 1, 8)]
    ran = tin("listen", str(as_midi(tmp_path / "take.mid", buried, ticks=120)), "--phrase", "tin")
    assert ran.out.splitlines()[1] == ("lost? 13 of 13 notes recognised, 48 notes too many")


def test_our_own_click_alone_is_nothing_heard(tin, tmp_path: Path):
    """Twenty clicks in a room that hisses a little, and nobody plays: no note, to a click or
    not."""
    sound = np.random.default_rng(1).normal(0, 1e-4, 8 * RATE)
    for number in range(20):
        strip = np.array(tick("plain" if number % 4 else "accent", 1.0, RATE)) / 32768
        start = RATE // 2 + number * 3 * RATE // 8
        sound[start : start + len(strip)] += strip
    data = io.BytesIO()
    with wave.open(data, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes((sound * 32_000).astype("<i2").tobytes())
    (tmp_path / "clicks.wav").write_bytes(data.getvalue())
    asked = ("listen", str(tmp_path / "clicks.wav"), "--phrase", "tin")
    for click in ((), ("--tempo", "160"), ("--tempo", "160", "--start", "0.5")):
        assert tin(*asked, *click).out.splitlines()[1] == "lost? nothing heard"


def test_a_recording_overwrites_a_file_only_by_force(tmp_path: Path) -> None:
    """It is asked before the microphone, which a machine of tests needn't have."""
    take = tmp_path / "take.wav"
    take.write_bytes(b"kept")
    child = spawn(tmp_path / "store.sqlite3", "listen", "--save", str(take), size=(24, 200))
    child.expect("take.wav exists already")
    child.expect("--force")
    child.expect(pexpect.EOF)
    child = spawn(tmp_path / "store.sqlite3", "listen", "--save", str(take), "--force")
    child.expect("microphone|Recording")
    child.close(force=True)
    assert take.read_bytes() == b"kept"
