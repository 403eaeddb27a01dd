"""``phrases``, ``show``, ``retire``, ``upcoming`` and ``settings`` from the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillbox.cli import run
from drillbox.errors import ExitCode
from tests.conftest import copied

pytestmark = pytest.mark.usefixtures("made")


@pytest.fixture(scope="module")
def filled(empty: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the file of a store with three invented phrases; copy it, don't change it."""
    file = copied(empty, tmp_path_factory.mktemp("filled") / "store.sqlite3")
    for title in ("Blue stairs", "Blue door", "Tin roof"):
        run(["--store", str(file), "add", "--title", title, "--key", "C", "--tempo", "120",
             "--chart", "Dm7 G7 | Cmaj7 (A7)"])  # fmt: skip
    return file


@pytest.fixture
def three(filled: Path, place: Path, drillbox):
    """Return the command line over a store of three invented phrases."""
    copied(filled, place)
    return drillbox


def test_phrases_lists_titles_keys_and_goals(three):
    """One line for each phrase, with its number."""
    out = three("phrases").out
    assert "no. 1, phrase Blue stairs, key C, goal 120" in out
    assert out.count("phrase") == 3


@pytest.mark.parametrize("named", ["Tin roof", "tin ROOF", "tin", "3"])
def test_a_phrase_is_found_by_title_beginning_or_number(three, named: str):
    """Case doesn't count; the beginning is enough where it is the only one."""
    assert "Tin roof" in three("show", named).out


def test_a_name_that_could_be_several_names_them(three):
    """Both are said, and nothing is guessed."""
    ran = three("show", "blue")
    assert ran.code == ExitCode.NOT_FOUND
    assert "Blue stairs" in ran.err
    assert "Blue door" in ran.err


def test_a_name_that_matches_none_names_those_near(three):
    """A slip of the finger gets the title that was meant."""
    ran = three("show", "Tim roof")
    assert ran.code == ExitCode.NOT_FOUND
    assert "Near it: 'Tin roof'" in ran.err
    assert ran.err.count("\n") == 1


def test_show_tells_each_key_in_the_order_it_opens(three):
    """Twelve keys by fourths from the written one, none open yet."""
    out = three("--ascii", "show", "Tin roof").out
    keys = [line.split(",")[0] for line in out.splitlines() if line.startswith("key ")]
    order = ["C", "F", "Bb", "Eb", "Ab", "Db", "Gb", "B", "E", "A", "D", "G"]
    assert [key for key in keys if "·" not in key][-12:] == [f"key {name}" for name in order]


def test_a_retired_phrase_leaves_the_drill_and_comes_back(three):
    """Nothing of it is lost: its attempts are there when it returns."""
    three("drill", "Blue stairs", keys="l\n" * 3)
    assert "goes 3" in three("show", "Blue stairs").out
    assert three("retire", "Blue stairs").code == ExitCode.OK
    assert "Blue stairs" not in three("phrases").out
    assert "Blue stairs" in three("phrases", "--retired").out
    lost = three("phrases", "--retired", "nosuch").err
    assert lost.endswith("See them all: drillbox phrases --retired\n")
    later = "2026-03-20T18:00:00Z"
    assert "Blue stairs" not in three("drill", now=later, keys="c\n" * 4).out
    assert three("retire", "Blue stairs", "--back").code == ExitCode.OK
    assert "goes 3" in three("show", "Blue stairs").out


def test_what_is_as_it_was_told_to_be_is_said_to_be(three):
    """Retired twice, or brought back though it never was away: it says so and changes nothing."""
    assert three("retire", "Blue stairs", "--back").out == (
        "'Blue stairs' isn't retired; nothing is changed.\n"
    )
    assert (
        three("retire", "Blue stairs").out == "'Blue stairs' is retired; --back brings it back.\n"
    )
    assert three("retire", "Blue stairs").out == "'Blue stairs' is retired already.\n"
    assert three("retire", "Blue stairs", "--back").out == "'Blue stairs' is back in your drills.\n"


