"""Recordings read: WAV files as samples of one channel, Standard MIDI Files as notes in seconds.

RIFF and its chunks as in "Multimedia Programming Interface and Data Specifications 1.0" (IBM
and Microsoft, 1991), with the extensible format's sub-format. The standard library's reader
knows neither floats nor that format on Python 3.11.
"""

from __future__ import annotations

import io
import struct
from collections import defaultdict
from itertools import chain
from typing import TYPE_CHECKING, Any

from drillbox.errors import BadInput
from drillbox.hearing.takes import MOST, Played
from drillbox.output import counted

if TYPE_CHECKING:
    import numpy as np
    from mido import MidiFile
    from numpy.typing import NDArray


_PCM, _FLOAT, _EXTENSIBLE = 1, 3, 0xFFFE
LONGEST = 600
"""Seconds of a recording that are heard; ten minutes hold any go."""
_LOUDEST = 1e6
"""What floats are held to; full scale is 1."""
_CANCELLED = 0.1
"""Share of the channels' power that is left in their sum where one is another upside down; where
one alone sounds it is 1."""
_SAVE_WAV = "Save the recording as a plain WAV file (PCM, 16 or 24 bit, or 32-bit float)"


def read_wav(data: bytes) -> tuple[NDArray[np.float64], int]:
    """Return the samples, -1 to 1, its channels as one, and how many there are in a second.

    Raises BadInput for what isn't a WAV file, is packed, or is longer than ``LONGEST``. A file
    cut short, or one whose sizes were never filled in, is read as far as it goes.
    """
    import numpy as np

    form, body = _chunks(data)
    kind, channels, rate, _, _, bits = struct.unpack_from("<HHIIHH", form)
    if kind == _EXTENSIBLE and len(form) >= 26:
        kind = struct.unpack_from("<H", form, 24)[0]
    if not channels or not 8000 <= rate <= 384_000:
        raise BadInput(f"The WAV file says {counted(channels, 'channel')} at {rate} Hz", _SAVE_WAV)
    frame = channels * (bits // 8)
    if not frame:
        raise BadInput(_packed(kind, bits), _SAVE_WAV)
    if len(body) < frame:
        raise BadInput("The WAV file holds no sound", "Record it again.")
    body = body[: len(body) // frame * frame]
    if len(body) > frame * rate * LONGEST:
        raise BadInput("The recording is longer than ten minutes", "Cut it to one go.")
    samples = _samples(body, kind, bits)
    samples[~np.isfinite(samples)] = 0.0
    samples = samples.clip(-_LOUDEST, _LOUDEST, out=samples)
    return (_one_channel(samples, channels) if channels > 1 else samples), rate


def _one_channel(samples: NDArray[np.float64], channels: int) -> NDArray[np.float64]:
    """Return the mean of channels whose samples take turns; where they cancel out, the loudest."""
    import numpy as np

    each = samples.reshape(-1, channels)
    mean: NDArray[np.float64] = each.mean(axis=1)
    if channels**2 * (mean @ mean) >= _CANCELLED * (samples @ samples):
        return mean
    return each[:, np.einsum("ij,ij->j", each, each).argmax()]


def _chunks(data: bytes) -> tuple[bytes, bytes]:
    """Return the format chunk and the samples."""
    if data[:4] not in {b"RIFF", b"RF64"} or data[8:12] != b"WAVE":
        raise BadInput("That isn't a WAV file", _SAVE_WAV)
    form, at = b"", 12
    while at + 8 <= len(data):
        name, size = struct.unpack_from("<4sI", data, at)
        if name == b"fmt ":
            form = data[at + 8 : at + 8 + size]
        elif name == b"data" and len(form) >= 16:
            return form, data[at + 8 : at + 8 + (size or len(data))]
        at += 8 + size + size % 2
    raise BadInput("The WAV file has no sound in it, or is cut short", _SAVE_WAV)


def _samples(body: bytes, kind: int, bits: int) -> NDArray[np.float64]:
    import numpy as np

    if kind == _FLOAT and bits in {32, 64}:
        return np.frombuffer(body, f"<f{bits // 8}").astype(np.float64)
    if kind == _PCM and bits == 8:
        return (np.frombuffer(body, np.uint8) - 128.0) / 128
    if kind == _PCM and bits in {16, 32}:
        return np.frombuffer(body, f"<i{bits // 8}").astype(np.float64) / 2.0 ** (bits - 1)
    if kind == _PCM and bits == 24:
        wide = np.zeros((len(body) // 3, 4), np.uint8)
        wide[:, 1:] = np.frombuffer(body, np.uint8).reshape(-1, 3)
        return wide.view("<i4").ravel() / 2.0**31
    raise BadInput(_packed(kind, bits), _SAVE_WAV)


def _packed(kind: int, bits: int) -> str:
    return f"The WAV file's samples are packed (format {kind}, {bits} bit)"


_DRUMS = 9
_TEMPO = 500_000
"""Microseconds to a quarter where the file doesn't say, by the standard."""
_SAVE_MIDI = "Save the go as a Standard MIDI File"
LARGEST = 1_000_000
"""Bytes of one file: so many notes with bends and breath all along come to less."""


def read_midi(data: bytes) -> list[tuple[Played, ...]]:
    """Return what may be the player's part, each in order of beginning, the drums left out.

    First comes all that sounds, then, where that is more than one, each track and each channel
    of a track by itself. Times are by the file's own tempi.

    Raises BadInput for what isn't a MIDI file, counts time in frames of film, or has no notes
    or too many.
    """
    if len(data) > LARGEST:
        raise BadInput("The MIDI file is too large to be one go", "Cut it to one go.")
    try:
        file = _file_of(data)
        if file.type == 2:  # format 2: independent songs
            raise BadInput("That MIDI file holds several songs (format 2)", _SAVE_MIDI)
        if file.ticks_per_beat <= 0:
            raise BadInput("That MIDI file doesn't count its time in beats", _SAVE_MIDI)
        by_channel = _notes(file)
    except (OSError, ValueError, EOFError, IndexError, KeyError, TypeError) as problem:
        why = str(problem) or "cut short"
        raise BadInput(f"That isn't a MIDI file ({why})", _SAVE_MIDI) from problem
    if not by_channel:
        raise BadInput("The MIDI file has no notes", "Record it again.")
    if sum(map(len, by_channel.values())) > MOST:
        raise BadInput(f"The MIDI file has more than {MOST} notes", "Cut it to one go.")
    by_track: dict[int, list[Played]] = defaultdict(list)
    for (number, _), notes in by_channel.items():
        by_track[number] += notes
    parts = [chain(*by_track.values()), *by_track.values(), *by_channel.values()]
    in_order = (tuple(sorted(part, key=lambda note: (note.start, note.pitch))) for part in parts)
    return list(dict.fromkeys(in_order))


def _file_of(data: bytes) -> MidiFile:
    """Return a file as mido reads it, which gives up where it doesn't know a key signature.

    None is needed here, so then they are made sequencer-specific events (FF 7F), as long as before.
    """
    from mido import KeySignatureError, MidiFile

    try:
        return MidiFile(file=io.BytesIO(data), clip=True)
    except KeySignatureError:
        return MidiFile(file=io.BytesIO(data.replace(b"\xff\x59", b"\xff\x7f")), clip=True)


def _notes(file: MidiFile) -> dict[tuple[int, int], list[Played]]:
    """Pair each note's beginning with its end, by track and channel.

    A note that never ended ends where the file does.
    """
    from mido import tick2second

    now, ticks, tempo = 0.0, 0, _TEMPO
    notes: dict[tuple[int, int], list[Played]] = defaultdict(list)
    open_at: dict[tuple[int, int, int], list[float]] = defaultdict(list)
    for at, number, message in _in_order(file):
        now += tick2second(at - ticks, file.ticks_per_beat, tempo)
        ticks = at
        if message.type == "set_tempo":
            tempo = message.tempo
        if message.type not in {"note_on", "note_off"} or message.channel == _DRUMS:
            continue
        started = open_at[number, message.channel, message.note]
        if message.type == "note_on" and message.velocity:
            started.append(now)
        elif started:
            notes[number, message.channel].append(Played(started.pop(0), now, message.note))
    for (number, channel, note), left in open_at.items():
        for start in left:
            notes[number, channel].append(Played(start, now, note))
    return notes


def _in_order(file: MidiFile) -> list[tuple[int, int, Any]]:
    """Return (tick, number of the track, message) of all tracks, in order of time."""
    events = []
    for number, track in enumerate(file.tracks):
        ticks = 0
        for message in track:
            ticks += message.time
            events.append((ticks, number, message))
    return sorted(events, key=lambda event: event[0])
