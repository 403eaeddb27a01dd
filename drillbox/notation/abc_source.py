"""From the bytes of an ABC file to its tunes, line by line with line numbers."""

from __future__ import annotations

import codecs
import re
from dataclasses import dataclass

from drillbox.errors import BadInput

Line = tuple[int, str]
_BOMS = {
    codecs.BOM_UTF8: "utf-8",
    codecs.BOM_UTF16_LE: "utf-16-le",
    codecs.BOM_UTF16_BE: "utf-16-be",
}
_CHARSET = re.compile(rb"^(?:%%|I:)\s*abc-charset\s+([\w-]+)", re.MULTILINE)
_FILE_FIELDS = re.compile(r"[ILMmQRU]:|%%")


@dataclass(frozen=True, slots=True)
class Source:
    """The lines of one tune with their numbers in the file, comments and text blocks left out.

    ``defaults`` are the fields of the file's header; ``stray`` is where music seems to stand
    behind the empty line that ends the tune.
    """

    lines: tuple[Line, ...]
    defaults: tuple[Line, ...]
    stray: int | None = None


def decode(data: bytes) -> tuple[str, str]:
    """Return the text of an ABC file and, where its encoding had to be guessed, a doubt.

    UTF-8 is the standard's default (ABC 2.1, section 2.1); a byte order mark or an
    ``abc-charset`` line says otherwise, and text that isn't UTF-8 is taken for Latin-1.
    """
    for mark, encoding in _BOMS.items():
        if data.startswith(mark):
            return _strict(data[len(mark) :], encoding), ""
    if b"\0" in data:
        raise BadInput("this isn't a text file", "Use an ABC or MusicXML file.")
    declared = _CHARSET.search(data)
    if declared:
        return _strict(data, declared[1].decode("ascii")), ""
    try:
        return data.decode("utf-8"), ""
    except UnicodeDecodeError as wrong:
        line = data.count(b"\n", 0, wrong.start) + 1
        doubt = f"line {line} is not UTF-8; the file is read as Latin-1"
        return data.decode("latin-1"), doubt


def _strict(data: bytes, encoding: str) -> str:
    try:
        return data.decode(encoding)
    except (UnicodeDecodeError, LookupError) as wrong:
        raise BadInput(
            f"the text is not in the encoding that the file names, {encoding}",
            "Save the file as UTF-8.",
        ) from wrong


def tunes(text: str) -> tuple[Source, ...]:
    """Split a file into its tunes: each from ``X:`` to the next empty line (ABC 2.1, 2.2).

    A file without ``X:`` but with a ``K:`` field is one tune.
    """
    lines = _music_lines(text)
    starts = [i for i, (_, line) in enumerate(lines) if line.startswith("X:")]
    if not starts:
        if not any(line.startswith("K:") for _, line in lines):
            return ()
        return (_source(lines, ()),)
    before = tuple(line for line in lines[: starts[0]] if _FILE_FIELDS.match(line[1]))
    ends = [*starts[1:], len(lines)]
    return tuple(_source(lines[start:end], before) for start, end in zip(starts, ends, strict=True))


def _source(lines: list[Line], defaults: tuple[Line, ...]) -> Source:
    begun = next((i for i, (_, line) in enumerate(lines) if line.strip()), 0)
    end = next((i for i in range(begun, len(lines)) if not lines[i][1].strip()), len(lines))
    stray = next((number for number, line in lines[end:] if "|" in line), None)
    return Source(tuple(lines[begun:end]), defaults, stray)


def _music_lines(text: str) -> list[Line]:
    """Return the numbered lines without comments and ``%%begintext`` blocks.

    A line that holds nothing but a comment goes altogether: it ends no tune.
    """
    kept: list[Line] = []
    block = ""
    for number, raw in enumerate(re.split(r"\r\n|\r|\n", text), start=1):
        directive = re.match(r"%%\s*(begin|end)(\w+)", raw)
        if block:
            block = "" if directive and directive.groups() == ("end", block) else block
        elif directive and directive[1] == "begin":
            block = directive[2]
        elif raw.startswith("%%"):
            kept.append((number, raw))
        elif not raw.lstrip().startswith("%"):
            kept.append((number, re.sub(r"(?<!\\)%.*", "", raw).rstrip()))
    return kept
