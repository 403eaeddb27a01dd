"""``drillbox add`` of a file of many tunes: a line each, the doubtful last; and given keys."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

from drillbox.cli import run
from drillbox.errors import ExitCode
from tests.player.children import ended, spawn

TUNE = """X:{number}
T:{title}
M:4/4
L:1/8
Q:1/4=120
K:C
{music}

"""
SOUND = '"Dm7"d2f2 "G7"b2g2 | "Cmaj7"e4 "A7"c4 |'
TIED = '"Dm7"d2f2 "G7"b2g2 | "Cmaj7"e4 "A7"c4- |'


@pytest.fixture
def many(tmp_path: Path) -> Path:
    """Return a file of three tunes, the first of them doubtful."""
    file = tmp_path / "lines.abc"
    tunes = {"Loose end": TIED, "Tin roof": SOUND, "Blue door": SOUND}
    file.write_text(
        "%abc-2.1\n"
        + "".join(
            TUNE.format(number=number, title=title, music=music)
            for number, (title, music) in enumerate(tunes.items(), start=1)
        )
    )
    return file


@pytest.mark.usefixtures("made")
def test_a_file_is_listed_a_line_each_the_doubtful_last(drillbox, many: Path):
    """They are counted at the end; --details shows each in all its keys."""
    ran = drillbox("add", str(many))
    lines = [line for line in ran.out.splitlines() if "goal 120" in line]
    assert lines[-1].startswith("Loose end: key C")
    assert len(lines) == 3
    assert "Stored 3 phrases in twelve keys; " in ran.out
    assert "check: the tie" in ran.err
    again = drillbox("add", str(many), "--dry-run", "--keep-good", "--details")
    assert "In twelve keys" not in again.out
    assert "skipped" in again.err


@pytest.mark.usefixtures("made")
def test_turnarounds_of_many_are_told_in_one_line(drillbox, tmp_path: Path):
    """Five of the phrases are named, with what declines them all."""
    file = tmp_path / "many.abc"
    bare = '"Dm7"d2f2 "G7"b2g2 | "Cmaj7"e8 |'
    tunes = (TUNE.format(number=n, title=f"Line {n}", music=bare) for n in range(1, 8))
    file.write_text("%abc-2.1\n" + "".join(tunes))
    ran = drillbox("add", str(file))
    assert [line for line in ran.err.splitlines() if "urnaround" in line] == [
        "Turnarounds added to Line 1, Line 2, Line 3, Line 4, Line 5 and 2 more"
        " (--no-turnaround declines them)"
    ]


@pytest.mark.usefixtures("made")
def test_details_show_every_key(drillbox, many: Path):
    """Once for each tune."""
    assert drillbox("add", str(many), "--details").out.count("In twelve keys") == 3


@pytest.mark.parametrize(
    ("adding", "listing", "each"),
    [(("add", "--details"), ("phrases",), "goal 120"), (("tune", "add"), ("tune", "list"), "no. ")],
)
def test_storing_does_not_wait_for_a_reader(
    drillbox, many: Path, place: Path, monkeypatch, adding: list[str], listing: list[str], each: str
):
    """All is stored though who reads the output takes nothing of it and goes."""
    reading, writing = os.pipe()
    os.close(reading)
    with os.fdopen(writing, "w") as gone, monkeypatch.context() as patch:
        patch.setattr(sys, "stdout", gone)
        assert run(["--store", str(place), *adding, str(many)]) == ExitCode.INTERNAL
    assert drillbox(*listing).out.count(each) == 3


@pytest.mark.usefixtures("made")
def test_a_chart_that_moves_as_minor_is_said(drillbox):
    """Without a terminal in one line, with the option that takes it."""
    given = ("add", "--title", "Late kettle", "--key", "C", "--tempo", "120", "--chart")
    ran = drillbox(*given, "Dm7b5 G7 | Cm6")
    assert "You said C, but the chords of 'Late kettle' are in Cm (--key Cm, if that" in ran.err
    other = drillbox("add", "--title", "Tin roof", "--key", "C", "--tempo", "120",
                     "--chart", "Cm7 F7 | Bbmaj7 G7")  # fmt: skip
    assert "chords are in" not in other.err


@pytest.mark.usefixtures("made")
def test_a_chart_that_moves_as_minor_is_asked_about_in_a_terminal(drillbox, place: Path):
    """A yes takes the minor key."""
    child = spawn(place, "add", "--title", "Late kettle", "--key", "C", "--tempo", "120",
                  "--chart", "Dm7b5 G7 | Cm6", "--no-turnaround")  # fmt: skip
    child.expect(r"kettle'\s+are in Cm")
    child.expect("Take it as Cm")
    child.sendline("y")
    child.expect("Stored 1 phrase")
    ended(child)
    assert "key Cm" in drillbox("phrases").out


MINOR = """X:{0}
T:{1}
M:4/4
L:1/8
Q:1/4=120
K:C
"Dm7b5"d2f2 "G7"b2g2 | "Cm6"e4 "G7"d4 |

