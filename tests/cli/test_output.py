"""Nothing that is printed drives the terminal, whoever wrote it: a file, a store, a server.

And a number goes with its noun.
"""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from drillbox.errors import StoreFailure
from drillbox.output import Outlet, broken, counted, harmless, outlets
from tests.player.children import pexpect, spawn

pytestmark = pytest.mark.usefixtures("made")

NASTY = {
    # The clipboard and the title (OSC), clearing (CSI), what overwrites.
    "codes": "\x1b]52;c;ZXZpbA==\x07\x1b]0;evil\x1b\\\x1b[2J\x08\x08\r\x7f",
    "8-bit codes": "\x9b2J\x9d52;c;ZXZpbA==\x9c\x90q\x9c",
    "marks": "\u202eevil\u202c\u2066evil\u2069\u200f\u200b\ufeff\u2060\U000e0065\ue000",
    "separators": "\u2028drillbox: evil\u2029drillbox: evil\x85drillbox: evil\x0bevil",
    "NUL": "a\x00b",
}
ALL = "".join(NASTY.values())
every_nasty = pytest.mark.parametrize("text", NASTY.values(), ids=NASTY)

ABC = 'X:1\nT:Tin\nM:4/4\nL:1/8\nQ:1/4=120\nK:C\n"Dm7"D4 "G7"G4|"C"c8|]\n'
SCORE = """<score-partwise><work><work-title>{title}</work-title></work>
<part-list><score-part id="P1"><part-name>{part}</part-name></score-part></part-list>
<part id="P1"><measure number="{number}"><attributes><divisions>1</divisions>
<key><fifths>0</fifths><mode>{mode}</mode></key><time><beats>{beats}</beats>
<beat-type>4</beat-type></time></attributes>
<harmony><root><root-step>{step}</root-step></root><kind text="{text}">{kind}</kind></harmony>
<note><pitch><step>C</step><octave>4</octave></pitch><duration>{length}</duration></note>
</measure></part></score-partwise>"""
USUAL = {
    "title": "Tin", "part": "Lead", "number": "1", "mode": "major", "beats": "4", "step": "C",
    "text": "maj7", "kind": "major-seventh", "length": "4",
}  # fmt: skip


def printed_well(*texts: str) -> bool:
    """Say whether all that was printed is signs, blanks and line ends."""
    return all(each.isprintable() or each == "\n" for text in texts for each in text)


@every_nasty
def test_every_field_of_an_abc_file(drillbox, tmp_path: Path, text: str) -> None:
    """Whether it is read, doubted or refused: header fields, chords, notes, its own name."""
    lines = ABC.splitlines()
    changed = [f"{line[:2]}{text}" if line[1] == ":" else line for line in lines]
    bad = [[*lines[:n], new, *lines[n + 1 :]] for n, new in enumerate(changed) if new != lines[n]]
    bad += [[*lines[:4], f"{name}:{text}", *lines[4:]] for name in "VCNRWPIUmsrw"]
    bad += [[*lines[:-1], f'"{text}"C4 {text} "G7"G4|"C"c8|]']]
    for number, each in enumerate(bad):
        file = tmp_path / f"tune {text.replace(chr(0), '')}{number}.abc"
        file.write_text("\n".join(each), "utf-8")
        ran = drillbox("add", str(file), "--dry-run")
        assert printed_well(ran.out, ran.err), each
        assert "evil\n" not in ran.err


@every_nasty
def test_every_field_of_a_musicxml_file(drillbox, tmp_path: Path, text: str) -> None:
    """Raw where XML allows it, as a character reference elsewhere."""
    for name in USUAL:
        for said in (text, "".join(f"&#{ord(each)};" for each in text)):
            file = tmp_path / "score.musicxml"
            file.write_text(SCORE.format(**{**USUAL, name: said}), "utf-8")
            ran = drillbox("add", str(file), "--tempo", "120", "--dry-run")
            assert printed_well(ran.out, ran.err), name


def test_whatever_is_typed(drillbox, kettle, tmp_path: Path) -> None:
    """Arguments and options come back in messages, usage errors among them."""
    text = ALL
    name = text.replace("\x00", "")
    chart = ("--chart", "Dm7 G7 | Cmaj7 (A7)")
    for arguments in (
        ("add", "--title", f"Tin {text} cup", "--key", "C", "--tempo", "120", *chart),
        ("add", "--title", "Tin", "--key", text, "--tempo", "120", *chart),
        ("add", "--title", "Tin", "--key", "C", "--tempo", text, *chart),
        ("add", "--title", "Tin", "--key", "C", "--tempo", "120", "--chart", text),
        ("add", "--title", "Tin", "--key", "C", "--tempo", "120", *chart, "--meter", text),
        ("add", str(tmp_path / f"{name}.abc")), ("show", text), ("round", text), ("retire", text),
        ("drill", "--minutes", text), ("settings", text), ("settings", "order", text), (text,),
        ("settings", "zone", text), (f"--{text}",), ("drill", f"--{text}"), ("store", text),
        ("store", "restore", name), ("store", "import", name), ("phrases",), ("summary",),
        ("store", "export", str(tmp_path / f"no {name}" / "x" / "y.json")),
        ("report", "--out", str(tmp_path / f"{name}.html")),
        ("loop", "1", "--out", str(tmp_path / f"{name}.mid")),
    ):  # fmt: skip
        ran = drillbox(*arguments)
        assert printed_well(ran.out, ran.err), arguments


