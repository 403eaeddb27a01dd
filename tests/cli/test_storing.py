"""``drillbox store``: from the command line to the files and back."""

from __future__ import annotations

import json
import re
import sqlite3
from contextlib import closing
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from drillbox.errors import ExitCode
from drillbox.screen.storing import merged_lines, replaced_lines
from drillbox.store.opening import open_store
from drillbox.store.setting_rows import set_setting
from drillbox.store.values import Merged, Replaced
from tests.store.hardship import flip


def backups(place: Path) -> list[Path]:
    """Return the files of the backups, oldest first."""
    return sorted(place.with_name(f"{place.name}-backups").glob("*.sqlite3"))


def test_a_whole_store_is_said_to_be_whole(kettle, place):
    """Check names the store and exits with 0."""
    kettle("drill", keys="c\nl\n")
    ran = kettle("store", "check")
    assert ran.code == ExitCode.OK
    assert ran.out == f"Nothing is wrong with {place}.\n"


def test_from_damage_back_to_the_day_before(kettle, place):
    """Damage is told with the command that mends it, and that command, typed as told, does."""
    for number in range(12):
        kettle("add", "--title", f"Line {number}", "--key", "C", "--tempo", "120",
               "--chart", "Dm7 G7 | Cmaj7 (A7)")  # fmt: skip
    assert kettle("store", "backup").out.startswith("Backed up to ")
    flip(place, 2)
    hurt = place.read_bytes()
    ran = kettle("store", "check")
    assert ran.code == ExitCode.STORE
    assert ran.err.startswith("drillbox: The store ")
    command = ran.err.split("restore it with: ")[1].split(" (the damaged")[0]
    (asked_for,) = (each for each in backups(place) if each.name.endswith("asked.sqlite3"))
    assert command == f"drillbox store restore {asked_for}"
    assert place.read_bytes() == hurt
    restored = kettle("store", "restore", command.split()[-1])
    assert restored.code == ExitCode.OK
    aside = place.with_name(f"{place.name}.aside-20260302T180000Z")
    assert restored.out == f"Restored {place}; the former store is kept as {aside}\n"
    assert aside.read_bytes()[100:] == hurt[100:]
    assert kettle("store", "check").code == ExitCode.OK
    assert "Line 11" in kettle("phrases").out


def test_the_list_names_each_backup(kettle, place):
    """Newest first, with time, size and reason; without any it says how to make one."""
    assert kettle("store", "list").out.startswith("No backups yet")
    kettle("drill", keys="c\n")
    kettle("store", "backup", now="2026-03-03T09:30:00Z")
    newest, oldest, together = kettle("store", "list").out.splitlines()
    assert newest.startswith("20260303T093000Z-asked.sqlite3  2026-03-03 09:30 UTC  ")
    assert newest.endswith("  asked for")
    assert oldest.startswith("20260302T180000Z-day.sqlite3")
    assert oldest.endswith("  a day's first change")
    assert re.match(r"Together 0\.\d of at most 1,000 MB: the oldest go first", together)
    kettle("settings", "backup_room", "50")
    assert "at most 50 MB" in kettle("store", "list").out


def test_a_backup_that_is_not_there(kettle):
    """One line, and exit code 4."""
    ran = kettle("store", "restore", "yesterday")
    assert ran.code == ExitCode.NOT_FOUND
    assert ran.err == (
        "drillbox: There is no backup 'yesterday'. See them with: drillbox store list\n"
    )


def test_the_log_goes_from_one_computer_to_another(kettle, drillbox, place, tmp_path):
    """Exported from one store, imported into another, and again without any change."""
    kettle("drill", keys="c\nl\n")
    out = tmp_path / "out"
    ran = kettle("store", "export", str(out))
    assert ran.out.splitlines() == [
        "Wrote 1 phrase and 2 goes to:",
        *(f"  {out / name}" for name in (
            "drillbox.json", "drillbox.schema.json", "attempts.csv", "phrases.abc")),
    ]  # fmt: skip
    before = kettle("show", "blue").out
    place.rename(tmp_path / "first.sqlite3")
    backups(place)[0].parent.rename(tmp_path / "first-backups")
    assert drillbox("store", "import", str(out)).out == (
        "Added 1 phrase, 1 drill session, 2 goes.\n"
    )
    assert drillbox("show", "blue").out == before
    again = drillbox("store", "import", str(tmp_path / "first.sqlite3"))
    assert again.out == "Your store has all of it already; nothing was changed.\n"
    assert json.loads((out / "drillbox.json").read_text("utf-8"))["version"] == 3


