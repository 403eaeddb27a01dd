"""XML from strangers, packed or not: under a cap, no entities, nothing fetched, not too deep."""

from __future__ import annotations

import io
import re
import zipfile
import zlib
from typing import NoReturn
from xml.etree.ElementTree import Element, TreeBuilder
from xml.parsers import expat

from drillbox.errors import BadInput

_DEEPEST = 60
_MOST_ELEMENTS = 200_000
_REMEDY = "Save the score again as MusicXML."


def parse_tree(data: bytes) -> Element:
    """Return the root of an XML document.

    A document type may be named, as MusicXML files do, but it is never loaded; one that
    declares entities is refused. Raises BadInput on that and on text that isn't XML.
    """
    builder = TreeBuilder()
    parser = expat.ParserCreate()
    parser.buffer_text = True
    guard = _Guard(builder)
    parser.StartElementHandler = guard.start
    parser.EndElementHandler = guard.end
    parser.CharacterDataHandler = builder.data
    parser.EntityDeclHandler = guard.refuse
    parser.ExternalEntityRefHandler = guard.refuse
    parser.SkippedEntityHandler = guard.refuse
    try:
        parser.Parse(data, True)
        return builder.close()
    except expat.ExpatError as wrong:
        raise BadInput(
            f"it isn't well-formed XML: {expat.ErrorString(wrong.code)} "
            f"at line {wrong.lineno}, column {wrong.offset + 1}",
            _REMEDY,
        ) from wrong
    except (ValueError, LookupError, AssertionError) as wrong:
        raise BadInput(f"it isn't well-formed XML ({wrong})", _REMEDY) from wrong


class _Guard:
    """Hands elements on while their number and depth are sane."""

    def __init__(self, builder: TreeBuilder) -> None:
        self._builder = builder
        self._depth = 0
        self._count = 0

    def start(self, tag: str, attributes: dict[str, str]) -> None:
        self._depth += 1
        self._count += 1
        if self._depth > _DEEPEST or self._count > _MOST_ELEMENTS:
            raise BadInput("it has more elements than any phrase, or deeper ones", _REMEDY)
        self._builder.start(tag, attributes)

    def end(self, tag: str) -> None:
        self._depth -= 1
        self._builder.end(tag)

    def refuse(self, *_: object) -> NoReturn:
        raise BadInput("it declares or uses entities, which are not read", _REMEDY)


def text_of(parent: Element, path: str) -> str:
    """Return the stripped text of the first element at the path, or an empty text."""
    return (parent.findtext(path) or "").strip()


_CONTAINER = "META-INF/container.xml"
_SCORE = re.compile(r"\.(?:musicxml|xml)$", re.IGNORECASE)
_MOST_FILES = 500
_UNPACKED = "Save the score again as .musicxml or .mxl."
# What zipfile raises on files that are damaged, encrypted or compressed in unknown ways.
_DAMAGE = (
    zipfile.BadZipFile, zlib.error, EOFError, OSError, RuntimeError, NotImplementedError,
    ValueError, IndexError,
)  # fmt: skip


def is_archive(data: bytes) -> bool:
    """Return whether the bytes are a zip archive."""
    return data.startswith(b"PK\x03\x04")


def score_bytes(data: bytes, most: int) -> tuple[bytes, str]:
    """Return the score that the archive's container names first (MusicXML 4.0, .mxl files).

    Where there is no container or it isn't sound XML, and there is exactly one score, it is that
    one, and the second text says so as a doubt. Nothing is written to disk; a name is only
    looked up among the archive's own. Raises BadInput where the archive is damaged, names no
    score, or unzips to more than ``most``.
    """
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            if len(archive.infolist()) > _MOST_FILES:
                raise BadInput(f"the archive holds more than {_MOST_FILES} files", _UNPACKED)
            members = archive.namelist()
            if _CONTAINER in members:
                container = _member(archive, _CONTAINER, min(most, 100_000))
                name, doubt = _score_name(container, members)
            else:
                name, doubt = _only_score(members, f"the archive has no {_CONTAINER}")
            return _member(archive, name, most), doubt
    except _DAMAGE as wrong:
        raise BadInput(f"the archive is damaged ({wrong})", _UNPACKED) from wrong


def _member(archive: zipfile.ZipFile, name: str, most: int) -> bytes:
    if name not in archive.namelist():
        raise BadInput(f"the archive lacks {name!r}", _UNPACKED)
    if archive.getinfo(name).compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise BadInput(f"{name!r} is not compressed as .mxl files are", _UNPACKED)
    with archive.open(name) as member:
        data = member.read(most + 1)
    if len(data) > most:
        raise BadInput(
            f"{name!r} unzips to more than {most:,} bytes", "Use a file with only the phrase."
        )
    return data


def _score_name(container: bytes, members: list[str]) -> tuple[str, str]:
    """Return the name of the score, and a doubt where the container doesn't tell it."""
    try:
        root = parse_tree(container)
    except BadInput:
        return _only_score(members, f"{_CONTAINER} isn't well-formed XML")
    for each in root.iter():
        if each.tag.rpartition(":")[2] != "rootfile":
            continue
        name = each.get("full-path", "")
        if name.startswith(("/", "\\")) or ".." in name.replace("\\", "/").split("/"):
            raise BadInput(f"the archive names a score outside itself: {name!r}", _UNPACKED)
        return name, ""
    raise BadInput("the archive names no score", _UNPACKED)


def _only_score(members: list[str], why: str) -> tuple[str, str]:
    """Return the one score among an archive's files, with the doubt; raise BadInput for none."""
    scores = [name for name in members if _SCORE.search(name) and name != _CONTAINER]
    if len(scores) != 1:
        raise BadInput(f"{why}, and {len(scores) or 'no'} scores to choose from", _UNPACKED)
    return scores[0], f"{why}; the one score, {scores[0]!r}, is read"
