"""``drillbox add`` in a real terminal asks step by step, and stores nothing half."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from tests.player.children import ended, pexpect, spawn

PROMPTS = (
    ("Title", "Back stairs"),
    ("Written key", "Bb"),
    ("Goal tempo", "132"),
    ("Meter", ""),
    ("Chart", "Cm7 F7 | Bbmaj7"),
    ("Double time", ""),
    ("Take it", "y"),
    ("Store it", "y"),
)


def test_add_asks_step_by_step(place: Path):
    """Each wrong answer is said at once and asked anew; the phrase is stored at the end."""
    child = spawn(place, "add")
    for prompt, answer in PROMPTS:
        child.expect(prompt)
        if prompt == "Written key":
            child.sendline("H")
            child.expect("isn't a key")
            child.expect(prompt)
        child.sendline(answer)
    child.expect("Stored 1 phrase")
    ended(child)


def test_a_title_that_is_taken_is_asked_for_again_at_once(kettle, place: Path):
    """Before anything else is typed; also where it only differs in case."""
    child = spawn(place, "add")
    child.expect("Title")
    child.sendline("blue STAIRS")
    child.expect(r"There is a phrase 'Blue stairs'\s+already. Choose another title")
    for prompt, answer in PROMPTS:
        child.expect(prompt)
        child.sendline(answer)
    child.expect("Stored 1 phrase")
    ended(child)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (("--title", "Blue stairs"), r"There is a phrase 'Blue\s+stairs' already"),
        (("--key", "Bb", "--chart", "Dm7 H7"), r"read\s+'H7'"),
        (("--tempo", "fast"), r"Tempo\s+'fast'"),
        (("--chart", "N.C."), r"no\s+chords"),
        (("--order", "sideways"), r"'sideways'"),
        (("--order", "own"), r"order\s+of\s+keys\s+is\s+empty"),
    ],
)
def test_what_was_given_and_is_wrong_is_refused_before_any_question(
    kettle, place: Path, given: tuple[str, ...], said: str
):
    """Nothing is asked for in vain."""
    child = spawn(place, "add", *given)
    child.expect([said, "Title: ", "Written key"])
    assert child.match_index == 0
    child.expect(pexpect.EOF)
    assert "Written key" not in (child.before or "")


@pytest.mark.usefixtures("made")
def test_a_chart_without_a_chord_is_asked_for_again_at_once(place: Path):
    """Nothing that was typed before is lost."""
    child = spawn(place, "add")
    for prompt, answer in PROMPTS:
        child.expect(prompt)
        if prompt.startswith("Chart"):
            child.sendline("N.C. | N.C.")
            child.expect("The chart has no chords")
            child.expect(prompt)
        child.sendline(answer)
    child.expect("Stored 1 phrase")
    ended(child)


@pytest.mark.parametrize("stop", range(len(PROMPTS)))
@pytest.mark.parametrize("end", ["\x03", "\x04"], ids=["ctrl-c", "end-of-file"])
def test_leaving_at_any_prompt_stores_nothing(place: Path, stop: int, end: str):
    """Ctrl-C and end of file, at each of the prompts: one line, code 130, no phrase."""
    child = spawn(place, "add")
    for prompt, answer in PROMPTS[:stop]:
        child.expect(prompt)
        child.sendline(answer)
    child.expect(PROMPTS[stop][0])
    child.send(end)
    child.expect("Stopped")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 130
    assert "Traceback" not in (child.before or "")
    if place.exists():
        with sqlite3.connect(place) as database:
            assert database.execute("SELECT count(*) FROM phrase").fetchone() == (0,)
        database.close()


def test_leaving_where_there_are_phrases_already_is_told_too(kettle, place: Path):
    """Though the store was opened for its titles before the first question."""
    child = spawn(place, "add")
    child.expect("Title")
    child.sendline("Red door")
    child.expect("Written key")
    child.send("\x03")
    child.expect("Stopped")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 130


UNTIMED = 'X:{0}\nT:{1}\nM:4/4\nL:1/8\n{2}K:C\n"Dm7"F4 "G7"G4|"C"E4 "(A7)"z4|\n'


def written(folder: Path, *tempi: str) -> str:
    """Write a file of tunes with these tempo fields and return its path."""
    path = folder / "lines.abc"
    tunes = [UNTIMED.format(n, f"Gate {n}", tempo) for n, tempo in enumerate(tempi, start=1)]
    path.write_text("\n".join(tunes), encoding="utf-8")
    return str(path)


@pytest.mark.usefixtures("made")
@pytest.mark.parametrize(
    ("tempi", "prompt"),
    [
        (("",), r"'Gate 1' has no tempo in the\s+file"),
        (("", "Q:1/4=90\n", ""), "2 tunes have no tempo"),
    ],
)
def test_a_tempo_that_a_file_lacks_is_asked_once(place: Path, tmp_path: Path, tempi, prompt: str):
    """For all its tunes at once, again after a wrong answer; a tune keeps a tempo of its own."""
    child = spawn(place, "add", written(tmp_path, *tempi))
    child.expect(prompt)
    child.sendline("fast")
    child.expect(prompt)
    child.sendline("150")
    child.expect(f"Stored {len(tempi)} phrase")
    ended(child)
    with sqlite3.connect(place) as database:
        found = database.execute("SELECT tempo FROM phrase ORDER BY id").fetchall()
    database.close()
    assert [tempo for (tempo,) in found] == [90 if each else 150 for each in tempi]


def test_no_tempo_is_asked_for_where_something_else_is_wrong(place: Path, tmp_path: Path):
    """A file that can't be used anyway isn't asked about."""
    path = Path(written(tmp_path, ""))
    path.write_text(path.read_text(encoding="utf-8").replace("G7", "G7?"), encoding="utf-8")
    child = spawn(place, "add", str(path))
    child.expect("can't be used")
    child.expect(pexpect.EOF)
    assert "Goal tempo" not in (child.before or "")


def test_no_tempo_is_asked_for_to_list_a_file(place: Path, tmp_path: Path):
    """Only its bars are shown."""
    child = spawn(place, "add", written(tmp_path, ""), "--list")
    child.expect("Gate 1")
    child.expect("Dm7")
    child.expect(pexpect.EOF)
