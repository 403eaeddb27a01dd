"""``drillbox add``: what comes in, what is refused, and that nothing half-written stays."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillbox.errors import ExitCode

CHART = ("--key", "Bb", "--tempo", "132", "--chart", "Cm7 F7 | Bbmaj7 (G7)")


def test_a_typed_chart_becomes_a_phrase_in_twelve_keys(drillbox):
    """The player sees the chart in all twelve keys, spelled as players write it."""
    ran = drillbox("--ascii", "add", "--title", "Blue stairs", *CHART)
    assert ran.code == ExitCode.OK
    assert "Stored 1 phrase in twelve keys." in ran.out
    for line in (
        "Bb   Cm7 F7 | Bbmaj7 (G7)",
        "Eb   Fm7 Bb7 | Ebmaj7 (C7)",
        "Gb   Abm7 Db7 | Gbmaj7 (Eb7)",
        "B    C#m7 F#7 | Bmaj7 (G#7)",
        "F    Gm7 C7 | Fmaj7 (D7)",
    ):
        assert line in ran.out
    assert "Blue stairs" in drillbox("phrases").out


@pytest.mark.usefixtures("made")
def test_a_symbol_with_two_meanings_is_told(drillbox):
    """C11 comes in without its third, and the player is told."""
    ran = drillbox("--ascii", "add", "--title", "One", "--key", "F", "--tempo", "120",
                   "--chart", "C11 | Fmaj7 (D7)")  # fmt: skip
    assert ran.code == ExitCode.OK
    assert "C9sus4 | Fmaj7 (D7)" in ran.out
    assert "C11 is read as C9sus4, with a fourth and no third; write C9(add11) for both" in ran.err


def test_a_dry_run_shows_all_and_makes_no_store(drillbox, place: Path):
    """--dry-run leaves not even an empty store behind."""
    ran = drillbox("add", "--dry-run", "--title", "Blue stairs", *CHART)
    assert ran.code == ExitCode.OK
    assert "nothing is stored" in ran.out
    assert not place.exists()


def test_a_dry_run_on_a_store_changes_nothing(kettle):
    """With a store there, a dry run checks against it and adds nothing."""
    assert kettle("add", "--dry-run", "--title", "Other stairs", *CHART).code == 0
    assert "Other stairs" not in kettle("phrases").out
    again = kettle("add", "--dry-run", "--title", "blue STAIRS", *CHART)
    assert again.code == ExitCode.BAD_INPUT


def test_the_same_title_is_refused_with_what_to_do(kettle):
    """A title is taken whatever its case, and the way out is said."""
    ran = kettle("add", "--title", "BLUE  stairs", *CHART)
    assert ran.code == ExitCode.BAD_INPUT
    assert "'Blue stairs' already" in ran.err
    assert "--title" in ran.err
    assert ran.err.count("\n") == 1


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("--tempo", "0"), "Tempo 0 is out of range"),
        (("--tempo", "10000"), "Tempo 10000 is out of range"),
        (("--tempo", "fast"), "'fast' isn't a whole number"),
        (("--tempo", "-5"), "Tempo -5 is out of range"),
        (("--key", "H"), "'H' isn't a key"),
        (("--key", ""), "isn't a key"),
        (("--meter", "4/5"), "4/5"),
        (("--meter", "none"), "none"),
        (("--meter", ""), "'' isn't a meter"),
        (("--meter", "4/4 then 3/4 and so on"), "'4/4 then 3/4 and so ...' isn't a meter"),
        (("--chart", "Cm7 F7 G7 | Bb"), "column 1"),
        (("--chart", "Cm7 F7 | Bbmajj7"), "column 15"),
        (("--chart", ""), "no chords"),
        (("--chart", "/ | Cm7"), "column 1"),
        (("--chart", "N.C. | N.C."), "The chart has no chords. Write them as in"),
        (("--title", "   "), "title is empty"),
        (("--title", "x" * 10_000), "10000 characters"),
        (("--order", "sideways"), "'sideways' isn't an order of keys. Choose one of"),
        (("--order", "own"), "Your own order of keys is empty"),
    ],
)
def test_bad_input_is_one_line_and_stores_nothing(drillbox, place: Path, change, said):
    """Each wrong thing ends in one line on stderr, its exit code, and no store."""
    given = ["add", "--title", "Blue stairs", *CHART]
    ran = drillbox(*given, *change)
    assert ran.code == ExitCode.BAD_INPUT
    assert said.lower() in ran.err.lower()
    assert ran.err.count("\n") == 1
    assert not place.exists()


def test_what_is_missing_is_named(drillbox):
    """Without a terminal to ask at, add says which options it needs."""
    ran = drillbox("add", "--chart", "Cm7 F7")
    assert ran.code == ExitCode.BAD_INPUT
    assert "--title, --key, --tempo" in ran.err


@pytest.mark.usefixtures("made")
def test_a_turnaround_is_proposed_and_can_be_declined(drillbox):
    """The dominant of the first chord, in parentheses, or nothing where it is declined."""
    given = ("--key", "C", "--tempo", "120", "--chart", "Dm7 G7 | Cmaj7")
    taken = drillbox("add", "--title", "One", *given)
    assert "Dm7 G7 | Cmaj7 (A7)" in taken.err
    declined = drillbox("add", "--title", "Two", *given, "--no-turnaround")
    assert "(" not in declined.out


@pytest.mark.usefixtures("made")
@pytest.mark.parametrize(
    ("style", "bars"),
    [
        ("dominant", "Dm7 G7 | Cmaj7 (A7)"),
        ("two-five", "Dm7 G7 | Cmaj7 / (Em7 A7)"),
        ("substitute", "Dm7 G7 | Cmaj7 (Eb7)"),
    ],
)
def test_the_proposed_turnaround_leads_back_as_the_player_likes(drillbox, style, bars):
    """By the dominant of the first chord, with its ii before it, or by the tritone substitute."""
    drillbox("settings", "turnaround", style)
    ran = drillbox("--ascii", "add", "--title", "One", "--key", "C", "--tempo", "120",
                   "--chart", "Dm7 G7 | Cmaj7")  # fmt: skip
    assert f"turnaround added, {bars} (" in ran.err


TUNE = """X:{0}
T:{1}
M:4/4
L:1/8
Q:1/4=120
K:C
"Dm7"FEDF "G7"BAGB | "Cmaj7"{2} "(A7)"z4 |
"""


def written(tmp_path: Path, *tunes: str) -> str:
    """Write an ABC file of these tunes and return its path."""
    path = tmp_path / "lines.abc"
    path.write_text("%abc-2.1\n" + "\n".join(tunes), encoding="utf-8")
    return str(path)


@pytest.mark.usefixtures("made")
def test_an_abc_file_of_two_tunes_comes_in_with_its_melodies(drillbox, tmp_path: Path):
    """Both tunes are stored, and their notes are counted."""
    path = written(tmp_path, TUNE.format(1, "Red door", "e4"), TUNE.format(2, "Tin roof", "e2g2"))
    ran = drillbox("add", path)
    assert ran.code == ExitCode.OK, ran.err
    assert "Stored 2 phrases" in ran.out
    assert "9 notes" in ran.out
    assert "10 notes" in ran.out


@pytest.mark.usefixtures("made")
def test_one_bad_tune_stops_all_unless_the_good_are_wanted(drillbox, tmp_path: Path):
    """A bar that doesn't add up is named with its line; --keep-good takes the others."""
    path = written(tmp_path, TUNE.format(1, "Red door", "e4"), TUNE.format(2, "Tin roof", "e2"))
    ran = drillbox("add", path)
    assert ran.code == ExitCode.BAD_INPUT
    assert "lines.abc:16:" in ran.err
    assert "Tin roof" in ran.err
    assert "1 of 2" in ran.err
    assert "No phrases yet" in drillbox("phrases").out
    kept = drillbox("add", path, "--keep-good")
    assert kept.code == ExitCode.OK
    listed = drillbox("phrases").out
    assert "Red door" in listed
    assert "Tin roof" not in listed


