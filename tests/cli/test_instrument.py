"""The player's instrument: what is typed is read as written for it, and all is shown so."""

from __future__ import annotations

from pathlib import Path

import pytest

from drillbox.errors import ExitCode

pytestmark = pytest.mark.usefixtures("made")

GIVEN = ("--tempo", "120", "--chart", "Dm7 G7 | Cmaj7 (A7)")
TENOR = "tenor sax"


@pytest.fixture
def tenor(drillbox):
    """Return the command line of a tenor player: written C sounds Bb, a ninth lower."""
    assert drillbox("settings", "instrument", TENOR).code == ExitCode.OK
    return drillbox


def stored_key(place: Path) -> str:
    """Return the key that the store holds for the first phrase."""
    import sqlite3

    with sqlite3.connect(place) as connection:
        return str(connection.execute("SELECT key FROM phrase ORDER BY id").fetchone()[0])


def test_a_typed_chart_is_taken_as_written_and_that_is_said(tenor, place: Path):
    """Written C on a tenor is concert Bb: so it is kept, and shown as it was typed."""
    ran = tenor("--ascii", "add", "--title", "Back stairs", "--key", "C", *GIVEN)
    assert ran.code == ExitCode.OK, ran.err
    assert ran.err == ("Read as written for tenor sax: C is concert Bb (--concert declines it)\n")
    assert "key C - 4/4" in ran.out
    assert "  C    Dm7 G7 | Cmaj7 (A7)\n  F    Gm7 C7 | Fmaj7 (D7)\n" in ran.out
    assert stored_key(place) == "Bb"
    signs = tenor("add", "--title", "Up stairs", "--key", "Eb", *GIVEN)
    assert signs.err.startswith("Read as written for tenor sax: E♭ is concert D♭ ("), signs.out


@pytest.mark.parametrize(
    ("typed", "name"),
    [("Bb trumpet", "trumpet"), ("eb alto", "alto sax"), ("F horn", "horn"),
     ("bb tenor sax", TENOR), ("bb e3-bb5", "Bb E3-Bb5"), ("Bb E3-Bb5", "Bb E3-Bb5"),
     ("b", "double bass")],
)  # fmt: skip
def test_an_instrument_is_known_as_players_call_it(drillbox, typed: str, name: str):
    """With its key before it, and in small letters."""
    assert drillbox("settings", "instrument", typed).out == f"instrument is now {name}.\n"


def test_an_instrument_in_another_key_is_not_that_instrument(drillbox):
    """A trumpet in C isn't the one in Bb."""
    ran = drillbox("settings", "instrument", "C trumpet")
    assert ran.code == ExitCode.BAD_INPUT
    assert "Write one of trumpet, " in ran.err


def test_concert_pitch_can_be_said(tenor, place: Path):
    """With --concert the chart is as it sounds, and reads a tone higher."""
    ran = tenor("--ascii", "add", "--title", "Back stairs", "--key", "C", "--concert", *GIVEN)
    assert ran.err == ""
    assert "key D - 4/4" in ran.out
    assert "  D    Em7 A7 | Dmaj7 (B7)\n" in ran.out
    assert stored_key(place) == "C"


def test_another_instrument_shows_the_same_phrase_in_its_own_pitch(tenor):
    """Concert Bb: C for a tenor, G for an alto (a major sixth), Bb at the piano."""
    tenor("add", "--title", "Back stairs", "--key", "C", *GIVEN)
    for name, key, chart in (
        (TENOR, "C", "Dm7 G7 | Cmaj7 (A7)"),
        ("alto sax", "G", "Am7 D7 | Gmaj7 (E7)"),
        ("piano", "Bb", "Cm7 F7 | Bbmaj7 (G7)"),
        ("guitar", "Bb", "Cm7 F7 | Bbmaj7 (G7)"),
    ):
        tenor("settings", "instrument", name)
        assert f"key {key}, goal 120" in tenor("--ascii", "phrases").out
        shown = tenor("--ascii", "show", "back").out
        assert f"key {key} - 4/4" in shown
        assert f"chart {chart}\n" in shown
        drilled = tenor("--ascii", "drill").out
        assert f"Back stairs, key {key}, tempo 72" in drilled
        assert f"  {chart}\n" in drilled


def test_ratings_hints_and_the_recap_name_what_is_read(tenor):
    """Note names in hint 3, the key in what a rating says, the key in the recap."""
    tenor("add", "--title", "Back stairs", "--key", "C", *GIVEN)
    out = tenor("--ascii", "drill", keys="h\nh\nh\nr\n").out
    assert "bar 1  Dm7: D F A C; G7: G B D F" in out
    assert "Back stairs in C: rough." in out
    assert "phrase Back stairs, key C, goes 1, tempo 72" in out


def page(folder: Path, key: str) -> str:
    """Write an ABC page whose key is given so; return where."""
    path = folder / "line.abc"
    path.write_text(
        f"%abc-2.1\nX:1\nT:Red door\nM:4/4\nL:1/8\nQ:1/4=120\nK:{key}\n"
        '"Dm7"FAce "G7"dB_AF | "Cmaj7"E4 "(A7)"z4 |\n',
        encoding="utf-8",
    )
    return str(path)


