"""XML from strangers: no entities, nothing fetched, no depth that breaks a parser."""

from __future__ import annotations

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
