"""Files too big in some way: each is refused, or read right, in time and little memory.

Each is read in a process of its own that measures itself.
"""

from __future__ import annotations

import io
import zipfile

import pytest

from tests.notation.pages import HEAD
from tests.notation.scores import CONTAINER, attributes, harmony, note, part, score, zip_of

SECONDS, MEGABYTES = 5, 300


def said_by(data: bytes, most: int = 2_000_000) -> str:
    """Read in a process of its own, within time and memory; return what was said first."""
    pytest.importorskip("resource")
    from tests.notation.measured import measured

    said, seconds, megabytes = measured(data, most)
    assert seconds < SECONDS
    assert megabytes < MEGABYTES
    assert all(len(each) < 1000 for each in said)
    return said[0]


def bomb() -> bytes:
    """Return an archive whose score unzips to 300 MB."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        archive.writestr("META-INF/container.xml", CONTAINER.format(name="score.xml"))
        with archive.open("score.xml", "w") as member:
            for _ in range(300):
                member.write(b" " * 1_000_000)
    return file.getvalue()


def test_a_zip_bomb_is_refused_unread() -> None:
    """300 MB behind 1.3 MB: reading stops at the cap."""
    assert "unzips to more than 2,000,000 bytes" in said_by(bomb())


def test_a_bomb_in_the_container_is_refused() -> None:
    """The container has a cap of its own."""
    data = zip_of({"META-INF/container.xml": b" " * 50_000_000})
    assert "'META-INF/container.xml' unzips to more than 100,000" in said_by(data)


def test_an_archive_of_very_many_files_is_refused() -> None:
    """A thousand members aren't a score."""
    assert "more than 500 files" in said_by(zip_of({str(n): b"" for n in range(1000)}))


LAUGHS = "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' for n in range(1, 10))
ENTITIES = {
    "exponential": f'<!DOCTYPE s [<!ENTITY l0 "ha">{LAUGHS}]><s>&l9;</s>',
    "quadratic": f'<!DOCTYPE s [<!ENTITY a "{"a" * 50_000}">]><s>{"&a;" * 20_000}</s>',
    "external": '<!DOCTYPE s [<!ENTITY x SYSTEM "file:///etc/hostname">]><s>&x;</s>',
    "network": '<!DOCTYPE s [<!ENTITY x SYSTEM "http://127.0.0.1:9/x">]><s>&x;</s>',
    "parameter": '<!DOCTYPE s [<!ENTITY % x SYSTEM "file:///etc/hostname"> %x;]><s/>',
    "undeclared": '<!DOCTYPE s SYSTEM "s.dtd"><s>&x;</s>',
}


@pytest.mark.parametrize("kind", ENTITIES)
def test_entities_are_refused(kind: str) -> None:
    """Bombs, files and addresses: no entity is ever expanded or fetched."""
    assert "declares or uses entities" in said_by(ENTITIES[kind].encode())


def test_a_document_type_elsewhere_is_not_loaded() -> None:
    """The DTD that a score names is neither read nor missed."""
    data = score(part(harmony("C") + note("C4", 16)), doctype='<!DOCTYPE s SYSTEM "/dev/zero">')
    assert said_by(data.encode()) == "read"


def test_deep_xml_is_refused() -> None:
    """A hundred thousand nested elements break no parser."""
    assert "deeper ones" in said_by(b"<a>" * 100_000)


MILLION = 1_000_000
MANY = {
    "notes in one bar": HEAD + '"C"' + "C" * MILLION,
    "notes in bars": HEAD + '"C"' + "CCCCCCCC|" * (MILLION // 8),
    "repeats": HEAD + '"C"' + "::C8:" * 300_000,
    "rests of many bars": HEAD + '"C"C8|' + "Z99999|" * 200_000,
    "tuplets": HEAD + '"C"' + "(3" * 600_000,
    "symbols": HEAD + '"C"' * 400_000 + "C8|",
    "open brackets": HEAD + "[" * 1_500_000,
    "quotation marks": HEAD + '"' * 1_500_000,
    "graces": HEAD + '"C"{' + "c" * MILLION + "}C8|",
    "voices": HEAD + "[V:1]" * 300_000,
    "a long key": HEAD.replace("K:C", "K:C " + "^f " * 400_000) + '"C"C8|',
    "a long title": HEAD.replace("Test", "T" * MILLION) + '"C"C8|',
}
EXPECTED = {"graces": "more grace notes", "a long key": "read", "a long title": "title is longer"}


@pytest.mark.parametrize("kind", MANY)
def test_a_million_of_anything_in_abc(kind: str) -> None:
    """A million notes and the like are refused, or passed over, in time and little memory."""
    said = said_by(MANY[kind].encode())
    assert EXPECTED.get(kind, "") in said
    assert said != "read" or kind == "a long key"


def test_a_million_tunes_are_refused() -> None:
    """Only so many tunes are read from a file."""
    assert "tunes; 500 are read" in said_by(b"X:1\nK:C\nC\n" * 150_000)


def test_500_tunes_are_read_in_time() -> None:
    """The most tunes that a file may hold, of 8 bars each."""
    music = HEAD + '"C"CDEFGABc|' * 8
    assert said_by("\n\n".join([music] * 500).encode()) == "read"


@pytest.mark.parametrize(
    ("most", "said"), [(2_000_000, "is too big"), (1_000_000_000, "more elements than any phrase")]
)
def test_a_million_notes_in_musicxml(most: int, said: str) -> None:
    """Refused by size; and, would the size be allowed, by their number."""
    body = attributes() + harmony("C") + note("C4", 4) * MILLION
    data = score(f'<part id="P1"><measure>{body}</measure></part>').encode()
    assert said in said_by(data, most)


def test_ten_thousand_notes_in_musicxml() -> None:
    """Within the size, but beyond what a phrase has: refused before music21 sees them."""
    body = attributes() + harmony("C") + note("C4", 4) * 15_000
    data = score(f'<part id="P1"><measure>{body}</measure></part>').encode()
    assert said_by(data).startswith("it is longer than 128 bars or 2000 notes; ")


def test_the_longest_part_is_read_in_time() -> None:
    """128 bars of triplet eighths with symbols, the most that a phrase has."""
    bar = "".join(note(pitch, 2) for pitch in ("C4", "E4", "G4") * 4)
    data = score(part(*[harmony("C") + bar] * 128, first=attributes(divisions=6)))
    assert said_by(data.encode()) == "read"


def test_a_repeat_played_a_million_times_is_refused() -> None:
    """times=1000000 isn't a repeat."""
    repeat = '<barline><repeat direction="backward" times="1000000"/></barline>'
    data = score(part(harmony("C") + note("C4", 16) + repeat))
    assert "'1000000' isn't a whole number up to 16" in said_by(data.encode())
