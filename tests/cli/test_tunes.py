"""``drillbox tune``: tunes come in typed or from a file, are listed, shown and deleted."""

from __future__ import annotations

import shlex
import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest

from drillbox.errors import ExitCode
from drillbox.screen.storing import replaced_lines
from drillbox.store.values import Merged, Replaced

pytestmark = pytest.mark.usefixtures("made")

ABC = """X:1
T:Tram to the lake
M:4/4
L:1/4
Q:1/4=168
K:Bb
|:"Cm7"c4|"F7"A4|1"Bbmaj7"d4|"G7"B4:|2"Bbmaj7"d4|"Bb6"B4|]
"""
MUSICXML = """<?xml version="1.0" encoding="UTF-8"?>
<score-partwise version="4.0">
 <work><work-title>Slate and salt</work-title></work>
 <part-list><score-part id="P1"><part-name>Lead</part-name></score-part></part-list>
 <part id="P1">
  <measure number="1">
   <attributes><divisions>1</divisions><key><fifths>0</fifths><mode>major</mode></key>
    <time><beats>4</beats><beat-type>4</beat-type></time></attributes>
   <sound tempo="120"/>
   <harmony><root><root-step>D</root-step></root><kind>minor-seventh</kind></harmony>
   <note><rest/><duration>4</duration></note>
  </measure>
  <measure number="2">
   <harmony><root><root-step>G</root-step></root><kind>dominant</kind></harmony>
   <note><rest/><duration>4</duration></note>
   <barline location="right"><repeat direction="backward"/></barline>
  </measure>
 </part>
</score-partwise>
"""


def add(drillbox, *more: str, title: str = "Tram to the lake"):
    """Bring a typed tune in."""
    chart = "Cm7 | F7 | Bbmaj7 | G7 | Cm7 | F7 | Bb6 | %"
    return drillbox(
        "tune", "add", "--title", title, "--key", "Bb", "--tempo", "168", "--chart", chart, *more
    )


def test_a_typed_tune_is_shown_and_stored(drillbox):
    """What was understood is printed, with its form, and the list has it."""
    ran = add(drillbox, "--form", "AB", "--tag", "quartet", "--tag", "Friday")
    assert ran.code == 0, ran.err
    assert "key B♭ · 4/4 · tempo 168 · 8 bars · AB · quartet, Friday" in ran.out
    assert "Stored 1 tune." in ran.out
    listed = drillbox("tune", "list").out
    assert listed.split(", ")[1:5] == ["tune Tram to the lake", "key B♭", "tempo 168", "bars 8"]
    assert drillbox("tune", "show", "tram").out in ran.out + "\n"


@pytest.mark.parametrize(
    ("name", "text", "bars"),
    [
        ("tune.abc", ABC, ["Cm7", "F7", "B♭maj7", "G7", "Cm7", "F7", "B♭maj7", "B♭6"]),
        ("tune.musicxml", MUSICXML, ["Dm7", "G7", "Dm7", "G7"]),
    ],
)
def test_a_files_repeats_are_written_out(drillbox, tmp_path: Path, name, text, bars):
    """Only the chords are kept, in the order in which they are played."""
    page = tmp_path / name
    page.write_text(text)
    ran = drillbox("tune", "add", str(page))
    assert ran.code == 0, ran.err
    chart = "".join(line.split("│", 1)[1] for line in ran.out.splitlines() if "│" in line)
    assert [each.strip() for each in chart.split("│") if each.strip()] == bars


def test_what_is_given_beside_a_file_counts_or_is_refused(drillbox, tmp_path: Path):
    """As with a phrase: a tempo is the player's, a key or a meter can't be another."""
    page = tmp_path / "tune.abc"
    page.write_text(ABC)
    assert "tempo 99 " in drillbox("tune", "add", str(page), "--tempo", "99", "--dry-run").out
    for given, said in (
        (("--key", "F"), "is in Bb, and --key says F"),
        (("--meter", "3/4"), "is in 4/4, and --meter says 3/4"),
    ):
        ran = drillbox("tune", "add", str(page), *given)
        assert (ran.code, ran.out) == (3, "")
        assert said in ran.err
        assert ran.err.startswith("drillbox: tune.abc: ")
        assert ran.err.count("\n") == 1


