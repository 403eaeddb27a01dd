"""WAV files read: what a recorder or a studio program writes, as samples of one channel.

RIFF and its chunks as in "Multimedia Programming Interface and Data Specifications 1.0" (IBM
and Microsoft, 1991), with the extensible format's sub-format. The standard library's reader
knows neither floats nor that format on Python 3.11.
"""

from __future__ import annotations

import struct
from typing import TYPE_CHECKING

from drillbox.errors import BadInput
from drillbox.output import counted

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

_PCM, _FLOAT, _EXTENSIBLE = 1, 3, 0xFFFE
LONGEST = 600
"""Seconds of a recording that are heard; ten minutes hold any attempt."""
_LOUDEST = 1e6
"""What floats are held to; full scale is 1."""
_REMEDY = "Save the recording as a plain WAV file (PCM, 16 or 24 bit, or 32-bit float)"


def read_wav(data: bytes) -> tuple[NDArray[np.float64], int]:
    """Return the samples, -1 to 1, its channels averaged, and how many there are in a second.

    Raises BadInput for what isn't a WAV file, is packed, or is longer than ``LONGEST``. A file
    cut short, or one whose sizes were never filled in, is read as far as it goes.
    """
    import numpy as np

    form, body = _chunks(data)
    kind, channels, rate, _, _, bits = struct.unpack_from("<HHIIHH", form)
    if kind == _EXTENSIBLE and len(form) >= 26:
        kind = struct.unpack_from("<H", form, 24)[0]
    if not channels or not 8000 <= rate <= 384_000:
        raise BadInput(f"The WAV file says {counted(channels, 'channel')} at {rate} Hz", _REMEDY)
    frame = channels * (bits // 8)
    if not frame or len(body) < frame:
        raise BadInput("The WAV file holds no sound", "Record it again.")
    body = body[: len(body) // frame * frame]
    if len(body) > frame * rate * LONGEST:
        raise BadInput("The recording is longer than ten minutes", "Cut it to the attempt.")
    samples = _samples(body, kind, bits).reshape(-1, channels).mean(axis=1)
    samples[~np.isfinite(samples)] = 0.0
    return samples.clip(-_LOUDEST, _LOUDEST), rate


def _chunks(data: bytes) -> tuple[bytes, bytes]:
    """Return the format chunk and the samples."""
    if data[:4] not in {b"RIFF", b"RF64"} or data[8:12] != b"WAVE":
        raise BadInput("That isn't a WAV file", _REMEDY)
    form, at = b"", 12
    while at + 8 <= len(data):
        name, size = struct.unpack_from("<4sI", data, at)
        if name == b"fmt ":
            form = data[at + 8 : at + 8 + size]
        elif name == b"data" and len(form) >= 16:
            return form, data[at + 8 : at + 8 + (size or len(data))]
        at += 8 + size + size % 2
    raise BadInput("The WAV file has no sound in it, or is cut short", _REMEDY)


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
    raise BadInput(f"The WAV file's samples are packed (format {kind}, {bits} bit)", _REMEDY)
