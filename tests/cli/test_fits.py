"""``fits``, ``gig`` and a tune in a round, through a pipe on a store of a phrase and a tune."""

from __future__ import annotations

import shlex
import sqlite3
from contextlib import closing
from datetime import date
from pathlib import Path

import pytest

from drillbox.cli.given import read_coming_day
from drillbox.errors import BadInput, ExitCode


@pytest.fixture
def friday(kettle):
    """Return the command line over a store of one phrase, a tune and a gig with it."""
    ran = kettle(
        "tune", "add", "--title", "Tram to the lake", "--key", "Eb", "--tempo", "120", "--tag",
        "quartet", "--chart", "Ebmaj7 | Fm7 Bb7 | Ebmaj7 | Dmaj7 | Fm7 Bb7 | Ebmaj7 Dmaj7",
    )  # fmt: skip
    assert ran.code == 0, ran.err
    ran = kettle("gig", "add", "Friday", "--date", "2026-03-06", "--tag", "quartet")
    assert ran.code == 0, ran.err
    return kettle


def test_a_tune_says_where_a_phrase_fits(friday):
    """Both places on a line, the key, the tempo, that it is new there, and the bare bars."""
    out = friday("fits", "tram").out
    assert "no. 1, bars 2, 5, phrase Blue stairs, key E♭, how exact, tempo 120, ready? new" in out
    assert "Nothing fits: bar 1, bar 4." in out
    assert "To drill for it: Blue stairs in E♭ at 120." in out


def test_chances_are_those_of_the_day(friday):
    """What was played clean stands better on the day after than half a year later."""
    slow = ("--title", "Slow", "--key", "Bb", "--tempo", "66")
    friday("tune", "add", *slow, "--chart", "Cm7 F7 | Bbmaj7")
    friday("round", "1", "--all", keys="f\nf\n" + "s\n" * 10)
    soon = friday("fits", "slow", "--on", "2026-03-03").out
    late = friday("fits", "slow", "--on", "2026-09-03").out
    chances = [int(out.split("chance ")[1].split("%")[0]) for out in (soon, late)]
    assert chances[0] > chances[1] + 10


def test_parts_are_shown_where_they_are_asked_for(friday):
    """A ii-V that goes elsewhere takes the phrase's beginning."""
    friday(
        "tune", "add", "--title", "Elsewhere", "--key", "C", "--tempo", "120",
        "--chart", "Dm7 G7 | Ebmaj7 | Dm7 G7 | Ebmaj7",
    )  # fmt: skip
    assert "None of your phrases fits into this tune." in friday("fits", "elsewhere").out
    assert "bars 1, 3, phrase Blue stairs, key C, how its beginning" in " ".join(
        friday("fits", "elsewhere", "--parts").out.split()
    )


def test_all_tunes_together(friday):
    """Each tune as it is looked through; then which phrase serves most, which keys nobody needs."""
    out = friday("fits", "--all").out
    assert out.startswith("tune Tram to the lake, bars with a fit 67%\n")
    assert "phrase Blue stairs, tunes 1, places 2, keys E♭" in out
    assert "Keys that no tune needs: C, F, B♭, A♭" in out


@pytest.mark.parametrize("words", [[], ["1", "--all"]])
def test_fits_wants_one_tune_or_all(friday, words):
    """Neither and both are refused."""
    assert friday("fits", *words).code == ExitCode.BAD_INPUT


@pytest.mark.parametrize(
    ("words", "said"),
    [(["1", "--on", "2020-01-01"], "2020-01-01 is in the past"),
     (["--all", "--on", "2026-03-06"], "Leave --on out")],
)  # fmt: skip
def test_a_day_that_says_nothing_is_refused(friday, words, said):
    """One that is over, and one over all tunes, where no chances are told."""
    ran = friday("fits", *words)
    assert (ran.code, ran.out, ran.err.count("\n")) == (ExitCode.BAD_INPUT, "", 1)
    assert said in ran.err
    assert friday("fits", "1", "--on", "2026-03-02").code == ExitCode.OK