def test_an_empty_meter_is_none(drillbox):
    """It isn't taken for the usual one, as none at all is."""
    ran = add(drillbox, "--meter", "")
    assert (ran.code, ran.out) == (3, "")
    assert "'' isn't a meter" in ran.err


def test_a_title_is_for_one_tune(drillbox, tmp_path: Path):
    """Two tunes can't both have it."""
    page = tmp_path / "two.abc"
    page.write_text(f"{ABC}\n{ABC.replace('Tram', 'Ferry')}")
    ran = drillbox("tune", "add", str(page), "--title", "Mine")
    assert (ran.code, ran.out) == (3, "")
    assert ran.err.startswith("drillbox: two.abc holds 2 tunes. Leave --title out, ")


@pytest.mark.parametrize(
    ("form", "numbers"),
    [("A5 B3", [1, 5, 6]), ("A5 A5 B5 A5", [1, 5, 6, 10, 11, 15, 16, 20]), ("A6 B2", [1, 5, 7])],
)
def test_each_row_of_a_chart_has_the_number_of_its_first_bar(drillbox, form: str, numbers):
    """Where a section isn't whole rows, too."""
    count = sum(int(part[1:]) for part in form.split())
    chart = " | ".join(["C6", "F7"] * (count // 2))
    drillbox("tune", "add", "--title", "Rows", "--key", "C", "--tempo", "120", "--form", form,
             "--chart", chart)  # fmt: skip
    shown = drillbox("tune", "show", "rows").out
    assert [int(line[:3]) for line in shown.splitlines() if "│" in line] == numbers


def test_a_tune_may_be_longer_than_a_phrase(drillbox, tmp_path: Path):
    """256 bars are taken, as typed and from a file; one more is refused."""
    typed = ("--key", "C", "--tempo", "100", "--chart")
    long = " | ".join(["Cmaj7"] * 256)
    assert drillbox("tune", "add", "--title", "Long", *typed, long).code == 0
    ran = drillbox("tune", "add", "--title", "Longer", *typed, f"{long} | C6")
    assert (ran.code, "at most 256 bars" in ran.err) == (3, True)
    head, _ = ABC.split("|:")
    page = tmp_path / "long.abc"
    page.write_text(head.replace("Tram", "Bus") + '"Cm7"c4|' * 256 + "]\n")
    assert drillbox("tune", "add", str(page)).code == 0
    page.write_text(head.replace("Tram", "Ferry") + '"Cm7"c4|' * 257 + "]\n")
    assert "longer than 256 bars" in drillbox("tune", "add", str(page)).err


def test_a_written_pitch_is_stored_as_it_sounds(drillbox):
    """A tenor player's D is concert C, and shows as D; --concert takes it as it sounds."""
    drillbox("settings", "instrument", "tenor sax")
    typed = ("--key", "D", "--tempo", "120", "--chart", "Em7 A7 | Dmaj7")
    ran = drillbox("tune", "add", "--title", "As written", *typed)
    assert "key D" in ran.out
    drillbox("tune", "add", "--title", "As sounding", *typed, "--concert")
    drillbox("settings", "instrument", "--reset")
    listed = drillbox("tune", "list").out.splitlines()
    assert [line.split(", ")[2] for line in listed] == ["key C", "key D"]


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["--form", "AAB"], "The form 'AAB' doesn't add up to the chart's 8 bars"),
        (["--form", "A3 A6"], "doesn't add up"),
        (["--form", "verse"], "Can't read the form 'verse'"),
        (["--tag", ","], "',' can't be a tag"),
        (["--tempo", "500"], "Tempo 500 is out of range"),
        (["--chart", "N.C. | %"], "The chart has no chords"),
        (["--part", "x"], "--part needs a file"),
        (["--keep-good"], "--keep-good needs a file"),
        (["missing.abc"], "Both a file and --chart were given"),
    ],
)
def test_what_cant_be_used_is_refused_in_one_line(drillbox, more, said):
    """What is wrong, then what to do; nothing is stored."""
    ran = add(drillbox, *more)
    assert (ran.code, ran.out) == (3, "")
    assert said in ran.err
    assert ran.err.count("\n") == 1
    assert "No tunes yet" in drillbox("tune", "list").out