def test_whatever_a_store_holds(kettle, place: Path, tmp_path: Path) -> None:
    """Titles and notes that came by an import or another program, on every screen and page."""
    text = ALL
    kettle("settings", "minutes", "1")  # short days are soon looked ahead over
    kettle("drill", "--minutes", "5", keys="c\nr\nq\n")
    with closing(sqlite3.connect(place)) as database, database:
        database.execute("UPDATE phrase SET title = ?", (f"Tin {text} cup",))
        database.execute("UPDATE card SET note = ?", (f"thumb {text} up",))
    for arguments in (
        ("phrases",), ("show", "Tin"), ("show", "1"), ("summary",), ("summary", "1"), ("progress",),
        ("settings",), ("store", "check"), ("store", "backup"), ("store", "list"), ("drill",),
        ("round", "1"), ("summary", "--json"), ("retire", "1"), ("retire", "1", "--back"),
        ("loop", "1", "--out", str(tmp_path / "loop.mid")), ("--plain", "phrases"),
        ("--ascii", "phrases"), ("--ascii", "drill"),
        ("store", "export", str(tmp_path / "out")), ("report", "--out", str(tmp_path / "r.html")),
    ):  # fmt: skip
        ran = kettle(*arguments, keys="h\nh\nh\nc\n?\nq\n")
        assert printed_well(ran.out, ran.err), arguments
    for name in ("out/attempts.csv", "r.html"):
        assert printed_well((tmp_path / name).read_text("utf-8")), name


def test_documents_and_names_of_files(drillbox, kettle, tmp_path: Path) -> None:
    """An import's values, and the name that the store itself has."""
    text = ALL
    export = tmp_path / "export.json"
    kettle("store", "export", str(export))
    document = json.loads(export.read_text("utf-8"))
    for path in (("format",), ("settings", text), ("phrases", 0, "key"), ("phrases", 0, "title")):
        changed = json.loads(json.dumps(document))
        within = changed
        for step in path[:-1]:
            within = within[step]
        within[path[-1]] = text
        (tmp_path / "changed.json").write_text(json.dumps(changed))
        ran = drillbox("store", "import", str(tmp_path / "changed.json"))
        assert printed_well(ran.out, ran.err), path
    elsewhere = tmp_path / f"store {text.replace(chr(0), '')}.sqlite3"
    for arguments in (("phrases",), ("store", "list"), ("store", "check"), ("store", "backup")):
        ran = drillbox("--store", str(elsewhere), *arguments)
        assert printed_well(ran.out, ran.err), arguments


@every_nasty
def test_a_servers_words(drillbox, monkeypatch: pytest.MonkeyPatch, text: str) -> None:
    """The detail of a server's message, and a line that a command prints by itself."""

    def fail(*_: object, **__: object) -> None:
        print(f"said {text}")
        raise StoreFailure(f"The server said: {text}", f"Ask it. {text}")

    monkeypatch.setattr("drillbox.store.opening.open_store", fail)
    ran = drillbox("phrases")
    assert printed_well(ran.out, ran.err)
    assert ran.err.startswith("drillbox: The server said: ")
    assert ran.err.count("\n") == 1


def test_signs_that_a_stream_lacks_are_told_by_others(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    """What can't be encoded becomes a question mark and no fault (PYTHONIOENCODING=ascii)."""
    assert harmless("thumb \N{THUMBS UP SIGN} up", "ascii") == "thumb ? up"
    assert harmless("C\N{MUSIC FLAT SIGN}\n", "latin-1") == "C?\n"
    assert harmless("so", "no such encoding") == "so"
    with (tmp_path / "out").open("w", encoding="ascii") as file:
        Outlet(file).writelines(["\N{THUMBS UP SIGN}", "\x1b[2J"])
    assert (tmp_path / "out").read_bytes() == b"?[2J"
    with outlets():
        print("\x1b[2J")
    assert capsys.readouterr().out == "[2J\n"


def test_what_is_indented_stays_so_where_it_is_broken():
    """As what is wrong with an answer, below its question."""
    assert broken("  'H' isn't a key. Write it as C.", 20) == "  'H' isn't a key.\n  Write it as C."


def test_what_is_told_is_broken_between_words_on_a_terminal(kettle, place: Path, tmp_path: Path):
    """On stderr and as a command's last line; a path stays whole, and in a pipe it is one line."""
    out = tmp_path / "a-name-with-hyphens-that-is-longer-than-the-line.mid"
    for words, said in (
        (("show", "nosuch thing"), "There is no phrase 'nosuch thing'. See drillbox phrases."),
        (("loop", "1", "--out", str(out)), f"Blue stairs in B♭ at 72, 0:57 min: {out}"),
        (("phrases", "nosuch"), "No phrase has all of these words. See them all:"),
    ):
        child = spawn(place, *words, size=(24, 40), NO_COLOR="1")
        child.expect(pexpect.EOF)
        lines = child.before.splitlines()
        assert " ".join(said.split()) in " ".join(lines)
        assert all(len(line) <= 40 for line in lines if line != str(out))
        out.unlink(missing_ok=True)
    assert kettle("show", "nosuch thing").err.count("\n") == 1


def test_one_is_singular_and_no_other_number_is():
    """Nought and many take the plural; thousands are set apart."""
    assert [counted(number, "more key") for number in (0, 1, 2, 1200)] == [
        "0 more keys", "1 more key", "2 more keys", "1,200 more keys",
    ]  # fmt: skip
