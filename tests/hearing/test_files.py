"""Recordings read: every common kind of WAV and MIDI file, and none that breaks the reader."""

from __future__ import annotations

import io
import re
import struct
import wave
from contextlib import suppress

import mido
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from drillbox.errors import BadInput
from drillbox.hearing.files import LARGEST, read_midi, read_wav
from drillbox.hearing.tracker import heard_frames, notes_of

TONE = np.sin(np.arange(2000) / 9)


def by_the_standard_library(width: int, channels: int) -> bytes:
    """Return the tone as the standard library's ``wave`` writes it."""
    data, full = io.BytesIO(), 2 ** (8 * width - 1) - 1
    with wave.open(data, "wb") as file:
        file.setnchannels(channels)
        file.setsampwidth(width)
        file.setframerate(22_050)
        for value in np.repeat(np.round(TONE * full).astype(int), channels).tolist():
            file.writeframesraw(
                bytes([value + 128]) if width == 1 else value.to_bytes(width, "little", signed=True)
            )
    return data.getvalue()


def as_floats(*, extensible: bool) -> bytes:
    """Return the tone as 32-bit floats, behind a chunk that a reader has to skip."""
    kind = 0xFFFE if extensible else 3
    form = struct.pack("<HHIIHH", kind, 1, 48_000, 192_000, 4, 32)
    if extensible:
        form += struct.pack("<HHIH", 22, 32, 0, 3) + b"\0\0\0\0\x10\0\x80\0\0\xaa\0\x38\x9b\x71"
    body = TONE.astype("<f4").tobytes()
    chunks = (b"JUNK", b"odd"), (b"fmt ", form), (b"data", body)
    inner = b"".join(
        name + struct.pack("<I", len(data)) + data + b"\0" * (len(data) % 2)
        for name, data in chunks
    )
    return b"RIFF" + struct.pack("<I", 4 + len(inner)) + b"WAVE" + inner


@pytest.mark.parametrize("width", [1, 2, 3, 4])
@pytest.mark.parametrize("channels", [1, 2])
def test_whole_numbers_of_every_width(width: int, channels: int):
    """What the standard library writes comes back within its own rounding."""
    samples, rate = read_wav(by_the_standard_library(width, channels))
    assert rate == 22_050
    assert np.allclose(samples, TONE, atol=1.5 / 2 ** (8 * width - 1))


def of_channels(*levels: float) -> NDArray[np.float64]:
    """Return what is read of the tone on several channels, each at its own level."""
    count = len(levels)
    form = struct.pack("<HHIIHH", 3, count, 22_050, 88_200 * count, 4 * count, 32)
    body = np.outer(TONE, levels).astype("<f4").tobytes()
    data = b"WAVEfmt " + struct.pack("<I", 16) + form + b"data" + struct.pack("<I", len(body))
    return read_wav(b"RIFF\0\0\0\0" + data + body)[0]


@pytest.mark.parametrize("other", [-1.0, -0.9, 0.0, 0.5, 1.0])
def test_two_channels_never_silence_each_other(other: float):
    """A balanced microphone at a stereo input comes in twice, once upside down: half is left at
    least of what was played, as where one channel is silent."""
    samples = of_channels(1.0, other)
    assert len(samples) == len(TONE)
    assert np.abs(samples).max() >= 0.49


@pytest.mark.parametrize("played", [(1.0,), (1.0, -1.0)])
def test_one_instrument_on_any_of_many_channels_is_heard(played: tuple[float, ...]):
    """A recorder of 24 channels, the instrument on the third one, or there twice."""
    silent = (0.0,) * (22 - len(played))
    assert np.abs(of_channels(0.0, 0.0, *played, *silent)).max() >= 0.99 / 24


@pytest.mark.parametrize("extensible", [False, True])
def test_floats_as_studio_programs_write_them(extensible: bool):
    """Format 3, plain or behind the extensible header, with a foreign chunk before it."""
    samples, rate = read_wav(as_floats(extensible=extensible))
    assert rate == 48_000
    assert np.allclose(samples, TONE, atol=1e-6)


def as_float_samples(*samples: float, size: int | None = None) -> bytes:
    """Return a WAV file of 32-bit floats, its data chunk saying ``size`` bytes."""
    body = np.array(samples, "<f4").tobytes()
    form = struct.pack("<HHIIHH", 3, 1, 22_050, 88_200, 4, 32)
    told = struct.pack("<I", len(body) if size is None else size)
    return b"RIFF\0\0\0\0WAVEfmt " + struct.pack("<I", 16) + form + b"data" + told + body


def test_floats_that_are_no_numbers_or_enormous_break_nothing():
    """No overflow on the way through the tracker, and no note heard."""
    samples, rate = read_wav(as_float_samples(np.nan, np.inf, -np.inf, 3e38, 0.5))
    assert samples.tolist() == [0.0, 0.0, 0.0, 1e6, 0.5]
    with np.errstate(all="raise"):
        notes_of(heard_frames(np.tile(samples, 2000), rate))


@pytest.mark.parametrize(("kind", "bits"), [(2, 4), (85, 0), (6, 8), (1, 4)])
def test_a_packed_wav_says_that_it_is_packed(kind: int, bits: int):
    """Four-bit ADPCM, MP3 and a-law in a WAV file: not that there is no sound in it."""
    form = struct.pack("<HHIIHH", kind, 1, 22_050, 22_050, 1, bits)
    data = b"RIFF\0\0\0\0WAVEfmt " + struct.pack("<I", 16) + form + b"data"
    with pytest.raises(BadInput, match=re.escape(f"packed (format {kind}, {bits} bit)")):
        read_wav(data + struct.pack("<I", 64) + bytes(64))