def test_the_same_tune_twice_in_a_file_is_one_too_many(drillbox, tmp_path: Path):
    """Refused, in a dry run as well; with --keep-good the second one is named and left out."""
    page = tmp_path / "twice.abc"
    page.write_text(ABC + "\n" + ABC.replace("X:1", "X:2"))
    for more in ((), ("--dry-run",)):
        ran = drillbox("tune", "add", str(page), *more)
        assert (ran.code, "There is a tune 'Tram to the lake' already" in ran.err) == (3, True)
    ran = drillbox("tune", "add", str(page), "--keep-good")
    assert "Stored 1 tune." in ran.out
    assert ran.err == "Tram to the lake: left out, its title is taken\n"


def test_a_tune_is_deleted_only_on_a_yes(drillbox):
    """Without a terminal the word has to be given; then the title is free again."""
    add(drillbox)
    ran = drillbox("tune", "delete", "tram")
    assert (ran.code, "Add --yes" in ran.err) == (3, True)
    assert drillbox("tune", "delete", "tram", "--yes").out == "'Tram to the lake' is deleted.\n"
    assert drillbox("tune", "show", "tram").code == 4
    assert add(drillbox).code == 0


def test_a_tune_is_changed_and_stays_in_its_gigs(drillbox):
    """Tempo, title and form; what stays is left as it was, and the page shows all of it."""
    add(drillbox, "--form", "AB", "--tag", "quartet")
    drillbox("gig", "add", "Friday", "--date", "2026-12-04", "--tunes", "1")
    ran = drillbox("tune", "edit", "tram", "--tempo", "150")
    assert (ran.code, ran.err) == (0, "")
    assert "key B♭ · 4/4 · tempo 150 · 8 bars · AB · quartet" in ran.out
    assert ran.out.endswith("\n'Tram to the lake' is changed.\n")
    drillbox("tune", "edit", "tram", "--title", "Ferry", "--form", "")
    shown = drillbox("tune", "show", "ferry").out
    assert shown.startswith("Ferry\nkey B♭ · 4/4 · tempo 150 · 8 bars · quartet\n")
    assert drillbox("gig", "list").out.endswith(": Ferry\n")
    assert "like that already" in drillbox("tune", "edit", "ferry", "--tempo", "150").out


def test_a_mistyped_chord_key_meter_and_tag_are_put_right(drillbox):
    """As the player's instrument reads them, unless they are said to be at concert pitch."""
    add(drillbox, "--tag", "quartet")
    drillbox("settings", "instrument", "tenor sax")
    ran = drillbox("tune", "edit", "tram", "--chart", "Dm7 | G7alt | Cmaj7 | %", "--tag", "late",
                   "--untag", "Quartet")  # fmt: skip
    assert (ran.code, ran.err) == (0, "")
    assert "key C · 4/4 · tempo 168 · 4 bars · late" in ran.out
    assert "Dm7 " in ran.out
    assert "G7alt " in ran.out
    drillbox("tune", "edit", "tram", "--key", "Am", "--meter", "3/4")
    assert "key Am · 3/4 · tempo 168 · 4 bars" in drillbox("tune", "show", "tram").out
    drillbox("tune", "edit", "tram", "--key", "Gm", "--chart", "Am7b5 | D7 | Gm6", "--concert")
    drillbox("settings", "instrument", "concert")
    shown = drillbox("tune", "show", "tram").out
    assert "key Gm · 3/4 · tempo 168 · 3 bars" in shown
    assert "Aø7" in shown


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["tram"], 3, "Nothing to change. Say what, as in: --tempo 150"),
        (["tram", "--tempo", "0"], 3, "Tempo 0 is out of range"),
        (["tram", "--form", "AAB"], 3, "The form 'AAB' doesn't add up to the chart's 8 bars"),
        (
            ["tram", "--chart", "Cm7 | F7"],
            3,
            "The form 'A4 B4' doesn't add up to the chart's 2 bars."
            " Give its form with the chart: --form 'A8 B8'; or --form '' for none",
        ),
        (["tram", "--title", " "], 3, "The title is empty"),
        (["tram", "--title", "slate"], 3, "There is a tune 'Slate' already"),
        (["harbour", "--tempo", "150"], 4, "There is no tune 'harbour'"),
    ],
)
def test_a_change_that_cant_be_is_refused_in_one_line(drillbox, words, code, said):
    """What is wrong, then what to do; the tune stays as it was."""
    add(drillbox, "--form", "AB")
    add(drillbox, title="Slate")
    before = drillbox("tune", "show", "tram").out
    ran = drillbox("tune", "edit", *words)
    assert (ran.code, ran.out, ran.err.count("\n")) == (code, "", 1)
    assert said in ran.err
    assert drillbox("tune", "show", "tram").out == before


