"""``drillbox add FILE --list`` and ``--bars``: a phrase lifted out of a whole tune."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillbox.errors import ExitCode
from tests.notation.scores import attributes, harmony, note, part, score

HEAD = "X:{0}\nT:{1}\nM:4/4\nL:1/8\n{2}K:C\n"
MUSIC = '"C"E8|"F"F8|"G7"G8|"C"c8|"Am"A8|"Dm"F8|"G7"B8|"C"c8|]\n'
ROOTS = [("C", "major"), ("F", "major"), ("G", "dominant"), ("C", "major")] * 2


def abc(folder: Path, *titles: str, music: str = MUSIC, tempo: str = "Q:1/4=120\n") -> str:
    """Write an ABC file of these tunes and return its path."""
    path = folder / "lines.abc"
    tunes = [HEAD.format(n, title, tempo) + music for n, title in enumerate(titles, start=1)]
    path.write_text("\n".join(tunes), encoding="utf-8")
    return str(path)


def musicxml(folder: Path, *, tempo: bool = True) -> str:
    """Write a MusicXML score of eight bars and return its path."""
    first = attributes() if tempo else attributes().split("<sound")[0]
    bars = [harmony(*root) + note("C4", 8) + note("E4", 8) for root in ROOTS]
    path = folder / "page.musicxml"
    path.write_text(score(part(*bars, first=first), title="Tar roof"), encoding="utf-8")
    return str(path)


@pytest.mark.usefixtures("made")
@pytest.mark.parametrize(
    ("bars", "chart", "notes"),
    [("2-3", "F | G7", "2 notes"), ("5-8", "Am | Dm | G7 | C", "4 notes"), ("4", "C", "1 note")],
)
def test_bars_of_an_abc_tune_become_a_phrase(drillbox, tmp_path: Path, bars, chart, notes):
    """Its chords, its notes, and a title that says where it is from."""
    ran = drillbox("--ascii", "add", abc(tmp_path, "Wet gravel"), "--bars", bars,
                   "--no-turnaround", "--details")  # fmt: skip
    assert ran.code == ExitCode.OK, ran.err
    assert f"  C    {chart}\n" in ran.out
    assert notes in ran.out
    assert f"Wet gravel, bar{'s' if '-' in bars else ''} {bars}" in drillbox("phrases").out


@pytest.mark.usefixtures("made")
@pytest.mark.parametrize(
    ("bars", "chart", "notes"),
    [("2-3", "F | G7", "4 notes"), ("5-8", "C | F | G7 | C", "8 notes"), ("7", "G7", "2 notes")],
)
def test_bars_of_a_musicxml_score_become_a_phrase(drillbox, tmp_path: Path, bars, chart, notes):
    """The same out of the other format."""
    ran = drillbox(
        "--ascii", "add", musicxml(tmp_path), "--bars", bars, "--no-turnaround", "--details"
    )
    assert ran.code == ExitCode.OK, ran.err
    assert f"  C    {chart}\n" in ran.out
    assert notes in ran.out


@pytest.mark.usefixtures("made")
def test_several_phrases_can_be_lifted_from_one_tune(drillbox, tmp_path: Path):
    """Each by its own bars; a title of the player's own goes before."""
    path = abc(tmp_path, "Wet gravel")
    assert drillbox("add", path, "--bars", "1-2").code == ExitCode.OK
    assert drillbox("add", path, "--bars", "3-4").code == ExitCode.OK
    assert drillbox("add", path, "--bars", "5-6", "--title", "Dry gravel").code == ExitCode.OK
    listed = drillbox("phrases").out
    assert all(each in listed for each in ("bars 1-2", "bars 3-4", "Dry gravel"))


@pytest.mark.usefixtures("made")
def test_a_phrase_comes_out_of_a_tune_longer_than_any_phrase(drillbox, tmp_path: Path):
    """160 bars are refused whole, with what to do, and give their bars 150 to 151."""
    path = abc(tmp_path, "Long gravel", music=MUSIC.replace("|]", "|") * 20)
    refused = drillbox("add", path)
    assert refused.code == ExitCode.BAD_INPUT
    assert "--bars 5-8" in refused.err
    ran = drillbox("--ascii", "add", path, "--bars", "150-151", "--no-turnaround", "--details")
    assert ran.code == ExitCode.OK, ran.err
    assert "  C    Dm | G7\n" in ran.out