"""


FLAT = """X:1
T:Far stone
M:4/4
L:1/8
Q:1/4=120
K:Db
"Ebm7b5"e2g2 "Ab7"c2a2 | "Dbm6"f4 "Ab7"e4 |
"""


@pytest.fixture
def moving(tmp_path: Path) -> str:
    """Return a file with one tune in C that moves as C minor."""
    (tmp_path / "cut.abc").write_text(MINOR.format(1, "Cut stone"))
    return str(tmp_path / "cut.abc")


@pytest.mark.usefixtures("made")
def test_a_tempo_given_is_the_goal_of_all_that_a_file_holds(drillbox, many: Path):
    """The player's word counts, also over a tempo that can't be used or changes."""
    assert drillbox("add", str(many), "--tempo", "99").code == ExitCode.OK
    assert drillbox("phrases").out.count("goal 99") == 3
    many.write_text(TUNE.format(number=1, title="Fast lane", music=SOUND + "\nQ:1/4=80\n" + SOUND)
                    .replace("Q:1/4=120", "Q:1/4=500"))  # fmt: skip
    ran = drillbox("add", str(many), "--tempo", "98")
    assert "goal 98" in ran.out
    assert "tempo" not in ran.err


@pytest.mark.usefixtures("made")
def test_a_tempo_asked_for_fills_a_gap_only(drillbox, tmp_path: Path, place: Path):
    """The tune that has its own keeps it."""
    second = MINOR.format(2, "Wet stone").replace("Q:1/4=120\n", "")
    (tmp_path / "two.abc").write_text(MINOR.format(1, "Cut stone") + second)
    child = spawn(place, "add", str(tmp_path / "two.abc"))
    child.expect(r"'Wet stone' has no tempo in\s+the file")
    child.sendline("88")
    child.expect("Stored 2 phrases")
    ended(child)
    listed = drillbox("phrases").out
    assert "goal 120" in listed
    assert "goal 88" in listed


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (("--meter", "3/4"), "'Cut stone' is in 4/4, and --meter says 3/4. Leave --meter out"),
        (("--key", "F"), "'Cut stone' is in C, and --key says F. Leave --key out"),
        (("--key", "Eb", "--tempo", "99"), "'Cut stone' is in C, and --key says Eb"),
    ],
)
def test_what_contradicts_the_file_is_refused(drillbox, moving: str, place: Path, given, said):
    """In one line that names file and tune, and nothing is stored."""
    ran = drillbox("add", moving, *given)
    assert ran.code == ExitCode.BAD_INPUT
    assert ran.err.startswith(f"drillbox: cut.abc: {said}")
    assert ran.err.count("\n") == 1
    assert not place.exists()


@pytest.mark.usefixtures("made")
@pytest.mark.parametrize(
    ("key", "said"), [("Cm", "key Cm"), ("C", "key C"), ("Am", "key Am"), ("C dor", "key C Dorian")]
)
def test_a_file_is_taken_in_the_key_that_its_notes_are_in(drillbox, moving: str, key, said):
    """Another mode on its tonic, or another key of its signature; its notes stay."""
    ran = drillbox("--ascii", "add", moving, "--key", key, "--meter", "4/4", "--details")
    assert ran.code == ExitCode.OK, ran.err
    assert f"{said} - 4/4" in ran.out
    assert "Dm7b5 G7 | Cm6 G7" in ran.out


def test_a_file_may_be_said_to_run_in_double_time(drillbox, moving: str):
    """Also where it doesn't say so itself."""
    assert "double time" not in drillbox("add", moving, "--dry-run", "--details").out
    ran = drillbox("add", moving, "--dry-run", "--details", "--double-time")
    assert "double time" in ran.out, ran.err


@pytest.mark.usefixtures("made")
def test_a_file_that_moves_as_minor_says_how_to_take_it_so(drillbox, moving: str):
    """Once it is taken so, there is nothing to check."""
    option = "its key is C, but its chords are in Cm (--key Cm, if that is meant)"
    for look in (("add", "--dry-run"), ("add", "--list"), ("tune", "add", "--dry-run")):
        assert option in drillbox(*look, moving).err
        ran = drillbox(*look, moving, "--key", "Cm")
        assert "key Cm" in ran.out
        assert "chords are in" not in ran.err


def test_the_key_that_is_said_to_be_meant_is_taken(drillbox, tmp_path: Path):
    """It is the one on the page, however that sounds, and may have another letter."""
    file = tmp_path / "far.abc"
    music = MINOR.format(1, "Far stone").replace("K:C\n", "K:C transpose=1\n")
    assert "transpose=1" in music
    for page, own, meant in (
        (music, "C", "Cm"),
        (FLAT, "Db", "C#m"),
    ):
        file.write_text(page)
        said = drillbox("--ascii", "add", str(file), "--dry-run").err
        assert f"its key is {own}, but its chords are in {meant} (--key {meant}," in said
        ran = drillbox("--ascii", "add", str(file), "--dry-run", "--key", meant, "--details")
        assert (ran.code, "chords are in" in ran.err) == (ExitCode.OK, False), ran.err
        assert "key C#m - 4/4" in ran.out
        assert "  C#m  D#m7b5 G#7 | C#m6 G#7\n" in ran.out