def test_a_deleted_tune_says_which_gigs_lose_it(drillbox):
    """By day."""
    add(drillbox)
    drillbox("gig", "add", "Saturday", "--date", "2026-12-05", "--tunes", "1")
    drillbox("gig", "add", "Friday", "--date", "2026-12-04", "--tunes", "1")
    said = drillbox("tune", "delete", "tram", "--yes").out
    assert said == "'Tram to the lake' is deleted, also from Friday, Saturday.\n"


def test_an_import_tells_how_a_tune_was_changed_there(drillbox, tmp_path: Path):
    """With the command that has it back, which the next import doesn't undo."""
    add(drillbox)
    other = ("--store", str(tmp_path / "other.sqlite3"))
    drillbox("store", "export", str(tmp_path / "here.json"))
    drillbox(*other, "store", "import", str(tmp_path / "here.json"))
    drillbox(*other, "tune", "edit", "tram", "--tempo", "70", "--form", "AB",
             now="2026-03-02T19:00:00Z")  # fmt: skip
    said = drillbox("store", "import", other[1], now="2026-03-02T20:00:00Z").out.splitlines()
    assert said == [
        "Brought up to date: 1 tune.",
        "'Tram to the lake': tempo 168 here, now 70, form none here, now A4 B4. To have it back:"
        " drillbox tune edit 'Tram to the lake' --tempo 168 --form ''",
    ]
    drillbox(*shlex.split(said[1].split("back: drillbox ")[1]), now="2026-03-02T21:00:00Z")
    assert "nothing was changed" in drillbox("store", "import", other[1]).out
    assert "tempo 168" in drillbox("tune", "list").out
    many = Merged(retuned=[Replaced(f"Tune {number}", {"tempo": (120, 90)}) for number in range(6)])
    assert (
        replaced_lines(many, date(2026, 3, 2))[-1]
        == "1 more tune changed; 'drillbox tune show' has each."
    )


@pytest.mark.parametrize(
    ("damage", "was", "typed"),
    [
        ("chart = replace(chart, 'minor', 'miner')", "another chart, tags Quartet", ""),
        ("tags = 'null'", "another chart, tags None", "--chart"),
        ("tags = '[7, \"a\"]'", "another chart, tags 7, a", "--chart"),
    ],
)
def test_an_import_that_mends_a_damaged_tune_is_told(
    drillbox, place: Path, tmp_path: Path, damage: str, was: str, typed: str
):
    """What was damaged can't be typed; the rest can."""
    add(drillbox, "--tag", "Quartet")
    other = ("--store", str(tmp_path / "other.sqlite3"))
    drillbox("store", "export", str(tmp_path / "here.json"))
    drillbox(*other, "store", "import", str(tmp_path / "here.json"))
    drillbox(*other, "tune", "edit", "tram", "--chart", "Am7b5 | D7", "--tempo", "70", "--tag",
             "late", now="2026-03-02T19:00:00Z")  # fmt: skip
    with closing(sqlite3.connect(place)) as store, store:
        store.execute(f"UPDATE tune SET {damage}")
    ran = drillbox("store", "import", other[1], now="2026-03-02T20:00:00Z")
    assert (ran.code, ran.err) == (ExitCode.OK, "")
    said = ran.out.splitlines()[1]
    assert f"tempo 168 here, now 70, {was} here, now Quartet, late." in said
    assert "drillbox tune edit 'Tram to the lake' --tempo 168" in said
    assert ("--chart" in said) == bool(typed)


SYNCOPATED = """X:1
T:Off the beat
M:4/4
L:1/8
Q:1/4=120
K:C
"C"c3 "F"f5 | "G7"g8 | "C"c8 | "C"c8 |
"""


