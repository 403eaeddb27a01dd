"""Files made to harm: each ends in a clear refusal or a right result, quickly and small.

Whatever is read here may raise BadInput and nothing else.
"""

from __future__ import annotations

import copy
import io
import json
import os
import random
import subprocess
import sys
import textwrap
import zipfile
from pathlib import Path
from xml.etree import ElementTree

import pytest

from drillbox.errors import BadInput
from drillbox.notation import Reading, read_bytes, write_abc
from tests.notation.pages import HEAD
from tests.notation.scores import (
    CONTAINER,
    attributes,
    degree,
    harmony,
    note,
    part,
    score,
    zipped,
)

SECONDS, MEGABYTES = 5, 300

ABC = (
    HEAD
    + 'G2|:"Cm7"E2!accent!G2 (3BAG "F7"^F=F-|[1F2 "F7/A"A4 {cd}z2:|'
    + '[2"Bb6"[DFB]4- B>A C2|"(G7)"B,6|]'
    + "\n\nX:2\nT:Other\nM:3/4\nL:1/4\nQ:3/8=60\nK:D dor\n"
    + '"Dm7"D2 E|V:2\nF3|\n'
).encode()
XML = score(
    part(
        harmony("C", "minor-seventh") + note("Eb4", 8) + note("G4", 8),
        harmony("F", "dominant", degree(9, -1, "add"))
        + note("A4", 8, "<notations><articulations><accent/></articulations></notations>")
        + note("C5", before="<grace/>")
        + note("Eb5", 8, '<tie type="start"/>'),
        '<barline location="left"><repeat direction="forward"/></barline>'
        + harmony("Bb", "major-seventh")
        + note("Eb5", 8, '<tie type="stop"/>')
        + "<backup><duration>4</duration></backup><forward><duration>4</duration></forward>"
        + note("D5", 8)
        + '<barline location="right"><repeat direction="backward"/></barline>',
        first=attributes(fifths=-2, more="<transpose><chromatic>-2</chromatic></transpose>"),
    )
).encode()
FILES = {"abc": ABC, "musicxml": XML, "mxl": zipped(XML)}


def outcome(data: bytes) -> Reading | BadInput:
    """Read a file; anything but a Reading or a BadInput fails the test."""
    try:
        reading = read_bytes(data, "hostile")
    except BadInput as refused:
        return refused
    for tune in reading.tunes:
        assert (tune.phrase is None) is bool(tune.problems)
        if tune.phrase is not None:
            assert all(bar.spans for bar in tune.phrase.chart.bars)
    return reading


@pytest.mark.parametrize("kind", FILES)
def test_the_whole_files_are_read(kind: str) -> None:
    """The files that the next tests damage are sound: their first tune is read."""
    reading = outcome(FILES[kind])
    assert isinstance(reading, Reading)
    assert reading.tunes[0].phrase is not None, reading.tunes[0].problems
    assert write_abc(reading.tunes[0].phrase)