@pytest.mark.parametrize("size", [0, 0xFFFFFFFF])
def test_a_recorder_that_was_cut_off_left_no_size(size: int):
    """A header whose size was never filled in: the sound is read to the file's end."""
    assert len(read_wav(as_float_samples(0.1, 0.2, 0.3, size=size))[0]) == 3


@pytest.mark.parametrize("length", [0, 1, 50, 110, 300])
def test_next_to_no_sound_has_no_notes(length: int):
    """A press before the microphone has delivered anything: silence, and nothing fails."""
    assert notes_of(heard_frames(TONE[:length], 22_050)) == ()


@given(st.integers(0, 4000), st.binary(max_size=8))
def test_a_damaged_wav_is_refused_or_read(cut: int, patch: bytes):
    """Cut anywhere, or overwritten anywhere: samples or one clear refusal, nothing else."""
    data = by_the_standard_library(2, 1)
    damaged = data[: cut % 60] + patch + data[cut % 60 + len(patch) : cut]
    with suppress(BadInput):
        samples, _ = read_wav(damaged)
        assert len(samples) <= len(TONE)


def test_a_midi_file_of_two_tempi():
    """Times follow the file's own tempo map; drums and other events are left out."""
    track = mido.MidiTrack([
        mido.MetaMessage("set_tempo", tempo=500_000),
        mido.Message("note_on", note=60, velocity=80, time=480),
        mido.Message("note_on", note=60, velocity=0, time=480),
        mido.MetaMessage("set_tempo", tempo=1_000_000),
        mido.Message("control_change", control=64, value=127),
        mido.Message("note_on", channel=9, note=76, velocity=80),
        mido.Message("note_on", note=62, velocity=80, time=480),
        mido.Message("note_off", note=62, time=240),
    ])  # fmt: skip
    data = io.BytesIO()
    mido.MidiFile(tracks=[track], ticks_per_beat=480).save(file=data)
    (found,) = read_midi(data.getvalue())
    assert [(n.start, n.end, n.pitch) for n in found] == [(0.5, 1.0, 60), (2.0, 2.5, 62)]


def test_a_midi_file_of_several_parts():
    """All that sounds, each track, and each channel of one; the tempo of one track is for all."""

    def note(pitch: int, channel: int = 0) -> list[mido.Message]:
        return [mido.Message("note_on", note=pitch, channel=channel, velocity=80),
                mido.Message("note_off", note=pitch, channel=channel, time=480)]  # fmt: skip

    data = io.BytesIO()
    slow = mido.MetaMessage("set_tempo", tempo=1_000_000)
    tracks = [[slow], [*note(60), *note(62)], [*note(48), *note(43, 1), *note(76, 9)]]
    mido.MidiFile(tracks=list(map(mido.MidiTrack, tracks)), ticks_per_beat=480).save(file=data)
    parts = read_midi(data.getvalue())
    assert [[n.pitch for n in part] for part in parts] == [
        [48, 60, 43, 62], [60, 62], [48, 43], [48], [43]
    ]  # fmt: skip
    assert [n.start for n in parts[0]] == [0.0, 0.0, 1.0, 1.0]


@given(st.binary(max_size=200))
def test_a_damaged_midi_file_is_refused(junk: bytes):
    """Whatever follows a right header, or none: one clear refusal or notes, nothing else."""
    for data in (junk, b"MThd\0\0\0\6\0\0\0\1\1\xe0MTrk" + struct.pack(">I", len(junk)) + junk):
        with suppress(BadInput):
            assert read_midi(data)


def of_notes(count: int, ticks: int = 480) -> bytes:
    """Return a MIDI file of notes by running status, ``ticks`` being its word for time."""
    track = b"\0\x90\x3c\x40" + b"\x60\x3c\0" + b"\0\x3e\x40\x60\x3e\0" * count
    track += b"\0\xff\x2f\0"
    head = b"MThd" + struct.pack(">IHHH", 6, 0, 1, ticks)
    return head + b"MTrk" + struct.pack(">I", len(track)) + track


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (of_notes(3, ticks=0), "doesn't count its time in beats"),
        (of_notes(3, ticks=0xE728), "doesn't count its time in beats"),  # 25 frames, 40 ticks
        (of_notes(LARGEST // 6 + 1), "too large to be one go"),
        (of_notes(4000), "more than 4000 notes"),
        (of_notes(3)[:-8], "(cut short)"),
        (b"", "(cut short)"),
    ],
    ids=["no ticks", "film", "huge", "many", "half", "empty"],
)
def test_a_midi_file_that_cant_be_used_says_why(data: bytes, said: str):
    """Time that isn't in beats, more than an attempt, or only a part of a file."""
    with pytest.raises(BadInput, match=re.escape(said)):
        read_midi(data)


def test_running_status_in_a_file():
    """The status byte stands once; a note of velocity 0 ends one."""
    (notes,) = read_midi(of_notes(2))
    assert [note.pitch for note in notes] == [60, 62, 62]


@pytest.mark.parametrize("key", [b"\x02\xfd\x02", b"\x02\x09\0", b"\x03\0\xff\0"])
def test_a_key_signature_that_nobody_knows_is_passed_over(key: bytes):
    """Three flats of a third mode, nine sharps, a byte too many: the notes are heard."""
    plain = of_notes(2)
    track = b"\0\xff\x59" + key + plain[22:]
    data = plain[:14] + b"MTrk" + struct.pack(">I", len(track)) + track
    assert read_midi(data) == read_midi(plain)
