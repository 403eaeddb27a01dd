"""ABC files as text: encodings, tunes, what belongs to them."""

from __future__ import annotations

import pytest

from drillbox.errors import BadInput
from drillbox.notation import read_bytes
from drillbox.notation.abc_reading import decoded_text, split_tunes
from tests.notation.pages import HEAD, chords, doubts, problems, tune

TITLED = HEAD.replace("Test", "Für Ω")


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_unicode_files_are_read_with_and_without_byte_order_mark(encoding: str) -> None:
    """The same tune in three encodings gives the same title, without doubt."""
    (read,) = read_bytes((TITLED + '"C"C8|').encode(encoding), "x.abc").tunes
    assert (read.title, read.problems, read.doubts) == ("Für Ω", (), ())


def test_latin_1_is_read_with_a_doubt_that_names_the_line() -> None:
    """Text that isn't UTF-8 is taken for Latin-1, and the player is told."""
    text = HEAD.replace("Test", "Für") + '"C"C8|'
    (read,) = read_bytes(text.encode("latin-1"), "x.abc").tunes
    assert read.title == "Für"
    assert doubts(read) == ["line 2 is not UTF-8; the file is read as Latin-1"]


def test_a_named_encoding_is_used_and_a_wrong_one_refused() -> None:
    """abc-charset says how to read the file; what doesn't fit it is refused."""
    assert decoded_text("%%abc-charset iso-8859-1\nT:Für".encode("latin-1"))[0].endswith("Für")
    with pytest.raises(BadInput, match="not in the encoding that the file names, utf-8"):
        decoded_text("I:abc-charset utf-8\nT:Für".encode("latin-1"))


@pytest.mark.parametrize("encoding", ["undefined", "punycode", "rot13", "utf-16", "nosuch"])
def test_an_encoding_that_no_abc_file_is_in_is_refused(encoding: str) -> None:
    """Python decodes more than text files are written in; a megabyte takes some of it hours."""
    text = f"%%abc-charset {encoding}\nX:1\nT:{'a' * 1_000_000}-{'b' * 100}\n"
    with pytest.raises(BadInput, match=f"not in the encoding that the file names, {encoding}"):
        decoded_text(text.encode())


@pytest.mark.parametrize(
    ("data", "what"),
    [
        (b"", "x is empty"),
        (b" \r\n\n", "x is empty"),
        (b"\x00\x01\x02MThd", "x: this isn't a text file"),
        (b"just a letter to a friend", "x: no tune was found"),
        (b"\xff\xfe\x00", "x: the text is not in the encoding"),
    ],
)
def test_what_is_no_tune_is_refused(data: bytes, what: str) -> None:
    """Empty, binary and unmusical files are refused by name."""
    with pytest.raises(BadInput, match=what):
        read_bytes(data, "x")


def test_a_file_holds_many_tunes_and_a_header_for_all() -> None:
    """Fields before the first X: serve every tune; each keeps its own line numbers."""
    head, music = "T:%s\nM:4/4\nQ:1/4=120\nK:C\n", '"C"C4|\n\n'
    text = "L:1/4\n\nX:1\n" + head % "A" + music + "free text\n\nX:2\n" + head % "B" + music
    one, two = read_bytes(text.encode(), "x.abc").tunes
    assert [each.title for each in (one, two)] == ["A", "B"]
    assert [each.index for each in (one, two)] == [1, 2]
    assert all(each.phrase and chords(each.phrase.chart) == "C:4" for each in (one, two))


def test_an_empty_line_ends_a_tune_and_music_behind_it_is_doubted() -> None:
    """Music after an empty line isn't the tune's (ABC 2.1, section 2.2), which is said."""
    read = tune('"C"C8|\n\n"F"F8|\n')
    assert read.phrase is not None
    assert len(read.phrase.chart.bars) == 1
    assert doubts(read) == ["line 9, column 1: what follows an empty line is not part of the tune"]


def test_comments_and_text_blocks_are_no_music() -> None:
    """Remarks, stylesheet lines and text blocks are passed over, in header and music."""
    music = '"C"C4 % half a bar | "G7"\n% nothing\n%%vskip 1\n%%begintext\nA|B|\n%%endtext\nD4|\n'
    read = tune(music)
    assert problems(read) == doubts(read) == []
    assert read.phrase is not None
    assert chords(read.phrase.chart) == "C:4"


def test_a_tune_without_number_is_read() -> None:
    """One tune without X: but with K: is read all the same."""
    assert len(split_tunes("T:a\nK:C\nC8|")) == 1


def test_too_many_tunes_are_refused() -> None:
    """More tunes than the limit are refused before any is read."""
    with pytest.raises(BadInput, match="holds 501 tunes; 500 are read"):
        read_bytes(b"X:1\nK:C\nC\n\n" * 501, "x.abc")