@pytest.mark.parametrize("kind", FILES)
def test_truncated_files(kind: str) -> None:
    """Cut at every sixteenth; XML and archives are then refused, ABC tells what it lacks."""
    data = FILES[kind]
    for sixteenth in range(1, 16):
        read = outcome(data[: len(data) * sixteenth // 16])
        if kind != "abc":
            assert isinstance(read, BadInput)


def flipped(data: bytes, seed: int) -> bytes:
    """Return the file with one to eight of its bits flipped."""
    chance = random.Random(seed)
    damaged = bytearray(data)
    for _ in range(chance.randint(1, 8)):
        damaged[chance.randrange(len(damaged))] ^= 1 << chance.randrange(8)
    return bytes(damaged)


@pytest.mark.parametrize(("kind", "rounds"), [("abc", 1500), ("musicxml", 400), ("mxl", 400)])
def test_flipped_bits(kind: str, rounds: int) -> None:
    """2,300 seeded damages end in a reading or a refusal."""
    for seed in range(rounds):
        outcome(flipped(FILES[kind], seed))


@pytest.mark.slow
@pytest.mark.parametrize("kind", FILES)
def test_flipped_bits_at_length(kind: str) -> None:
    """The same with 20,000 damages of each format."""
    for seed in range(10_000, 30_000):
        outcome(flipped(FILES[kind], seed))


ODD = ["", "0", "-1", "NaN", "inf", "1e99", "9" * 400, "0.1", "½", "x", "3", "16", "start", "é"]


def mutated(seed: int) -> bytes:
    """Return the score with some elements lost, doubled, moved or given odd contents."""
    chance = random.Random(seed)
    root = ElementTree.fromstring(XML)
    for _ in range(chance.randint(1, 6)):
        parents = [each for each in root.iter() if len(each)]
        parent = chance.choice(parents)
        child = chance.choice(list(parent))
        match chance.randrange(5):
            case 0:
                parent.remove(child)
            case 1:
                parent.insert(chance.randrange(len(parent)), copy.deepcopy(child))
            case 2:
                chance.choice(parents).append(copy.deepcopy(child))
            case 3:
                child.text = chance.choice(ODD)
            case _:
                for name in child.attrib:
                    child.set(name, chance.choice(ODD))
    return ElementTree.tostring(root)


def test_mutated_scores() -> None:
    """Well-formed XML that makes no music ends in a reading or a refusal: 600 seeded ones."""
    for seed in range(600):
        outcome(mutated(seed))


@pytest.mark.slow
def test_mutated_scores_at_length() -> None:
    """The same with 20,000."""
    for seed in range(10_000, 30_000):
        outcome(mutated(seed))


@pytest.mark.parametrize("seed", range(3))
def test_shuffled_signs_of_abc(seed: int) -> None:
    """Any sequence of ABC's signs ends in a reading or a refusal."""
    chance = random.Random(seed)
    signs = "|:[]\"(){}<>-^_=zZxyABcdef,'/0123456789~.!+&%\\ \n"
    for _ in range(300):
        outcome((HEAD + "".join(chance.choices(signs, k=120))).encode())


READ = textwrap.dedent(
    """
    import json, resource, sys, time
    from drillbox.errors import BadInput
    from drillbox.notation import Limits, read_bytes
    limits = Limits(bytes=int(sys.argv[1]))
    def peak():
        # Linux keeps the parent's peak in ru_maxrss over fork, but not in VmHWM.
        if sys.platform == "linux":
            found = [line for line in open("/proc/self/status") if line.startswith("VmHWM")]
            return int(found[0].split()[1]) / 1024
        return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024 / 1024
    data, began, said = sys.stdin.buffer.read(), time.monotonic(), []
    try:
        for tune in read_bytes(data, "hostile", limits=limits).tunes:
            said += [each.text for each in tune.problems] or ["read"]
    except BadInput as refused:
        said.append(refused.line())
    print(json.dumps([said[:3], time.monotonic() - began, peak()]))
    """
)


def said_by(data: bytes, most: int = 2_000_000) -> str:
    """Read in a process of its own, within time and memory; return what was said first."""
    pytest.importorskip("resource")
    done = subprocess.run(
        [sys.executable, "-c", READ, str(most)], input=data, capture_output=True, check=True
    )
    said, seconds, megabytes = json.loads(done.stdout)
    assert seconds < SECONDS
    assert megabytes < MEGABYTES
    assert all(len(each) < 1000 for each in said)
    return str(said[0])


def zip_of(members: dict[str, bytes]) -> bytes:
    """Return a zip archive of these members."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return file.getvalue()


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
    assert said_by(data) == "it is longer than 128 bars or 2000 notes"


def test_the_longest_part_is_read_in_time() -> None:
    """128 bars of triplet eighths with symbols, the most that a phrase has."""
    bar = "".join(note(pitch, 2) for pitch in ("C4", "E4", "G4") * 4)
    data = score(part(*[harmony("C") + bar] * 128, first=attributes(divisions=6)))
    assert said_by(data.encode()) == "read"


def test_a_repeat_played_a_million_times_is_refused() -> None:
    """times=1000000 is no repeat."""
    repeat = '<barline><repeat direction="backward" times="1000000"/></barline>'
    data = score(part(harmony("C") + note("C4", 16) + repeat))
    assert "'1000000' is no whole number up to 16" in said_by(data.encode())


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("../../../../etc/hostname", "names a score outside itself"),
        ("/etc/hostname", "names a score outside itself"),
        ("..\\..\\secret.xml", "names a score outside itself"),
        ("\\\\server\\share\\x.xml", "names a score outside itself"),
        ("C:\\secret.xml", "the archive lacks"),
        ("missing.xml", "the archive lacks 'missing.xml'"),
        ("", "the archive lacks ''"),
        ("META-INF/container.xml", "it is no MusicXML score but <container>"),
    ],
)
def test_path_tricks_in_an_archive(name: str, said: str) -> None:
    """A container can only name the archive's own members, and nothing is unpacked."""
    members = {"META-INF/container.xml": CONTAINER.format(name=name).encode(), "score.xml": XML}
    read = outcome(zip_of(members))
    assert isinstance(read, BadInput)
    assert said in read.what


def test_members_with_outside_names_are_never_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An archive whose members climb out of it leaves no file anywhere near."""
    inside = tmp_path / "a" / "b"
    inside.mkdir(parents=True)
    data = zip_of({"META-INF/container.xml": CONTAINER.format(name="s.xml").encode(),
                   "../evil.txt": b"x", "../../evil.txt": b"x", "s.xml": XML})  # fmt: skip
    monkeypatch.chdir(inside)
    assert isinstance(outcome(data), Reading)
    assert [path.name for path in tmp_path.rglob("*") if path.is_file()] == []


def test_odd_archives_are_refused() -> None:
    """Without container, encrypted, compressed in another way, or an archive in an archive."""
    assert "lacks 'META-INF/container.xml'" in str(outcome(zip_of({"score.xml": XML})))
    encrypted = bytearray(zipped(XML))
    for start in (b"PK\x03\x04", b"PK\x01\x02"):
        at = 0
        while (at := encrypted.find(start, at)) >= 0:
            encrypted[at + (6 if start == b"PK\x03\x04" else 8)] |= 1
            at += 4
    assert "damaged" in str(outcome(bytes(encrypted)))
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_LZMA) as archive:
        archive.writestr("META-INF/container.xml", CONTAINER.format(name="s.xml"))
    assert "not compressed as .mxl files are" in str(outcome(packed.getvalue()))
    assert isinstance(outcome(zipped(zipped(XML))), BadInput)


PLANT = textwrap.dedent(
    """
    import os, pathlib, pickle, sys, zlib
    from music21 import converter
    from drillbox.notation import read_bytes
    score, marker, temporary = map(pathlib.Path, sys.argv[1:])

    class Plant:
        def __reduce__(self):
            return pathlib.Path.touch, (marker,)

    filed = pathlib.Path(converter.PickleFilter(score).getPickleFp(zipType="gz"))
    filed.parent.mkdir(parents=True, exist_ok=True)
    filed.write_bytes(zlib.compress(pickle.dumps(Plant())))
    os.utime(filed, (2**31, 2**31))
    before = sorted(temporary.rglob("*"))
    assert read_bytes(score.read_bytes(), str(score)).tunes[0].phrase
    print(marker.exists(), sorted(temporary.rglob("*")) == before)
    try:
        converter.parse(score)
    except Exception:
        pass
    print(marker.exists())
    """
)


def test_a_planted_pickle_is_neither_read_nor_written(tmp_path: Path) -> None:
    """music21's cache in the temporary directory is left alone.

    The last line is the control: music21's own way to open a file does run the plant.
    """
    file, marker, temporary = tmp_path / "s.musicxml", tmp_path / "ran", tmp_path / "temporary"
    temporary.mkdir()
    file.write_bytes(XML)
    done = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", PLANT, str(file), str(marker), str(temporary)],
        env={**os.environ, "TMPDIR": str(temporary), "HOME": str(tmp_path)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout.split() == ["False", "True", "True"], done.stderr