def test_what_comes_back_is_a_retired_phrase_of_that_beginning(three):
    """Though one in practice begins so too; by its whole title that one is meant."""
    three("retire", "Blue stairs")
    assert three("retire", "blue", "--back").out == "'Blue stairs' is back in your drills.\n"
    three("retire", "Blue stairs")
    assert "'Blue door' isn't retired" in three("retire", "blue door", "--back").out


def test_where_all_are_retired_the_list_says_so(three):
    """They aren't forgotten: it is said where they are."""
    for title in ("1", "2", "3"):
        assert three("retire", title).code == ExitCode.OK
    assert three("phrases").out == (
        "All your phrases are retired. See them with 'drillbox phrases --retired'\n"
    )


def test_the_summary_counts_the_keys_that_are_due(three):
    """Three keys whose first go was clean are due two days later; none is on the day itself."""
    three("settings", "goes", "1")
    three("settings", "minutes", "1")  # short days are soon looked ahead over
    three("drill", keys="c\nc\nc\n")
    assert "; 0 due." in three("summary").out
    assert "; 3 due." in three("summary", now="2026-03-04T18:00:00Z").out


def test_upcoming_shows_each_of_the_days(three):
    """From today on, as many as were asked for, and what they come to."""
    out = three("upcoming", "--days", "5").out.splitlines()
    days = ["today", "Tue 3 Mar", "Wed 4 Mar", "Thu 5 Mar", "Fri 6 Mar"]
    assert [line.split(":")[0] for line in out[:5]] == days
    assert out[5].startswith("The days ahead are a guess")  # nothing was played yet
    assert out[6].startswith("By 6 Mar: ")


def test_settings_are_listed_changed_and_put_back(drillbox):
    """Every setting says its reason; a value out of its bounds is refused in one line."""
    assert "goes = 1" in drillbox("settings").out
    assert drillbox("settings", "goes", "5").code == ExitCode.OK
    assert "goes = 5 (default 1)" in drillbox("settings", "goes").out
    wrong = drillbox("settings", "goes", "many")
    assert wrong.code == ExitCode.BAD_INPUT
    assert wrong.err.count("\n") == 1
    assert drillbox("settings", "nosuch", "1").code == ExitCode.BAD_INPUT
    drillbox("settings", "goes", "--reset")
    assert "goes = 1" in drillbox("settings", "goes").out


@pytest.mark.parametrize(
    ("name", "good", "bad"),
    [
        ("order", "semitones-up", "sideways"),
        ("own_order", "C G D A E B Gb Db Ab Eb Bb F", "C G D"),
        ("gb", "F#", "G"),
        ("instrument", "tenor sax", "kazoo orchestra"),
        ("zone", "Europe/Lisbon", "Mars/Olympus"),
        ("click", "bell", "gong"),
        ("volume", "40", "400"),
        ("volume", "40", "9" * 5000),  # past what Python reads as a number
        ("backup_room", "40", "9" * 5000),
        ("listen_to", "Yamaha", b"Yamah\xe9".decode(errors="surrogateescape")),
        ("listen_to", "Yamaha", "y" * 501),
    ],
)
def test_habits_take_good_values_and_refuse_bad_ones(drillbox, name: str, good: str, bad: str):
    """Each habit is checked when it is set, not when it is used."""
    assert drillbox("settings", name, good).code == ExitCode.OK
    assert good in drillbox("settings", name).out
    refused = drillbox("settings", name, bad)
    assert (refused.code, refused.err.count("\n")) == (ExitCode.BAD_INPUT, 1)
    assert len(refused.err) < 600


@pytest.mark.parametrize(
    "command", [("drill",), ("phrases",), ("summary",), ("upcoming",), ("fits", "--all")]
)
def test_all_phrases_retired_is_said_everywhere(three, command: tuple[str, ...]):
    """Not that there are none: they can come back."""
    for number in "123":
        three("retire", number)
    ran = three(*command)
    assert ran.code == ExitCode.OK
    assert ran.out == ("All your phrases are retired. See them with 'drillbox phrases --retired'\n")