def test_a_gig_is_shown_until_its_day(friday):
    """Days, minutes, tunes and keys; after the day it says that it has been."""
    out = friday("gig", "show", "fri").out
    assert "Friday 2026-03-06, 4 days of practice at 20 minutes a day: 80 minutes in all." in out
    assert "tune Tram to the lake, tempo 120, bars covered 4 of 6" in out
    assert "phrase Blue stairs, key E♭, tempo 120, places 2" in out
    later = friday("gig", "show", "fri", now="2026-03-08T18:00:00Z").out
    assert "It was on Friday 2026-03-06" in later
    listed = friday("gig", "list").out
    assert listed == "no. 1, Friday, Fri 2026-03-06 (in 4 days): Tram to the lake\n"


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["--date", "2026-03-01", "--tunes", "1"], 3, "2026-03-01 is in the past"),
        (["--date", "soon", "--tunes", "1"], 3, "'soon' isn't a day. Name a weekday, as friday"),
        (["--date", "x" * 5000, "--tunes", "1"], 3, f"'{'x' * 40}' isn't a day. Name a weekday"),
        (["--date", "2026-03-06"], 3, "A gig needs tunes"),
        (["--date", "2026-03-06", "--tunes", "salt"], 4, "There is no tune 'salt'"),
        (["--date", "2026-03-06", "--tunes", "1, salt"], 4, "There is no tune 'salt'"),
        (["--date", "2026-03-06", "--tunes", "1,tram"], 3, "'Tram to the lake' is named twice"),
        (["--date", "2026-03-06", "--tunes", "1", "--tunes", "1"], 3, "Name each tune once."),
        (["--date", "2026-03-06", "--tag", "trio"], 4, "Your tags are quartet"),
        (["--date", "2026-03-06", "--tunes", "1", "--tag", ""], 4, "Your tags are quartet"),
    ],
)
def test_a_gig_that_cant_be_is_refused_in_one_line(friday, words, code, said):
    """What is wrong, then what to do; the list stays as it was."""
    ran = friday("gig", "add", "Saturday", *words)
    assert (ran.code, said in ran.err, ran.err.count("\n")) == (code, True, 1)
    assert "Saturday" not in friday("gig", "list").out


@pytest.mark.parametrize(
    ("typed", "day"),
    [("tuesday", 3), ("Fri", 6), (" SUNDAY", 8), ("monday", 9), ("2026-03-02", 2)],
)
def test_a_coming_day_may_be_a_weekdays_name(typed: str, day: int):
    """It is the next such day after today, which is a Monday here; a date may be today."""
    assert read_coming_day(typed, date(2026, 3, 2)) == date(2026, 3, day)


@pytest.mark.parametrize(
    "typed", ["fr", "f", "", "fridays", "2026-03-01", "yesterday", "2200-01-01"]
)
def test_what_is_no_coming_day_is_refused(typed: str):
    """Too short a beginning, another word, a day that is over, one that no export can hold."""
    with pytest.raises(BadInput):
        read_coming_day(typed, date(2026, 3, 2))


def test_a_gig_is_added_as_an_empty_list_proposes(friday):
    """The command that is shown there doesn't grow old."""
    friday("gig", "delete", "friday", "--yes")
    command = shlex.split(friday("gig", "list").out.partition("drillbox ")[2].replace(", 2", ""))
    ran = friday(*command)
    assert ran.out.startswith("no. 1, Friday, Fri 2026-03-06 (in 4 days): "), ran.err


@pytest.mark.parametrize(
    "words", ["Rain, rain, 1", "1,Rain, rain", "rain, rain,tram", "1, Rain, rain"]
)
def test_a_title_with_commas_stands_among_others(friday, words):
    """As many commas as a title has, wherever it stands."""
    friday("tune", "add", "--title", "Rain, rain", "--key", "C", "--tempo", "90", "--chart", "C6")
    ran = friday("gig", "add", "Sunday", "--date", "2026-03-08", "--tunes", words)
    titles = ["Tram to the lake", "Rain, rain"][:: 1 if words.startswith("1") else -1]
    assert (ran.code, ran.out.split("): ")[-1].strip()) == (0, ", ".join(titles))


@pytest.mark.parametrize(
    ("name", "said"),
    [("", "The title is empty. Give one, as in: drillbox gig add Friday"), (" \t", "empty")],
)
def test_a_gig_wants_a_name(friday, name, said):
    """It isn't called a phrase."""
    ran = friday("gig", "add", name, "--date", "2026-03-08", "--tunes", "1")
    assert (ran.code, said in ran.err, ran.err.count("\n")) == (3, True, 1)


