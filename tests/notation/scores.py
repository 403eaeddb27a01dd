"""Small invented MusicXML scores for the tests of notation."""

from __future__ import annotations

import io
import zipfile
from typing import Any

from drillbox.notation import Tune, read_bytes

DOCTYPE = (
    '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" '
    '"http://www.musicxml.org/dtds/partwise.dtd">'
)
CONTAINER = (
    '<container><rootfiles><rootfile full-path="{name}" '
    'media-type="application/vnd.recordare.musicxml+xml"/></rootfiles></container>'
)
ATTRIBUTES = (
    "<attributes><divisions>{divisions}</divisions><key><fifths>{fifths}</fifths>"
    "<mode>{mode}</mode></key><time><beats>4</beats><beat-type>4</beat-type></time>"
    "{more}</attributes><sound tempo='120'/>"
)


def note(pitch: str, duration: object = 4, more: str = "", before: str = "") -> str:
    """Return a note such as ``Bb4``, or a rest for ``z``; duration in divisions."""
    if pitch == "z":
        kind = "<rest/>"
    else:
        alter = {"b": -1, "#": 1}.get(pitch[1:2], 0)
        kind = (
            f"<pitch><step>{pitch[0]}</step><alter>{alter}</alter>"
            f"<octave>{pitch[-1]}</octave></pitch>"
        )
    length = "" if "<grace" in before else f"<duration>{duration}</duration>"
    return f"<note>{before}{kind}{length}{more}</note>"


def harmony(root: str, kind: str = "major", more: str = "", text: str = "") -> str:
    """Return a harmony; ``more`` holds bass, degrees and offset."""
    alter = {"b": -1, "#": 1}.get(root[1:2], 0)
    return (
        f"<harmony><root><root-step>{root[0]}</root-step><root-alter>{alter}</root-alter></root>"
        f'<kind text="{text}">{kind}</kind>{more}</harmony>'
    )


def degree(number: int, alter: int, action: str) -> str:
    """Return a degree of a harmony."""
    return (
        f"<degree><degree-value>{number}</degree-value><degree-alter>{alter}</degree-alter>"
        f"<degree-type>{action}</degree-type></degree>"
    )


def attributes(divisions: int = 4, fifths: int = 0, mode: str = "major", more: str = "") -> str:
    """Return the attributes of a first measure in 4/4, and a tempo of 120."""
    return ATTRIBUTES.format(divisions=divisions, fifths=fifths, mode=mode, more=more)


def part(*measures: str, id: str = "P1", first: str | None = None) -> str:
    """Return a part; ``first`` stands at the beginning of the first measure."""
    start = attributes() if first is None else first
    bodies = [start + measures[0], *measures[1:]]
    return f'<part id="{id}">' + "".join(
        body if body.startswith("<measure") else f'<measure number="{number}">{body}</measure>'
        for number, body in enumerate(bodies, start=1)
    ) + "</part>"  # fmt: skip


def score(*parts: str, title: str = "Test", doctype: str = DOCTYPE) -> str:
    """Return a score; its parts are named Alto, Bass, ..."""
    names = ("Alto", "Bass", "Piano")
    listed = "".join(
        f'<score-part id="P{n}"><part-name>{names[n - 1]}</part-name></score-part>'
        for n in range(1, len(parts) + 1)
    )
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>{doctype}<score-partwise version="4.0">'
        f"<movement-title>{title}</movement-title><part-list>{listed}</part-list>"
        f"{''.join(parts)}</score-partwise>"
    )


def zipped(score: bytes, name: str = "score.xml", container: str = CONTAINER) -> bytes:
    """Return the score as an .mxl file."""
    return zip_of({"META-INF/container.xml": container.format(name=name).encode(), name: score})


def read(text: str | bytes, **given: Any) -> Tune:
    """Read the tune of a score."""
    data = text.encode() if isinstance(text, str) else text
    (tune,) = read_bytes(data, "test.xml", **given).tunes
    return tune


def read_part(*measures: str, first: str | None = None, **given: Any) -> Tune:
    """Read a score of one part."""
    return read(score(part(*measures, first=first)), **given)


def zip_of(members: dict[str, bytes]) -> bytes:
    """Return a zip archive of these members."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return file.getvalue()