@pytest.mark.parametrize("instrument", ["concert", "alto sax"])
def test_an_import_tells_how_to_have_a_tunes_chords_back(drillbox, tmp_path: Path, instrument):
    """With key, meter, form and tags, whatever instrument reads them; but for a chart that can't
    be typed."""
    add(drillbox, "--form", "A4 B4", "--tag", "Quartet")
    (tmp_path / "off.abc").write_text(SYNCOPATED)
    drillbox("tune", "add", str(tmp_path / "off.abc"), "--form", "A4")
    before = [drillbox("tune", "show", each).out for each in ("tram", "off")]
    drillbox("settings", "instrument", instrument)
    other = ("--store", str(tmp_path / "other.sqlite3"))
    drillbox("store", "export", str(tmp_path / "here.json"))
    drillbox(*other, "store", "import", str(tmp_path / "here.json"))
    drillbox(*other, "tune", "edit", "tram", "--chart", "Am7b5 | D7 | Gm6", "--key", "Gm", "--form",
             "", "--meter", "3/4", "--untag", "quartet", "--tag", "late", "--concert",
             now="2026-03-02T19:00:00Z")  # fmt: skip
    drillbox(*other, "tune", "edit", "off", "--chart", "G | D7", "--key", "G", "--form", "A2",
             "--tempo", "90", "--concert", now="2026-03-02T19:00:00Z")  # fmt: skip
    said = drillbox("store", "import", other[1], now="2026-03-02T20:00:00Z").out.splitlines()
    backs = [each.split("back: drillbox ")[1] for each in said if "back: drillbox " in each]
    assert backs == [
        "tune edit 'Tram to the lake' --key Bb --form 'A4 B4' --chart 'Cm7 | F7 | Bbmaj7 | G7 |"
        " Cm7 | F7 | Bb6 | Bb6' --meter 4/4 --tag Quartet --untag late --concert",
        "tune edit 'Off the beat' --tempo 120",
    ]
    for back in backs:
        ran = drillbox(*shlex.split(back), now="2026-03-02T21:00:00Z")
        assert ran.code == ExitCode.OK, ran.err
    drillbox("settings", "instrument", "concert")
    after = [drillbox("tune", "show", each).out for each in ("tram", "off")]
    assert after[0] == before[0]
    assert "tempo 120" in after[1]
    assert after[1] != before[1]


def test_a_list_is_narrowed_by_tag(drillbox):
    """Whatever its case; an unknown tag names the known ones."""
    add(drillbox, "--tag", "Friday")
    add(drillbox, title="Slate and salt")
    assert "Slate" not in drillbox("tune", "list", "--tag", "friday").out
    for unknown in ("Sunday", ""):
        ran = drillbox("tune", "list", "--tag", unknown)
        assert (ran.code, "Your tags are Friday" in ran.err) == (4, True)


def test_a_dry_run_and_a_bad_file_store_nothing(drillbox, tmp_path: Path):
    """All is shown or said, and the list stays empty; --keep-good takes the readable ones."""
    assert add(drillbox, "--dry-run").code == 0
    page = tmp_path / "two.abc"
    page.write_text(ABC + '\nX:2\nT:Broken\nM:4/4\nL:1/4\nQ:1/4=100\nK:C\n"Cm7"c5|"F7"d4|]\n')
    ran = drillbox("tune", "add", str(page))
    assert (ran.code, "1 of 2 tunes in two.abc can't be used" in ran.err) == (3, True)
    assert "No tunes yet" in drillbox("tune", "list").out
    assert "Stored 1 tune." in drillbox("tune", "add", str(page), "--keep-good").out


def test_a_typed_tune_tells_how_its_symbols_are_read(drillbox):
    """C11 is told with a tune as it is with a phrase."""
    typed = ("--title", "Low", "--key", "C", "--tempo", "120", "--chart", "C11 | Fmaj7")
    assert "C11 is read as C9sus4" in drillbox("tune", "add", *typed).err


def test_a_tune_that_cannot_be_read_can_be_deleted(drillbox, place: Path):
    """What another version has stored in a key without signature goes by its title."""
    add(drillbox)
    with closing(sqlite3.connect(place)) as store, store:
        store.execute("UPDATE tune SET key = 'Dbm'")
    assert drillbox("tune", "list").code == ExitCode.STORE
    assert drillbox("tune", "delete", "tram", "--yes").code == ExitCode.OK
    assert drillbox("tune", "list").code == ExitCode.OK