def test_files_that_cannot_be_used(drillbox, tmp_path: Path, place: Path):
    """A missing, an empty, a binary and a huge file each end in one clear line, and no store."""
    (tmp_path / "empty.abc").write_bytes(b"")
    (tmp_path / "binary.abc").write_bytes(bytes(range(256)) * 8)
    with (tmp_path / "huge.abc").open("wb") as file:
        file.truncate(50_000_000)
    missing = drillbox("add", str(tmp_path / "missing.abc"))
    assert missing.code == ExitCode.NOT_FOUND
    assert "is a folder. Name one file in it" in drillbox("add", str(tmp_path)).err
    for name in ("empty.abc", "binary.abc", "huge.abc", "."):
        ran = drillbox("add", str(tmp_path / name))
        assert ran.code in {ExitCode.BAD_INPUT, ExitCode.NOT_FOUND}, name
        assert 1 <= ran.err.count("\n") <= 2, name
        assert "Traceback" not in ran.err
    assert not place.exists()


@pytest.mark.usefixtures("made")
def test_a_file_that_has_grown_comes_in_once_more(drillbox, tmp_path: Path):
    """A title that is there already stops all; --keep-good takes what is new, and says so."""
    first, second = TUNE.format(1, "Red door", "e4"), TUNE.format(2, "Tin roof", "e2g2")
    assert drillbox("add", written(tmp_path, first)).code == ExitCode.OK
    path = written(tmp_path, first, second, second)
    ran = drillbox("add", path)
    assert ran.code == ExitCode.BAD_INPUT
    assert ran.err.splitlines()[-1] == (
        "drillbox: There is a phrase 'Red door' already. Change one of the titles in the"
        " file, or take the rest with --keep-good"
    )
    kept = drillbox("add", path, "--keep-good")
    assert kept.code == ExitCode.OK
    assert "Red door: there is a phrase of this title already; this one is skipped" in kept.err
    assert "Stored 1 phrase in twelve keys." in kept.out
    assert "Stored 0 phrases" in drillbox("add", path, "--keep-good").out


def test_an_aeolian_key_is_told_to_be_read_as_minor(drillbox):
    """The player who types A Aeolian hears what becomes of it; in A Dorian nothing is said."""
    typed = ("--title", "Low", "--tempo", "120", "--chart", "Am7 | G | Am7 | %", "--dry-run")
    ran = drillbox("add", "--key", "A Aeolian", *typed)
    assert "A Aeolian is read as Am: scales and hints are those of minor" in ran.err
    assert "is read as" not in drillbox("add", "--key", "A Dorian", *typed).err
