"""``drillbox loop``: the file that was asked for, whole, or one line that says why not."""

from __future__ import annotations

import io
import wave
from pathlib import Path

import mido
import pytest

from drillbox.errors import ExitCode


def midi(path: Path) -> mido.MidiFile:
    """Read a MIDI file back with mido."""
    return mido.MidiFile(file=io.BytesIO(path.read_bytes()))


def facts(path: Path, kind: str) -> list:
    """Return the messages of one kind in a MIDI file's first track."""
    return [message for message in midi(path).tracks[0] if message.type == kind]


def test_a_wav_file_of_the_length_that_is_told(kettle, tmp_path: Path):
    """A bar of count-in and 8 times two bars of 4/4 at 120: 34 seconds to the sample."""
    out = tmp_path / "loop.wav"
    ran = kettle("--ascii", "loop", "blue", "--out", str(out), "--tempo", "120")
    assert ran.code == ExitCode.OK, ran.err
    assert "Blue stairs in Bb at 120, 0:34 min" in ran.out
    with wave.open(str(out)) as file:
        assert (file.getframerate(), file.getsampwidth(), file.getnchannels()) == (44_100, 2, 1)
        assert file.getnframes() == 34 * 44_100
    assert [each.name for each in tmp_path.glob("*loop*")] == ["loop.wav"]


def test_a_midi_file_in_another_key(kettle, tmp_path: Path):
    """Tempo, key signature and the chords of that key stand in it."""
    out = tmp_path / "loop.mid"
    ran = kettle("loop", "blue", "--out", str(out), "--key", "E", "--tempo", "96", "--loops", "1")
    assert ran.code == ExitCode.OK, ran.err
    assert [each.key for each in facts(out, "key_signature")] == ["E"]
    assert mido.tempo2bpm(facts(out, "set_tempo")[0].tempo) == pytest.approx(96, abs=0.001)
    assert [each.text for each in facts(out, "text")] == ["F#m7", "B7", "Emaj7", "C#7"]


def test_the_round_of_twelve(kettle, tmp_path: Path):
    """Twelve keys one after another, each turnaround the dominant of what comes next."""
    out = tmp_path / "round.mid"
    ran = kettle("--ascii", "loop", "blue", "--out", str(out), "--round", "--order", "fifths")
    assert "twelve keys from Bb" in ran.out
    chords = [each.text for each in facts(out, "text")]
    assert len(chords) == 12 * 4
    # Fifths up: Bb, F, C; F begins on Gm7, whose dominant is D7, C on Dm7, whose is A7.
    assert chords[:8] == ["Cm7", "F7", "Bbmaj7", "D7", "Gm7", "C7", "Fmaj7", "A7"]
    assert chords[-1] == "G7"


def test_the_round_without_a_key_that_is_put_aside(kettle, tmp_path: Path):
    """It isn't played, nor led to, and what was written says so; it can't begin there."""
    kettle("edit", "blue", "--aside", "Eb", "--aside", "A")
    out = tmp_path / "round.mid"
    ran = kettle("--ascii", "loop", "blue", "--out", str(out), "--round")
    assert "in 10 keys from Bb (put aside: Eb, A) at" in ran.out
    assert len(facts(out, "text")) == 10 * 4
    assert not {"Eb", "A"} & {each.key for each in facts(out, "key_signature")}
    refused = kettle("loop", "blue", "--out", str(out), "--round", "--key", "Eb", "--force")
    assert (refused.code, "Eb is put aside" in refused.err) == (ExitCode.BAD_INPUT, True)


def test_the_round_is_as_slow_as_its_slowest_key(kettle, tmp_path: Path):
    """The first key climbed, the others didn't: the file has the tempo that ``round`` takes."""
    kettle("drill", "--key", "Bb", keys="f\nf\n")
    said = {}
    for more in ([], ["--round"], ["--round", "--tempo", "111"]):
        out = tmp_path / f"{len(more)}.mid"
        kettle("--ascii", "loop", "blue", "--out", str(out), *more)
        said[len(more)] = round(mido.tempo2bpm(facts(out, "set_tempo")[0].tempo))
    assert said[0] > said[1] == 72
    assert said[3] == 111
    assert "tempo 72" in kettle("--ascii", "--plain", "round", "blue", "--all", keys="q\n").out


