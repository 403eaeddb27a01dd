"""Damaged files and tricks: each ends in a clear refusal or a right result.

Whatever is read here may raise BadInput and nothing else.
"""

from __future__ import annotations

import copy
import io
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
    zip_of,
    zipped,
)

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


@pytest.mark.parametrize(("kind", "rounds"), [("abc", 500), ("musicxml", 150), ("mxl", 150)])
def test_flipped_bits(kind: str, rounds: int) -> None:
    """800 seeded damages end in a reading or a refusal."""
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
    """Well-formed XML that makes no music ends in a reading or a refusal: 200 seeded ones."""
    for seed in range(200):
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
        ("META-INF/container.xml", "it isn't a MusicXML score but <container>"),
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
    two = zip_of({"one.xml": XML, "two.xml": XML})
    assert "no META-INF/container.xml, and 2 scores" in str(outcome(two))
    assert "and no scores" in str(outcome(zip_of({"readme.txt": b"x"})))
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