DORIAN = """%abc-2.1
X:1
T:Grey quay
M:4/4
L:1/8
Q:1/4=120
K:DDor
"Dm7"FAce dcAF | "G7"GBdf edBG | "Dm7"A2c2 e2d2 | "Em7"e2d2 BGED |
"""


@pytest.mark.usefixtures("made")
def test_a_mode_is_kept_all_the_way(drillbox, tmp_path):
    """Stored, shown in its twelve keys, chosen by name, on screens, exported and read back."""
    (tmp_path / "quay.abc").write_text(DORIAN)
    assert "key D Dorian" in drillbox("add", str(tmp_path / "quay.abc")).out
    drillbox("settings", "minutes", "1")  # short days are soon looked ahead over
    shown = drillbox("--ascii", "show", "grey").out
    assert "function i (Dorian), targets b3, scale Dorian" in shown
    assert "key C# Dorian, tempo -" in shown
    drilled = drillbox("drill", "--key", "Eb dor", keys="c\n")
    assert "Grey quay in E♭ Dorian: clean" in drilled.out
    assert drillbox("drill", "--key", "Dm", keys="c\n").code == ExitCode.BAD_INPUT
    summed = drillbox("summary").out
    assert "key E♭ Dorian, verdict" in summed
    assert "E♭ Dorian climbing" in summed
    assert "key E♭ Dorian" in drillbox("summary", "--key", "eb dorian").out
    drillbox("store", "export", str(tmp_path / "out"))
    assert "\nK:D Dorian transpose=0\n" in (tmp_path / "out" / "phrases.abc").read_text()
    other = ("--store", str(tmp_path / "other.sqlite3"))
    read = drillbox(*other, "add", str(tmp_path / "out" / "phrases.abc"), "--dry-run").out
    assert "key D Dorian" in read
    drillbox(*other, "store", "import", str(tmp_path / "out" / "drillbox.json"))
    assert drillbox(*other, "phrases").out == drillbox("phrases").out
    assert drillbox("report", "--out", str(tmp_path / "r.html")).code == ExitCode.OK


@pytest.mark.usefixtures("made")
def test_a_key_that_no_signature_holds_stops_the_dry_run_too(drillbox, tmp_path: Path):
    """K:Dbm is refused with its line before anything is stored; the good tune can be kept."""
    file = tmp_path / "two.abc"
    good = TUNE.format(number=1, title="Tin roof", music=SOUND)
    file.write_text(
        good + TUNE.format(number=2, title="Far off", music=SOUND).replace("K:C", "K:Dbm")
    )
    for more in (["--dry-run"], []):
        ran = drillbox("add", str(file), *more)
        assert ran.code == ExitCode.BAD_INPUT
        assert "two.abc:14:1: Far off: Dbm would need more accidentals" in ran.err
    assert "Stored 1 phrase" in drillbox("add", str(file), "--keep-good").out
    assert drillbox("tune", "add", str(file)).code == ExitCode.BAD_INPUT


def test_bars_in_a_far_key_of_a_transposing_tune_are_written_in_a_near_one(
    drillbox, tmp_path: Path
):
    """A trumpet's page in F that moves to G flat: what is taken there is in E, chords and all."""
    file = tmp_path / "far.abc"
    music = '"F"F8 | [K:Gb transpose=-2]"Gbmaj7"G8 |'
    file.write_text(
        TUNE.format(number=1, title="Far off", music=music).replace("K:C", "K:F transpose=-2")
    )
    ran = drillbox("--ascii", "add", str(file), "--bars", "2", "--dry-run", "--details")
    assert (ran.code, "key E - 4/4" in ran.out, "Fb" in ran.out) == (ExitCode.OK, True, False)


def test_a_line_that_plays_on_gets_no_turnaround_and_that_is_said(drillbox, tmp_path: Path):
    """Its D flat would rub over F7; who declines turnarounds isn't told of any."""
    file = tmp_path / "full.abc"
    music = '"Bb7"d4f4 | "Eb7"g4_d4 |'
    file.write_text(TUNE.format(number=1, title="Full", music=music).replace("K:C", "K:Bb"))
    ran = drillbox("add", str(file), "--dry-run")
    assert "Full: no turnaround added, the line plays on where it would stand" in ran.err
    assert "(F7)" not in ran.out
    assert "Full: no" not in drillbox("add", str(file), "--dry-run", "--no-turnaround").err


def test_what_is_no_file_of_notes_is_refused_as_that(drillbox):
    """A device holds no tunes: the remedy speaks of a file to read, not of one to write."""
    ran = drillbox("add", "/dev/null")
    assert (ran.code, ran.out) == (ExitCode.BAD_INPUT, "")
    assert "'/dev/null' isn't a plain file. Name an ABC or MusicXML file." in ran.err