def test_a_whole_tune_is_taken_with_a_word_about_bars(drillbox, tmp_path: Path):
    """Sixteen bars pass without it, twenty-four with it."""
    longer = abc(tmp_path, "Long gravel", music=MUSIC.replace("|]", "|") * 3)
    assert "--bars 5-8 takes a phrase out" in drillbox("add", longer, "--dry-run").err
    shorter = abc(tmp_path, "Long gravel", music=MUSIC.replace("|]", "|") * 2)
    assert "--bars" not in drillbox("add", shorter, "--dry-run").err


@pytest.mark.parametrize(
    ("given", "said", "code"),
    [
        (("--bars", "5-20"), "has 8 bars", ExitCode.BAD_INPUT),
        (("--bars", "8-5"), "isn't a range of bars", ExitCode.BAD_INPUT),
        (("--bars", "0"), "isn't a range of bars", ExitCode.BAD_INPUT),
        (("--tune", "7"), "no tune '7'", ExitCode.NOT_FOUND),
    ],
)
def test_bars_and_tunes_that_are_not_there(drillbox, tmp_path: Path, place, given, said, code):
    """One line, the right code, and no store."""
    ran = drillbox("add", abc(tmp_path, "Wet gravel"), *given)
    assert ran.code == code
    assert said in ran.err
    assert ran.err.count("\n") == 1
    assert not place.exists()


@pytest.mark.usefixtures("made")
def test_bars_of_one_tune_of_many(drillbox, tmp_path: Path):
    """Which one must be said, by number or by title."""
    path = abc(tmp_path, "Wet gravel", "Tin gravel")
    unsaid = drillbox("add", path, "--bars", "2-3")
    assert unsaid.code == ExitCode.BAD_INPUT
    assert "holds 2 tunes. Say which with --tune" in unsaid.err
    assert drillbox("add", path, "--bars", "2-3", "--tune", "tin GRAVEL").code == ExitCode.OK
    assert drillbox("add", path, "--bars", "2-3", "--tune", "1").code == ExitCode.OK
    listed = drillbox("phrases").out
    assert "Tin gravel, bars 2-3" in listed
    assert "Wet gravel, bars 2-3" in listed


def test_bars_need_a_file(drillbox):
    """A typed chart is as long as it was typed."""
    assert "--list needs a file" in drillbox("add", "--chart", "C F", "--list").err
    for given in (("--bars", "1-2"), ("--tune", "1"), ("--part", "x"), ("--keep-good",)):
        typed = ("--title", "A", "--key", "C", "--tempo", "120", "--chart", "C F")
        ran = drillbox("add", *typed, *given)
        assert ran.code == ExitCode.BAD_INPUT
        assert ran.err == f"drillbox: {given[0]} needs a file. Name one: drillbox add FILE\n"
    ran = drillbox("add", "--bars", "1-2", "--tune", "1")
    assert ran.err == "drillbox: --tune, --bars need a file. Name one: drillbox add FILE\n"


def test_what_changes_nothing_in_a_list_is_refused(drillbox, tmp_path: Path):
    """Rather than left out without a word: the bars, and what is about storing."""
    path = abc(tmp_path, "Wet gravel")
    for given in (("--bars", "3-99"), ("--order", "fifths"), ("--no-turnaround",), ("--dry-run",),
                  ("--tempo", "100")):  # fmt: skip
        ran = drillbox("add", path, "--list", *given)
        assert (ran.code, ran.out) == (ExitCode.BAD_INPUT, "")
        assert f"{given[0].replace('no-', '')} changes nothing" in ran.err


@pytest.mark.usefixtures("made")
def test_a_title_is_for_one_tune(drillbox, tmp_path: Path):
    """Of several the one that is meant has to be named."""
    path = abc(tmp_path, "Wet gravel", "Tin gravel")
    ran = drillbox("add", path, "--title", "Mine")
    assert ran.code == ExitCode.BAD_INPUT
    assert "lines.abc holds 2 tunes. Say which with --tune (--list shows them)." in ran.err
    ran = drillbox("add", path, "--title", "Mine", "--tune", "2", "--bars", "1-4")
    assert "Mine" in ran.out