def test_a_title_that_was_taken_is_told(kettle, drillbox, place, tmp_path):
    """Another phrase of the same title comes in under a number."""
    kettle("store", "export", str(tmp_path / "log.json"))
    place.unlink()
    drillbox("add", "--title", "blue STAIRS", "--key", "C", "--tempo", "90", "--chart", "Cmaj7")
    ran = drillbox("store", "import", str(tmp_path / "log.json"))
    assert "'Blue stairs' is here 'Blue stairs (2)': the title was taken." in ran.out


def test_a_phrase_that_stood_here_twice_is_told(kettle, tmp_path):
    """Two that another store knows as one, having met there under one title, are one here too."""
    second, third = (("--store", str(tmp_path / name)) for name in ("2.sqlite3", "3.sqlite3"))
    kettle("store", "export", str(tmp_path / "log.json"))
    data = json.loads((tmp_path / "log.json").read_text("utf-8"))
    data["phrases"][0]["uid"] += "~"  # written down there, not imported
    (tmp_path / "log.json").write_text(json.dumps(data), "utf-8")
    kettle(*second, "store", "import", str(tmp_path / "log.json"))
    kettle(*third, "store", "import", str(tmp_path / "log.json"))
    kettle(*third, "store", "import", str(tmp_path / "store.sqlite3"))
    kettle("edit", "blue", "--title", "Green stairs", now="2026-03-02T19:00:00Z")
    assert kettle("store", "import", second[1]).out.startswith("Added 1 phrase.\n")
    ran = kettle("store", "import", third[1])
    assert ran.out.splitlines()[-1] == (
        "'Blue stairs' and 'Green stairs' are the same in the other store; both are"
        " 'Green stairs' now."
    )
    assert kettle("store", "import", third[1]).out.startswith("Your store has all of it already")


@pytest.mark.parametrize(
    ("command", "reason"),
    [
        ("delete blue --yes", "deletion"),
        ("tune delete tram --yes", "deletion"),
        ("tune edit tram --tempo 150", "edit"),
        ("gig delete friday --yes", "deletion"),
        ("gig edit friday --date 2026-03-07", "edit"),
        ("store import log.json", "import"),
    ],
)
def test_a_backup_precedes_what_nothing_undoes(
    kettle, place, tmp_path, monkeypatch, command: str, reason: str
):
    """Later on the day on which all was typed, whose backup, if there is one, may lack it."""
    monkeypatch.chdir(tmp_path)
    kettle("tune", "add", "--title", "Tram", "--key", "C", "--tempo", "120", "--chart", "C6")
    kettle("gig", "add", "Friday", "--date", "2026-03-06", "--tunes", "tram")
    kettle("store", "export", "log.json")
    ran = kettle(*command.split(), now="2026-03-02T19:00:00Z")
    assert ran.code == ExitCode.OK
    (newest,) = (each for each in backups(place) if "T190000Z" in each.name)
    assert newest.stem.endswith(f"-{reason}")
    assert "Friday" in kettle("--store", str(newest), "gig", "list").out


def test_an_import_of_anything_else(kettle, tmp_path):
    """A file that isn't there is exit code 4; one that isn't an export is 3."""
    assert kettle("store", "import", str(tmp_path / "none")).code == ExitCode.NOT_FOUND
    (tmp_path / "x.json").write_text("{}")
    ran = kettle("store", "import", str(tmp_path / "x.json"))
    assert ran.code == ExitCode.BAD_INPUT
    assert "can't be used" in ran.err


