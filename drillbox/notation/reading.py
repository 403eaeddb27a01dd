"""Reads a notation file, whichever of the open formats it is in."""

from __future__ import annotations

from drillbox.errors import BadInput
from drillbox.music.charts import Meter
from drillbox.music.keys import Key
from drillbox.notation.abc_reading import read_abc
from drillbox.notation.result import Given, Limits, Reading

_STANDARD = Limits()


def read_bytes(
    data: bytes,
    name: str,
    *,
    part: str | None = None,
    limits: Limits = _STANDARD,
    title: str | None = None,
    key: Key | None = None,
    tempo: int | None = None,
    meter: Meter | None = None,
) -> Reading:
    """Read all tunes of a file, of which ``name`` is only said in messages.

    The format is told from the bytes. ``part`` names the part or voice to read (default: the
    first); ``title``, ``key``, ``tempo`` and ``meter`` serve where a tune lacks its own. What
    is wrong with a tune is told in its ``problems``; BadInput is raised where the file as a
    whole can't be read.
    """
    given = Given(title, key, tempo, meter)
    if len(data) > limits.bytes:
        raise BadInput(
            f"{name} is too big: {len(data):,} bytes, of which {limits.bytes:,} are read",
            "Give a file that holds only the phrases.",
        )
    if not data.strip():
        raise BadInput(f"{name} is empty", "Give an ABC or MusicXML file with a phrase in it.")
    try:
        return read_abc(data, part, limits, given)
    except BadInput as wrong:
        raise BadInput(f"{name}: {wrong.what}", wrong.remedy) from wrong