@pytest.fixture
def evening(friday):
    """Return the command line over two more tunes, and a gig with the first and the last."""
    for title in ("Salt, slate", "Ferry"):
        chart = ("--key", "C", "--tempo", "120", "--chart", "Cmaj7 | G7")
        assert friday("tune", "add", "--title", title, *chart).code == 0
    assert friday("gig", "add", "Duo", "--date", "2026-03-07", "--tunes", "1, 3").code == 0
    return friday


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (["--name", "Trio"], "no. 2, Trio, Sat 2026-03-07 (in 5 days): Tram to the lake, Ferry"),
        (["--name", "DUO"], "no. 2, DUO, Sat 2026-03-07 (in 5 days): Tram to the lake, Ferry"),
        (["--date", "fri"], "no. 2, Duo, Fri 2026-03-06 (in 4 days): Tram to the lake, Ferry"),
        (["--tunes", "3, salt, slate"],
         "no. 2, Duo, Sat 2026-03-07 (in 5 days): Ferry, Salt, slate"),
        (["--drop", "tram", "--add", "2"],
         "no. 2, Duo, Sat 2026-03-07 (in 5 days): Ferry, Salt, slate"),
    ],
)  # fmt: skip
def test_a_gig_is_changed_and_keeps_its_number(evening, words, line):
    """Its name, its day, its tunes in their order; what isn't named stays as it was."""
    ran = evening("gig", "edit", "duo", *words)
    name = line.split(", ")[1]
    assert (ran.code, ran.out, ran.err) == (0, f"{line}\n{name!r} is changed.\n", "")
    assert line in evening("gig", "list").out.splitlines()
    assert "like that already" in evening("gig", "edit", "2", "--name", name).out


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["duo"], 3, "Nothing to change. Say what, as in: --date saturday."),
        (["duo", "--name", " "], 3, "The title is empty. Give one, as in: --name Friday"),
        (["duo", "--name", "friday"], 3, "There is a gig 'Friday' already"),
        (["duo", "--date", "2026-03-01"], 3, "2026-03-01 is in the past"),
        (["duo", "--drop", "salt"], 3, "'Salt, slate' isn't among the tunes of 'Duo'"),
        (["duo", "--drop", "1, 3"], 3, "A gig needs tunes. Leave one, or delete it"),
        (["duo", "--add", "tram"], 3, "'Tram to the lake' is among the tunes of 'Duo' already"),
        (["duo", "--tunes", "1, 1"], 3, "'Tram to the lake' is named twice"),
        (["duo", "--tunes", ""], 4, "There is no tune ''"),
        (["solo", "--date", "fri"], 4, "There is no gig 'solo'"),
    ],
)
def test_a_gig_that_cant_be_changed_so_stays_as_it_was(evening, words, code, said):
    """What is wrong, then what to do."""
    before = evening("gig", "list").out
    ran = evening("gig", "edit", *words)
    assert (ran.code, ran.out, said in ran.err, ran.err.count("\n")) == (code, "", True, 1)
    assert evening("gig", "list").out == before


def test_an_import_tells_how_a_gig_was_changed_there(evening, tmp_path):
    """With the command that has it back, which the next import doesn't undo."""
    other = ("--store", str(tmp_path / "other.sqlite3"))
    evening("store", "export", str(tmp_path / "here.json"))
    evening(*other, "store", "import", str(tmp_path / "here.json"))
    evening(*other, "gig", "edit", "duo", "--date", "fri", "--tunes", "3, 2",
            now="2026-03-02T19:00:00Z")  # fmt: skip
    said = evening("store", "import", other[1], now="2026-03-02T20:00:00Z").out.splitlines()
    assert said == [
        "Brought up to date: 1 gig.",
        "'Duo': date 2026-03-07 here, now 2026-03-06, now without 'Tram to the lake' and with"
        " 'Salt, slate'. To have it back: drillbox gig edit Duo --date 2026-03-07"
        " --tunes 'Tram to the lake, Ferry'",
    ]
    evening(*shlex.split(said[1].split("back: drillbox ")[1]), now="2026-03-02T21:00:00Z")
    assert "nothing was changed" in evening("store", "import", other[1]).out
    assert "no. 2, Duo, Sat 2026-03-07" in evening("gig", "list").out


def test_gigs_are_deleted_on_a_yes(friday):
    """Its tunes stay."""
    assert friday("gig", "delete", "friday").code == ExitCode.BAD_INPUT
    assert friday("gig", "delete", "friday", "--yes").out == "'Friday' is deleted.\n"
    assert "No gigs" in friday("gig", "list").out
    assert friday("tune", "show", "tram").code == 0