def test_an_export_over_another_file(kettle, tmp_path):
    """What isn't an export stays."""
    (tmp_path / "x.json").write_text("mine")
    ran = kettle("store", "export", str(tmp_path / "x.json"))
    assert ran.code == ExitCode.BAD_INPUT
    assert (tmp_path / "x.json").read_text() == "mine"


@pytest.mark.parametrize("command", ["export", "import"])
def test_an_empty_name_is_not_this_folder(kettle, tmp_path: Path, monkeypatch, command: str):
    """As an unset variable of the shell is: nothing is written here, or read from here."""
    monkeypatch.chdir(tmp_path)
    before = set(tmp_path.iterdir())
    ran = kettle("store", command, "")
    assert (ran.code, ran.err) == (
        ExitCode.BAD_INPUT, "drillbox: '' names no folder or file. Name one; . is this folder.\n",
    )  # fmt: skip
    assert set(tmp_path.iterdir()) == before


def test_cards_of_former_settings_are_mended(kettle, place):
    """Check tells which cards a setting that came from elsewhere left behind; --fix reckons."""
    kettle("drill", keys="l\nc\n")
    with open_store(place, now=datetime(2026, 3, 2, 18, tzinfo=UTC), backups=False) as store:
        set_setting(store, "tempo_step", 0.1)  # changed on the command line it would reckon
    ran = kettle("store", "check")
    assert ran.code == ExitCode.OK
    assert "its state doesn't match its 2 ratings" in ran.out
    assert "--fix" in ran.out
    mended = kettle("store", "check", "--fix")
    assert mended.out.startswith("Recomputed ")
    assert "Nothing is wrong" in kettle("store", "check").out


def test_a_backup_that_fails_is_told_on_stderr(kettle, place):
    """The rating is stored all the same."""
    place.with_name(f"{place.name}-backups").write_text("in the way")
    ran = kettle("drill", keys="c\n")
    assert ran.code == ExitCode.OK
    assert "File exists" in ran.err
    assert "goes 1" in kettle("show", "blue").out


def test_hostile_names_do_not_reach_the_terminal(kettle, tmp_path):
    """An escape sequence in a path is taken out before it is printed."""
    ran = kettle("store", "export", str(tmp_path / "a\x1b[31mb"))
    assert ran.code == ExitCode.OK
    assert "\x1b" not in ran.out


def two_stores(kettle, tmp_path: Path) -> tuple[str, ...]:
    """Give the player another computer with the same phrase; return how it is named."""
    kettle("store", "export", str(tmp_path / "all.json"))
    other = ("--store", str(tmp_path / "other.sqlite3"))
    assert kettle(*other, "store", "import", str(tmp_path / "all.json")).code == ExitCode.OK
    return other


def test_an_import_that_replaces_an_edit_says_what_and_can_be_taken_back(kettle, tmp_path: Path):
    """By the phrase's name, with the command that brings the edit back, also for later imports."""
    other = two_stores(kettle, tmp_path)
    kettle("edit", "blue", "--tempo", "155", now="2026-03-02T19:00:00Z")
    kettle(*other, "edit", "blue", "--tag", "quartet", now="2026-03-02T19:00:01Z")
    ran = kettle("store", "import", other[1], now="2026-03-02T20:00:00Z")
    assert ran.out.splitlines() == [
        "Brought up to date: 1 phrase.",
        "'Blue stairs': goal 155 here, now 120, tags none here, now quartet."
        " To undo: drillbox edit 'Blue stairs' --undo",
    ]
    assert "goal 120" in kettle("phrases").out
    taken = kettle("edit", "Blue stairs", "--undo", now="2026-03-02T20:01:00Z")
    assert taken.code == ExitCode.OK, taken.err
    assert "goal 155" in kettle("phrases").out
    again = kettle("store", "import", other[1], now="2026-03-02T20:02:00Z")
    assert "nothing was changed" in again.out
    assert kettle("store", "check").code == ExitCode.OK