def test_the_tempo_is_the_drills_and_double_time_the_phrases_own(drillbox, tmp_path: Path):
    """60 % of the goal at first; the click of a phrase in double time falls twice as often."""
    drillbox("add", "--title", "Quick", "--key", "C", "--tempo", "100", "--double-time",
             "--chart", "Dm7 G7 | Cmaj7 (A7)")  # fmt: skip
    clicks = {}
    for name, more in (("as-it-is", []), ("single", ["--single"])):
        out = tmp_path / f"{name}.mid"
        drillbox("loop", "quick", "--out", str(out), "--loops", "1", *more)
        assert mido.tempo2bpm(facts(out, "set_tempo")[0].tempo) == pytest.approx(60, abs=0.001)
        clicks[name] = sum(each.type == "note_on" for each in midi(out).tracks[1])
    assert clicks == {"as-it-is": 24, "single": 12}


def test_what_is_left_out(kettle, tmp_path: Path):
    """Without bass and chords, and no click but the count-in: four notes in all."""
    out = tmp_path / "bare.mid"
    kettle("loop", "blue", "--out", str(out), "--no-bass", "--no-chords", "--click", "off")
    counts = [sum(each.type == "note_on" for each in track) for track in midi(out).tracks[1:]]
    assert counts == [4, 0, 0]


def test_a_walking_bass_steps_on_every_beat(kettle, tmp_path: Path):
    """Eight beats, eight notes, where the plain bass has half as many."""
    notes = []
    for more in ([], ["--walking"]):
        out = tmp_path / f"bass{len(more)}.mid"
        kettle("loop", "blue", "--out", str(out), "--loops", "1", *more)
        notes.append(sum(each.type == "note_on" for each in midi(out).tracks[2]))
    assert notes == [4, 8]


def test_an_existing_file_stays_unless_it_is_to_be_overwritten(kettle, tmp_path: Path):
    """Without --force not a byte of it changes."""
    out = tmp_path / "mine.mid"
    out.write_bytes(b"mine")
    ran = kettle("loop", "blue", "--out", str(out))
    assert ran.code == ExitCode.BAD_INPUT
    assert "--force" in ran.err
    assert out.read_bytes() == b"mine"
    assert kettle("loop", "blue", "--out", str(out), "--force").code == ExitCode.OK
    assert out.read_bytes()[:4] == b"MThd"


@pytest.mark.parametrize(
    ("arguments", "name", "code", "said"),
    [
        ([], "loop.mp3", ExitCode.BAD_INPUT, ".wav or .mid"),
        ([], "loop", ExitCode.BAD_INPUT, ".wav or .mid"),
        ([], "nowhere/loop.wav", ExitCode.NOT_FOUND, "no folder"),
        (["--tempo", "10000"], "loop.wav", ExitCode.BAD_INPUT, "20 to 400"),
        (["--tempo", "swift"], "loop.wav", ExitCode.BAD_INPUT, "a whole number"),
        (["--key", "X"], "loop.wav", ExitCode.BAD_INPUT, "isn't a key"),
        (["--key", "Bbm"], "loop.wav", ExitCode.BAD_INPUT, "It's played in Bb,"),
        (["--click", "loud"], "loop.wav", ExitCode.BAD_INPUT, "every"),
        (["--loops", "100000"], "loop.wav", ExitCode.BAD_INPUT, "30 minutes"),
        (["--round", "--loops", "1" + "0" * 12], "loop.wav", ExitCode.BAD_INPUT, "30 minutes"),
        (["--order", "fifths"], "loop.wav", ExitCode.BAD_INPUT, "--round"),
        (["--walking", "--no-bass"], "loop.wav", ExitCode.BAD_INPUT, "Both --walking and"),
        (["--tune", "none"], "loop.wav", ExitCode.BAD_INPUT, "Both a phrase and --tune"),
        ([], ".", ExitCode.BAD_INPUT, "is a folder"),
        (["--round", "--order", "odd"], "loop.wav", ExitCode.BAD_INPUT, "fourths"),
    ],
)
def test_what_cannot_be(kettle, tmp_path: Path, arguments, name: str, code: int, said: str):
    """One line that says what to do, and no file, whole or half."""
    before = set(tmp_path.iterdir())
    ran = kettle("loop", "blue", "--out", str(tmp_path / name), *arguments)
    assert ran.code == code
    assert said in ran.err
    assert ran.err.count("\n") == 1
    assert set(tmp_path.iterdir()) == before


