"""Reads a notation file, whichever of the open formats it is in."""

from __future__ import annotations

import codecs

from drillbox.errors import BadInput
from drillbox.music.charts import Meter
from drillbox.music.keys import Key
from drillbox.notation.abc_reading import read_abc
from drillbox.notation.musicxml_reading import read_musicxml
from drillbox.notation.musicxml_tree import is_archive
from drillbox.notation.result import Given, Limits, Reading
from drillbox.tick import Tick, silent

_STANDARD = Limits()
# Byte order marks, blanks, and the zero bytes of UTF-16.
_BEFORE_XML = codecs.BOM_UTF8 + codecs.BOM_UTF16 + codecs.BOM_UTF16_BE + b" \t\r\n\0"


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
    goal: int | None = None,
    sounding: Key | None = None,
    tick: Tick = silent,
) -> Reading:
    """Read all tunes of a file, of which ``name`` is only said in messages.

    The format is told from the bytes. ``part`` names the part or voice to read (default: the
    first); ``title``, ``key``, ``tempo`` and ``meter`` serve where a tune lacks its own,
    ``goal`` is the tempo whatever a tune says, and ``sounding`` stands before ``key`` for a page
    that says how it sounds. What is wrong with a tune is told in its
    ``problems``; BadInput is raised where the file as a whole can't be read. ``tick`` hears how
    far it has come.
    """
    given = Given(title, key, tempo, meter, goal, sounding)
    if len(data) > limits.bytes:
        raise BadInput(
            f"{name} is too big: {len(data):,} bytes, of which {limits.bytes:,} are read",
            "Use a file that holds only the phrases.",
        )
    if not data.strip():
        raise BadInput(f"{name} is empty", "Use an ABC or MusicXML file with a phrase in it.")
    try:
        if _is_musicxml(data):
            return read_musicxml(data, part, limits, given, tick)
        return read_abc(data, part, limits, given, tick)
    except BadInput as wrong:
        raise BadInput(f"{name}: {wrong.what}", wrong.remedy) from wrong


def _is_musicxml(data: bytes) -> bool:
    """Tell XML and zip archives, which may hold MusicXML, from ABC, by their first bytes."""
    return is_archive(data) or data.lstrip(_BEFORE_XML).startswith(b"<")