def test_a_list_shows_every_bar_with_its_number(drillbox, tmp_path: Path, place: Path):
    """In a pipe a bar a line; of ABC and of MusicXML, with no tempo needed, nothing stored."""
    ran = drillbox("--ascii", "add", abc(tmp_path, "Wet gravel", "Tin gravel", tempo=""), "--list")
    assert ran.code == ExitCode.OK, ran.err
    assert "1  Wet gravel\nkey C - 4/4 - 8 bars as played\nbar 1: C\nbar 2: F\n" in ran.out
    assert "2  Tin gravel" in ran.out
    page = drillbox("--ascii", "add", musicxml(tmp_path, tempo=False), "--list")
    assert "bar 7: G7\nbar 8: C\n" in page.out
    assert not place.exists()


@pytest.mark.usefixtures("made")
def test_a_list_counts_repeats_as_they_are_played(drillbox, tmp_path: Path):
    """A bar that is repeated has a number for each time; one number is one place to take."""
    path = abc(tmp_path, "Wet gravel", music='|:"C"E8|[1 "F"F8:|[2 "G7"G8|]\n')
    ran = drillbox("--ascii", "add", path, "--list")
    assert "bar 1: C\nbar 2: F\nbar 3: C\nbar 4: G7\n" in ran.out
    taken = drillbox("--ascii", "add", path, "--bars", "3-4", "--no-turnaround", "--details")
    assert "  C    C | G7\n" in taken.out


CHANGING = '"Dm7"d8|"Cmaj7"e8|\nK:Ab\n"Bbm7"d8|"Abmaj7"c8|\n[K:Fm]"Gm7b5"B4"C7"B4|"Fm6"A8|]\n'


@pytest.mark.usefixtures("made")
@pytest.mark.parametrize(
    ("bars", "key", "changes"),
    [("1-2", "C", False), ("3-4", "Ab", False), ("5-6", "Fm", False), ("6", "Fm", False),
     ("2-3", "C", True), ("3-5", "Ab", True)],
)  # fmt: skip
def test_bars_are_in_the_key_of_the_first_of_them(drillbox, tmp_path: Path, bars, key, changes):
    """That the key changes is said only where it does within them."""
    path = abc(tmp_path, "Wet gravel", music=CHANGING)
    ran = drillbox("--ascii", "add", path, "--bars", bars)
    assert ran.code == ExitCode.OK, ran.err
    assert f": key {key} - 4/4" in ran.out
    assert ("the key changes here" in ran.err) == changes
    again = drillbox("add", path, "--bars", bars, "--key", key, "--title", "Dry gravel")
    assert again.code == ExitCode.OK, again.err


def test_bars_behind_a_repeat_keep_the_key_that_they_are_written_in(drillbox, tmp_path: Path):
    """Numbered as played: bar 5 is bar 1 once more, with a pickup before it all."""
    music = 'z2|:"Dm7"d8|"Cmaj7"e8|[K:Ab]"Bbm7"d8|"Abmaj7"c8:|[K:Eb]"Ebmaj7"e8|"Fm7"c6|]\n'
    path = abc(tmp_path, "Wet gravel", music=music)
    found = [drillbox("--ascii", "add", path, "--bars", str(bar), "--dry-run").out
             for bar in range(1, 11)]  # fmt: skip
    keys = [out.split("key ", 1)[1].split(" ")[0] for out in found]
    assert keys == ["C", "C", "Ab", "Ab"] * 2 + ["Eb", "Eb"]


@pytest.mark.usefixtures("made")
@pytest.mark.parametrize(
    ("bars", "key"), [("1-2", "C"), ("3-4", "Ab"), ("4", "Ab"), ("5-6", "Fm"), ("8", "C")]
)
def test_bars_of_a_score_are_in_the_key_of_the_first_of_them(drillbox, tmp_path: Path, bars, key):
    """The same out of MusicXML, also where it goes back to the first key."""
    signatures = {2: (-4, "major"), 4: (-4, "minor"), 6: (0, "major")}
    music = []
    for index, root in enumerate(ROOTS):
        fifths, mode = signatures.get(index, ("", ""))
        change = f"<attributes><key><fifths>{fifths}</fifths><mode>{mode}</mode></key></attributes>"
        music.append((change if mode else "") + harmony(*root) + note("C4", 8) + note("E4", 8))
    path = tmp_path / "page.musicxml"
    path.write_text(score(part(*music, first=attributes()), title="Tar roof"), encoding="utf-8")
    ran = drillbox("--ascii", "add", str(path), "--bars", bars)
    assert ran.code == ExitCode.OK, ran.err
    assert f": key {key} - 4/4" in ran.out
    assert "the key changes here" not in ran.err