def test_an_import_tells_of_another_order_of_ones_own(kettle, tmp_path: Path):
    """It has no other name than before: that the keys change places is said, and undone."""
    kettle("settings", "own_order", "C G D A E B Gb Db Ab Eb Bb F")
    kettle("edit", "blue", "--order", "own")
    other = two_stores(kettle, tmp_path)
    kettle(*other, "settings", "own_order", "C F Bb Eb Ab Db Gb B E A D G")
    kettle(*other, "edit", "blue", "--order", "own", now="2026-03-02T19:00:00Z")
    ran = kettle("store", "import", other[1], now="2026-03-02T20:00:00Z")
    assert (
        "'Blue stairs': its keys in another order. To undo: drillbox edit 'Blue stairs' --undo\n"
    ) in ran.out


@pytest.mark.parametrize(
    ("merged", "lines"),
    [
        (
            Merged(settings={"minutes": (20, 45), "listen_to": ("", "Yama"), "loops": (2, 2)}),
            ["Brought up to date: 3 settings.", "minutes: 20 here, now 45.",
             "listen_to: empty here, now Yama."],
        ),
        (Merged(settings={"weights": (None, None)}),
         ["Brought up to date: 1 setting.", "weights: those of the other store."]),
        (
            Merged(changed=7, retired=[f"Line {number}" for number in range(6)], restored=["One"]),
            ["Brought up to date: 7 phrases.",
             "Retired there, and now here: 'Line 0', 'Line 1', 'Line 2', 'Line 3', 'Line 4' and"
             " 1 more. To bring one back: drillbox retire PHRASE --back",
             "Brought back there, and now here: 'One'."],
        ),
        (
            Merged(notes=3, noted=[("One", "thumb", "lay back"), ("One", "third", None)]),
            ["Brought up to date: 3 notes.", "'One': a note was 'thumb', now 'lay back'.",
             "'One': a note was 'third', now none."],
        ),
        (
            Merged(retuned=[Replaced("Salt", {"title": ("Slate's", "Salt"), "tempo": (70, 168),
                                              "form": ("", "A4 B4")})]),
            ["Brought up to date: 1 tune.",
             "'Salt': title Slate's here, now Salt, tempo 70 here, now 168, form none here, now"
             " A4 B4. To have it back: drillbox tune edit Salt --title 'Slate'\"'\"'s' --tempo 70"
             " --form ''"],
        ),
        (Merged(retuned=[Replaced("Salt", {"tags": (["duo"], [])})]),
         ["Brought up to date: 1 tune.",
          "'Salt': tags duo here, now none. To have it back: drillbox tune edit Salt --tag duo"]),
        (
            Merged(replanned=[
                Replaced("Trio", {"title": ("Duo", "Trio"),
                                  "day": (date(2026, 3, 6), date(2026, 3, 7)),
                                  "tunes": (["Salt, slate", "Ferry"], ["Ferry", "Tram"])}),
                Replaced("Solo", {"tunes": ([], ["Ferry"])}),
                Replaced("Big night", {"tunes": (list("abcdefg"), ["g"])}),
                Replaced("Attic", {"tunes": (["a", "b"], ["b", "a"])}),
                Replaced("Last month", {"day": (date(2026, 2, 6), date(2026, 3, 7))}),
            ]),
            ["Brought up to date: 5 gigs.",
             "'Trio': name Duo here, now Trio, date 2026-03-06 here, now 2026-03-07, now without"
             " 'Salt, slate' and with 'Tram'. To have it back: drillbox gig edit Trio --name Duo"
             " --date 2026-03-06 --tunes 'Salt, slate, Ferry'",
             "'Solo': now with 'Ferry'.",
             "'Big night': now without 'a', 'b', 'c', 'd', 'e' and 1 more. To have it back:"
             " drillbox gig edit 'Big night' --tunes 'a, b, c, d, e, f, g'",
             "'Attic': its tunes in another order. To have it back:"
             " drillbox gig edit Attic --tunes 'a, b'",
             "'Last month': date 2026-02-06 here, now 2026-03-07."],  # no gig is put on a past day
        ),
    ],
    ids=["settings", "weights", "retired", "notes", "tune", "tags", "gigs"],
)  # fmt: skip
def test_an_import_says_what_it_changes(merged: Merged, lines: list[str]):
    """Each setting, phrase, note, tune and gig that was otherwise here, up to five of a kind."""
    assert [*merged_lines(merged), *replaced_lines(merged, date(2026, 3, 2))] == lines