def attempts(place: Path) -> list[tuple]:
    """Return key, tempo, recall and times of every attempt."""
    words = """
        SELECT card.key, attempt.tempo, recall, loops, in_round FROM attempt
        JOIN card ON card.id = card_id WHERE undone_at IS NULL ORDER BY attempt.id
    """
    with closing(sqlite3.connect(place)) as database:
        return database.execute(words).fetchall()


def test_what_is_played_in_a_tune_counts_at_its_tempo(friday, place: Path):
    """Two choruses with two places each are one attempt at the tune's tempo, and told so."""
    ran = friday("--ascii", "round", "--tune", "tram", "--all", keys="c\nq\n")
    assert ran.code == 0, ran.err
    assert "Tram to the lake, tempo 120, 4/4" in ran.out
    assert "How was Blue stairs in Eb? It came 4 times, tempo 120." in ran.out
    assert "1 go in" in ran.out
    assert "1 clean" in ran.out
    assert attempts(place) == [("Eb", 120, 3, 4, 1)]
    assert "listened" not in ran.err
    friday("settings", "listen", "mic")
    ran = friday("round", "--tune", "tram", "--tempo", "90", "--loops", "1", keys="r\nq\n")
    assert "A tune isn't listened to: rate each phrase yourself." in ran.err
    assert attempts(place)[-1] == ("Eb", 90, 2, 2, 1)


def test_a_tune_takes_keys_that_were_played(friday):
    """One that wasn't is only taken with --all."""
    ran = friday("round", "--tune", "tram", keys="c\n")
    assert ran.code == ExitCode.BAD_INPUT
    assert "None of the keys that you have played fits" in ran.err
    for words in (["1", "--tune", "1"], ["--tune", "1", "--order", "fourths"], []):
        assert friday("round", *words, keys="c\n").code == ExitCode.BAD_INPUT


def test_an_empty_store_says_what_to_do(drillbox):
    """Without phrases, and without tunes."""
    assert "No phrases yet" in drillbox("fits", "--all").out
    unknown = drillbox("fits", "nosuch")
    assert (unknown.code, unknown.out) == (ExitCode.NOT_FOUND, "")
    assert "There is no tune 'nosuch'" in unknown.err
    drillbox("add", "--title", "A", "--key", "C", "--tempo", "99", "--chart", "Dm7 G7 | C (A7)")
    assert "No tunes yet" in drillbox("fits", "--all").out
    assert "drillbox tune add" in drillbox("fits", "1").err


def test_a_drill_for_a_gig_plays_what_it_needs(friday, place: Path):
    """The key of its fits alone, no faster than its tunes; after the day it says so."""
    friday("tune", "add", "--title", "Slow", "--key", "Eb", "--tempo", "60", "--tag", "slow",
           "--chart", "Fm7 Bb7 | Ebmaj7")  # fmt: skip
    friday("gig", "add", "Later", "--date", "2026-05-01", "--tag", "slow")
    ran = friday("--ascii", "drill", "--gig", "later", keys="c\nq\n")
    assert ran.code == 0, ran.err
    assert "Narrowed to 1 key; 11 keys left out." in ran.out
    assert attempts(place) == [("Eb", 60, 3, 2, 0)]
    over = friday("drill", "--gig", "later", now="2026-05-02T18:00:00Z")
    assert (over.code, "'Later' was on 2026-05-01" in over.err) == (3, True)


@pytest.mark.parametrize(
    "damage",
    [
        """UPDATE tune SET chart = '{"x": 1}'""",
        "UPDATE tune SET form = 'X9'",
        "UPDATE tune SET key = 'H'",
        "UPDATE tune SET tags = '[['",
    ],
)
def test_a_tune_that_cant_be_read_is_told_in_a_line(friday, place: Path, damage: str):
    """Values that no drillbox wrote: one line, the store's exit code, no traceback."""
    with closing(sqlite3.connect(place)) as database, database:
        database.execute(damage)
    reading = ("tune list", "gig list", "fits 1", "fits --all", "gig show friday", "round --tune 1")
    for words in map(str.split, reading):
        ran = friday(*words)
        assert ran.code == ExitCode.STORE, words
        assert ran.err.splitlines()[-1].startswith("drillbox: ")
        assert "Traceback" not in ran.err
