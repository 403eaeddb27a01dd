"""``drillbox add`` with MusicXML: an invented page of two parts, plain and compressed."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest

from drillbox.errors import ExitCode

PAGE = Path(__file__).parent / "tin_umbrella.musicxml"
CONTAINER = '<container><rootfiles><rootfile full-path="score.xml"/></rootfiles></container>'


def compressed(page: bytes) -> bytes:
    """Return a page as an .mxl archive."""
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("META-INF/container.xml", CONTAINER)
        archive.writestr("score.xml", page)
    return file.getvalue()


def changed(tmp_path: Path, old: str, new: str, name: str = "changed.musicxml") -> str:
    """Write the page with one thing changed and return its path."""
    text = PAGE.read_text(encoding="utf-8")
    assert old in text
    (tmp_path / name).write_text(text.replace(old, new), encoding="utf-8")
    return str(tmp_path / name)


@pytest.mark.usefixtures("made")
def test_a_transposing_part_comes_in_at_concert_pitch(drillbox):
    """The tenor's written D is concert C; chords, tempo, notes and turnaround are read."""
    ran = drillbox("--ascii", "add", str(PAGE), "--details")
    assert ran.code == ExitCode.OK
    assert "drillbox:" not in ran.err  # a slow machine may tell how far it is
    assert "Tin umbrella\nkey C - 4/4 - goal 144 - 11 notes\n" in ran.out
    assert "  C    Dm7 G7b9 | Cmaj7 (A7)\n  F    Gm7 C7b9 | Fmaj7 (D7)\n" in ran.out
    assert "Stored 1 phrase in twelve keys; 1 to check, above." in ran.out
    assert "only part Tenor Saxophone is read; --part takes another: Bass" in ran.err
    shown = drillbox("--ascii", "show", "tin").out
    assert "over Dm7 F is b3, a target; A is 5; C is b7; E is 9" in shown
    assert "over G7b9 D is 5; B is 3, a target; Ab is b9; F is b7" in shown


@pytest.mark.usefixtures("made")
def test_the_tenor_player_reads_it_as_it_stands_on_the_page(drillbox):
    """MusicXML carries its transposition: nothing is moved twice, and D is shown."""
    drillbox("settings", "instrument", "tenor sax")
    ran = drillbox("--ascii", "add", str(PAGE), "--details")
    assert "Read as written" not in ran.err
    assert "  D    Em7 A7b9 | Dmaj7 (B7)\n" in ran.out
    out = drillbox("--ascii", "drill", keys="h\nh\nh\n").out
    assert "bar 1  Em7: G B D F#; A7b9: E C# Bb G" in out


def test_an_archive_is_the_same_as_its_page(drillbox, tmp_path: Path):
    """Byte for byte the same is said of the .mxl and of the page in it."""
    (tmp_path / "tin.mxl").write_bytes(compressed(PAGE.read_bytes()))
    plain = drillbox("add", str(PAGE), "--details", "--dry-run")
    packed = drillbox("add", str(tmp_path / "tin.mxl"), "--details", "--dry-run")
    assert packed.code == ExitCode.OK
    assert packed.out == plain.out


def test_a_named_part_is_read_with_the_symbols_of_the_other(drillbox):
    """The bass part has eight notes, sounds as written, and borrows the chord symbols."""
    ran = drillbox("--ascii", "add", str(PAGE), "--details", "--part", "Bass", "--dry-run")
    assert ran.code == ExitCode.OK
    assert "8 notes" in ran.out
    assert "  C    Dm7 G7b9 | Cmaj7 (A7)\n" in ran.out
    assert "check: the chord symbols are those of part Tenor Saxophone" in ran.err


def test_a_part_that_is_not_there_is_refused_with_those_that_are(drillbox, place: Path):
    """One line, and no store."""
    ran = drillbox("add", str(PAGE), "--part", "Oboe")
    assert ran.code == ExitCode.BAD_INPUT
    assert "'Oboe'" in ran.err
    assert "Tenor Saxophone, Bass" in ran.err
    assert not place.exists()


@pytest.mark.usefixtures("made")
def test_a_file_of_one_tune_takes_another_title(drillbox):
    """The same page twice, the second time under a title of the player's own."""
    assert drillbox("add", str(PAGE)).code == ExitCode.OK
    again = drillbox("add", str(PAGE))
    assert again.code == ExitCode.BAD_INPUT
    assert "another title with --title" in again.err
    assert drillbox("add", str(PAGE), "--title", "Copper umbrella").code == ExitCode.OK
    assert "Copper umbrella" in drillbox("phrases").out


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        (">dominant<", ">dominnt<", "'dominnt' is not one of MusicXML's"),
        ("<step>G</step>", "<step>H</step>", "measure 1"),
        ("<duration>4</duration>", "<duration>5</duration>", "adds up to 4 1/2 quarter notes"),
        ("<duration>4</duration>", "<duration>-4</duration>", "measure 2"),
        ("</score-partwise>", "", "changed.musicxml"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_is_stored(
    drillbox, tmp_path: Path, place: Path, old: str, new: str, said: str
):
    """A kind, a step, a bar sum, a negative length, a page that breaks off."""
    ran = drillbox("add", changed(tmp_path, old, new))
    assert ran.code == ExitCode.BAD_INPUT
    assert said in ran.err
    assert "Traceback" not in ran.err
    assert not place.exists()


@pytest.mark.usefixtures("made")
def test_what_a_page_lacks_can_be_given(drillbox, tmp_path: Path):
    """Without a tempo it is refused and says how to give one; then it is taken."""
    bare = changed(tmp_path, '<sound tempo="144"/>', "")
    text = Path(bare).read_text(encoding="utf-8")
    start, end = text.index("<direction-type><metronome>"), text.index("</metronome>")
    Path(bare).write_text(
        text[:start] + "<direction-type><words>swing</words>" + text[end + len("</metronome>") :],
        encoding="utf-8",
    )
    refused = drillbox("add", bare)
    assert refused.code == ExitCode.BAD_INPUT
    assert "add one with --tempo" in refused.err
    ran = drillbox("--ascii", "add", bare, "--tempo", "100")
    assert ran.code == ExitCode.OK, ran.err
    assert "goal 100" in ran.out