def test_an_import_names_five_phrases_and_counts_the_rest(kettle, tmp_path: Path):
    """What was changed in them; a chart isn't spelled out."""
    for number in range(6):
        kettle("add", "--title", f"Line {number}", "--key", "C", "--tempo", "120",
               "--chart", "Dm7 G7 | Cmaj7 (A7)")  # fmt: skip
    other = two_stores(kettle, tmp_path)
    for number in range(6):
        kettle(*other, "edit", f"Line {number}", "--tempo", "130", "--title", f"Run {number}",
               now="2026-03-02T19:00:00Z")  # fmt: skip
    kettle(*other, "edit", "blue", "--aside", "E", "--turnaround", "decline", "--double-time",
           "--octave-breaks", now="2026-03-02T19:00:00Z")  # fmt: skip
    out = kettle("store", "import", other[1], now="2026-03-02T20:00:00Z").out
    changed = "now in double time, another chart, other keys put aside, octaves broken now."
    assert f"'Blue stairs': {changed}" in out
    assert "'Run 1': title Line 1 here, now Run 1, goal 120 here, now 130." in out
    assert out.count("--undo") == 5
    assert out.endswith("2 more phrases changed; 'drillbox show' has each.\n")


def test_a_tag_that_nobody_could_type_is_named_and_cleaned(kettle, drillbox, place, tmp_path: Path):
    """An import refuses it and so does an edit; after --fix both go through, other tags stay."""
    kettle("edit", "blue", "--tag", "quartet")
    words = """UPDATE phrase SET tags = '["quartet", "a\\u001b[31mb"]'"""
    with closing(sqlite3.connect(place)) as database, database:
        database.execute(words)
    ran = kettle("store", "check")
    assert ran.code == ExitCode.OK
    assert ran.out.splitlines() == [
        "'Blue stairs': its tags can't be used: ['quartet', 'a\\x1b[31mb']",
        "Nothing is damaged. 'drillbox store check --fix' makes a backup and cleans the tags.",
    ]
    assert kettle("edit", "blue", "--tempo", "90").code == ExitCode.BAD_INPUT
    assert "Nothing is wrong" in kettle("store", "check", "--fix").out
    assert kettle("edit", "blue", "--tempo", "90").code == ExitCode.OK
    kettle("store", "export", str(tmp_path / "log.json"))
    (phrase,) = json.loads((tmp_path / "log.json").read_text("utf-8"))["phrases"]
    assert phrase["tags"] == ["quartet", "a31mb"]
    place.unlink()
    for each in backups(place):
        each.unlink()
    assert drillbox("store", "import", str(tmp_path / "log.json")).code == ExitCode.OK


HOSTILE = "\x1b]52;c;YQ==\x07 \x9b31m \N{RIGHT-TO-LEFT OVERRIDE}\N{LINE SEPARATOR}K:D\n%%abc"


@pytest.mark.parametrize("column", ["title", "tempo", "chart"])
def test_what_a_hostile_store_holds_does_not_reach_the_abc_of_an_export(
    kettle, place, tmp_path: Path, column: str
):
    """No control character and no turned writing; a title has no line of its own."""
    value = HOSTILE
    with closing(sqlite3.connect(place)) as database, database:
        database.execute("PRAGMA ignore_check_constraints = ON")
        if column == "chart":
            value = database.execute("SELECT chart FROM phrase").fetchone()[0]
            value = value.replace('"minor-seventh"', json.dumps(HOSTILE))
            assert json.loads(value)
        database.execute(f"UPDATE phrase SET {column} = ?", [value])
    ran = kettle("store", "export", str(tmp_path / "out"))
    assert "Traceback" not in ran.err
    if ran.code == ExitCode.OK:
        text = (tmp_path / "out" / "phrases.abc").read_text("utf-8")
        assert text.replace("\n", "").isprintable()
        assert column != "title" or "T:]52;c;YQ== 31m  K:D \\%\\%abc\n" in text
    assert (ran.code == ExitCode.OK) == (column != "chart")