def test_an_abc_line_is_read_as_written_and_lies_in_the_range(tenor, tmp_path: Path):
    """The hint names the notes as the file has them; the octave is the tenor's."""
    ran = tenor("--ascii", "add", page(tmp_path, "C"))
    assert "C is concert Bb" in ran.err
    assert "check:" not in ran.out
    out = tenor("--ascii", "drill", keys="h\nh\nh\n").out
    assert "bar 1  Dm7: F A C E; G7: D B Ab F" in out


def test_a_page_that_says_how_it_sounds_is_not_moved_again(tenor, tmp_path: Path):
    """ABC with transpose=-2 is at concert pitch already: Bb, which a tenor reads as C."""
    ran = tenor("--ascii", "add", page(tmp_path, "C transpose=-2"))
    assert "Read as written" not in ran.err
    assert "key C - 4/4" in ran.out


def test_a_proposed_turnaround_is_told_in_written_pitch(tenor):
    """A7 leads back to the written Dm7."""
    ran = tenor("--ascii", "add", "--title", "One", "--key", "C", "--tempo", "120",
                "--chart", "Dm7 G7 | Cmaj7")  # fmt: skip
    assert "One: turnaround added, Dm7 G7 | Cmaj7 (A7)" in ran.err


def test_the_players_own_order_is_in_the_keys_that_they_read(tenor):
    """Own order C G D ...: the written C opens first, then the written G."""
    tenor("settings", "own_order", "C G D A E B Gb Db Ab Eb Bb F")
    out = tenor(
        "--ascii", "add", "--title", "One", "--key", "C", "--order", "own", *GIVEN
    ).out  # fmt: skip
    assert "  C    Dm7 G7 | Cmaj7 (A7)\n  G    Am7 D7 | Gmaj7 (E7)\n  D " in out


def test_another_order_of_ones_own_is_taken_where_it_is_asked_for(tenor):
    """A phrase keeps the order of then until it is told again; then its keys change places."""
    first, other = "C G D A E B Gb Db Ab Eb Bb F", "C F Bb Eb Ab Db Gb B E A D G"
    tenor("settings", "own_order", first)
    tenor("add", "--title", "One", "--key", "C", "--order", "own", *GIVEN)
    tenor("settings", "own_order", other)
    assert "nothing is changed" in tenor("edit", "one", "--goal", "120").out
    edited = tenor("edit", "one", "--order", "own").out
    assert f"order: was own ({first}), becomes own ({other})\n" in edited
    shown = tenor("--ascii", "show", "one").out
    assert shown.index("key F,") < shown.index("key G,")
    assert "nothing is changed" in tenor("edit", "one", "--order", "own").out


def test_an_empty_own_order_says_how_to_set_it(drillbox):
    """Nothing is stored, and the way is named."""
    ran = drillbox("add", "--title", "One", "--key", "C", "--order", "own", *GIVEN)
    assert ran.code == ExitCode.BAD_INPUT
    assert "drillbox settings own_order" in ran.err


def test_the_spelling_of_a_key_follows_the_setting_at_once(drillbox):
    """Gb becomes F# wherever it is shown, chart and all; a key written as Gb stays so."""
    drillbox("add", "--title", "One", "--key", "C", *GIVEN)
    drillbox("add", "--title", "Two", "--key", "Gb", "--tempo", "120", "--chart", "Gbmaj7 (Db7)")
    assert "key Gb, tempo -" in drillbox("--ascii", "show", "one").out
    drillbox("settings", "gb", "F#")
    one = drillbox("--ascii", "show", "one").out
    assert "key F#, tempo -" in one
    assert "chart G#m7 C#7 | F#maj7 (D#7)" in one
    assert "key Gb - 4/4" in drillbox("--ascii", "show", "two").out


def test_the_summary_names_keys_as_they_are_read(tenor):
    """A rated written C is C in the summary, asked for as C, and Bb at the piano."""
    tenor("add", "--title", "Back stairs", "--key", "C", *GIVEN)
    tenor("settings", "minutes", "1")  # short days are soon looked ahead over
    tenor("drill", keys="c\n")
    assert "key C" in tenor("--ascii", "summary").out
    assert "Back stairs" in tenor("--ascii", "summary", "--key", "C").out
    assert "Nothing of Bb was played yet" in tenor("--ascii", "summary", "--key", "Bb").out
    tenor("settings", "instrument", "piano")
    out = tenor("--ascii", "summary").out
    assert "key Bb" in out
    assert "key C," not in out


PAGE = """%abc-2.1
X:1
T:Grey stairs
M:4/4
L:1/4
Q:1/4=120
K:C{clef}
"Cmaj7"c4|"G7"g4|]
"""


def test_a_list_of_bars_is_in_the_pitch_that_is_read(tenor, tmp_path: Path):
    """As the page stands, or a tone higher where the file or the player says it is concert."""
    page, sounding = tmp_path / "page.abc", tmp_path / "sounding.abc"
    page.write_text(PAGE.format(clef=""))
    sounding.write_text(PAGE.format(clef=" transpose=0"))
    assert "bar 1: Cmaj7\nbar 2: G7" in tenor("add", str(page), "--list").out
    for said in ((str(page), "--concert"), (str(sounding),)):
        listed = tenor("--ascii", "add", *said, "--list").out
        assert "key D - 4/4" in listed
        assert "bar 1: Dmaj7\nbar 2: A7" in listed
    for said in ((str(page), "--concert", "--title", "One"), (str(sounding), "--title", "Two")):
        assert "| Dmaj7    | A7       |" in tenor("--ascii", "tune", "add", *said).out