def test_ctrl_c_while_rendering_leaves_no_file(
    kettle, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    """One line, the exit code of a program broken off, and nothing half written."""

    def interrupted(*_: object) -> bytes:
        raise KeyboardInterrupt

    monkeypatch.setattr("drillbox.practice.looping.render", interrupted)
    before = set(tmp_path.iterdir())
    ran = kettle("loop", "blue", "--out", str(tmp_path / "loop.wav"))
    assert ran.code == ExitCode.INTERRUPTED
    assert ran.err == "drillbox: Stopped. Nothing was written.\n"
    assert set(tmp_path.iterdir()) == before


def tune(drillbox):
    """Bring a tune in, of an intro, a chorus of two bars and a coda."""
    drillbox(
        "tune", "add", "--title", "Salt", "--key", "F", "--tempo", "130", "--form",
        "intro1 A2 coda1", "--chart", "C7 | Gm7 C7 | Fmaj7 | F6",
    )  # fmt: skip


def test_a_tune_with_its_intro_its_choruses_and_its_coda(drillbox, tmp_path: Path):
    """At its own tempo, the chorus as often as is asked for, the rest once."""
    tune(drillbox)
    out = tmp_path / "tune.mid"
    ran = drillbox("loop", "--tune", "salt", "--out", str(out), "--loops", "2")
    assert ran.code == ExitCode.OK, ran.err
    assert "Salt in F at 130" in ran.out
    chords = ["C7", "Gm7", "C7", "Fmaj7", "Gm7", "C7", "Fmaj7", "F6"]
    assert [each.text for each in facts(out, "text")] == chords


def test_a_tunes_midi_names_what_fits_a_bar_ahead(kettle, tmp_path: Path):
    """Title and key of the phrase, in each chorus, at the tune's own place or a singer's."""
    tune(kettle)
    out = tmp_path / "tune.mid"
    kettle("loop", "--tune", "salt", "--out", str(out), "--loops", "2")
    assert [each.text for each in facts(out, "cue_marker")] == ["Blue stairs in F"] * 2
    kettle("loop", "--tune", "salt", "--key", "D", "--out", str(out), "--loops", "1", "--force")
    assert [each.text for each in facts(out, "cue_marker")] == ["Blue stairs in D"]


def test_a_tune_in_another_key(drillbox, tmp_path: Path):
    """A singer's key moves every chord."""
    tune(drillbox)
    out = tmp_path / "tune.mid"
    assert (
        drillbox("loop", "--tune", "1", "--key", "Ab", "--out", str(out), "--loops", "1").code == 0
    )
    assert [each.text for each in facts(out, "text")] == ["Eb7", "Bbm7", "Eb7", "Abmaj7", "Ab6"]


def test_a_tune_in_a_far_key_of_an_instrument_sounds_in_one_that_is_written(drillbox, tmp_path):
    """C flat for an alto sax is D at concert pitch, not E double flat, and it walks there."""
    drillbox("settings", "instrument", "alto sax")
    tune(drillbox)
    out = tmp_path / "tune.mid"
    ran = drillbox("loop", "--tune", "1", "--key", "Cb", "--walking", "--out", str(out))
    assert ran.code == ExitCode.OK, ran.err
    assert "D loop 1" in [each.text for each in facts(out, "marker")]
    assert [each.text for each in facts(out, "text")][:2] == ["A7", "Em7"]


@pytest.mark.parametrize("words", [[], ["blue", "--tune", "1"], ["--tune", "1", "--round"]])
def test_a_loop_is_over_one_thing(kettle, tmp_path: Path, words):
    """A phrase or a tune, and a round is over a phrase."""
    tune(kettle)
    ran = kettle("loop", *words, "--out", str(tmp_path / "a.mid"))
    assert ran.code == ExitCode.BAD_INPUT
    assert not (tmp_path / "a.mid").exists()
