"""``drillbox round`` through a pipe: each key in order, one rating a line, each on disk at once."""

from __future__ import annotations

import re
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from drillbox.errors import ExitCode


def keys_shown(out: str) -> list[str]:
    """Return the keys in the order in which they were shown."""
    return re.findall(r"^Blue stairs, key (\S+), \d+ of", out, re.MULTILINE)


def rows(place: Path, words: str) -> list[tuple]:
    """Return what a query finds in the store."""
    with closing(sqlite3.connect(place)) as database:
        return database.execute(words).fetchall()


@pytest.fixture
def three(kettle):
    """Return the command line over a store in which three keys of the phrase are open."""
    ran = kettle("--ascii", "round", "blue", "--all", keys="c\nf\nr\n")
    assert ran.code == 0, ran.err
    return kettle


def test_a_round_goes_through_the_open_keys_in_their_own_order(three):
    """Only the keys that were opened are shown, the written one first."""
    ran = three("--ascii", "round", "blue", keys="s\ns\n")
    assert keys_shown(ran.out) == ["Bb", "Eb", "Ab"]
    assert "Nothing was rated" in ran.out


def test_each_turnaround_leads_to_the_next_key_and_the_last_one_home(three):
    """The dominant of the next key's first chord: C7 to Fm7, F7 to Bbm7, G7 back to Cm7."""
    out = three("--ascii", "round", "blue", keys="s\ns\n").out
    assert "Cm7 F7 | Bbmaj7 (C7)" in out
    assert "Fm7 Bb7 | Ebmaj7 (F7)" in out
    assert "Bbm7 Eb7 | Abmaj7 (G7)" in out


@pytest.mark.parametrize(
    ("order", "expected"),
    [
        ("fourths", "Bb Eb Ab Db Gb B E A D G C F"),
        ("semitones-down", "Bb A Ab G Gb F E Eb D Db C B"),
        ("whole-tones", "Bb C D E Gb Ab B Db Eb F G A"),
    ],
)
def test_orders(kettle, order: str, expected: str):
    """All twelve keys in an order that was named, from the written key on."""
    ran = kettle("--ascii", "round", "blue", "--all", "--order", order, keys="s\n" * 11)
    assert keys_shown(ran.out) == expected.split()


def test_the_round_may_begin_in_another_key(three):
    """From that key on the order is followed round."""
    out = three("--ascii", "round", "blue", "--from", "Eb", keys="s\ns\n").out
    assert keys_shown(out) == ["Eb", "Ab", "Bb"]


def test_ratings_count_like_any_other_marked_as_of_a_round(three, place: Path):
    """Three attempts of one session of the kind round; a new key was opened by its rating."""
    assert rows(place, "SELECT recall, in_round, loops FROM attempt ORDER BY id") == [
        (3, 1, 1), (4, 1, 1), (2, 1, 1),
    ]  # fmt: skip
    assert rows(place, "SELECT DISTINCT kind FROM drill_session") == [("round",)]
    assert rows(place, "SELECT count(*) FROM card WHERE opened_day = '2026-03-02'") == [(3,)]
    assert "goes 1" in three("--ascii", "--plain", "show", "blue").out


def test_the_recap_tells_how_it_went(three):
    """As after a drill: counts, tempos and due days."""
    out = three("--ascii", "round", "blue", "--loops", "10", keys="l\nc\n").out
    assert "2 goes in 2 min" in out  # 8 beats ten times at 69 each
    assert "1 lost, 1 clean" in out
    assert "due" in out


def test_one_tempo_the_slowest_of_its_keys(three):
    """Bb and Eb went up; Ab was rough and fell to 69, and so slow is the round."""
    assert "key Eb" in three("--ascii", "round", "blue", keys="s\n").out
    out = three("--ascii", "round", "blue", keys="s\ns\n").out
    assert re.findall(r"tempo (\d+)", out) == ["69", "69", "69"]
    out = three("--ascii", "round", "blue", "--tempo", "100", keys="s\ns\n").out
    assert re.findall(r"tempo (\d+)", out) == ["100", "100", "100"]


def test_undo_skip_and_keys_that_mean_nothing(three, place: Path):
    """Undo goes back to the key taken back; a skipped key is left unrated."""
    ran = three("--ascii", "round", "blue", keys="c\nu\nx\nl\ns\nf\n")
    assert "Rating undone" in ran.out
    assert "'x' does nothing here" in ran.out
    assert "Eb is left unrated" in ran.out
    assert "The round is over" in ran.out
    kept = "SELECT recall FROM attempt WHERE undone_at IS NULL ORDER BY id"
    assert [row[0] for row in rows(place, kept)][3:] == [1, 4]


def test_undo_with_nothing_rated_says_so(three):
    """There is nothing to take back at a round's beginning."""
    assert "Nothing to undo" in three("round", "blue", keys="u\n").out


def test_loops_are_kept_with_the_attempts(kettle, place: Path):
    """Times through each key are what the attempt says."""
    kettle("round", "blue", "--all", "--loops", "3", keys="c\n")
    (found,) = rows(place, "SELECT loops, seconds FROM attempt")
    assert found == (3, pytest.approx(3 * 8 * 60 / 72))


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [
        (["blue"], ExitCode.BAD_INPUT, "--all"),
        (["red"], ExitCode.NOT_FOUND, "no phrase"),
        (["blue", "--tune", "ninth"], ExitCode.BAD_INPUT, "Both a phrase and --tune were given"),
        (["--tag", "x", "--tune", "ninth"], ExitCode.BAD_INPUT, "Both --tag and --tune"),
        (["--tune", "ninth", "--from", "Ab"], ExitCode.BAD_INPUT, "A tune has its own keys"),
        (["--tune", "ninth", "--order", ""], ExitCode.BAD_INPUT, "A tune has its own keys"),
        (["blue", "--all", "--order", "sideways"], ExitCode.BAD_INPUT, "fourths"),
        (["blue", "--all", "--order", "own"], ExitCode.BAD_INPUT, "settings own_order 'C G"),
        (["blue", "--all", "--from", "H"], ExitCode.BAD_INPUT, "isn't a key"),
        (
            ["blue", "--all", "--from", "Cm"],
            ExitCode.BAD_INPUT,
            "t played in Cm. It's played in Bb,",
        ),
        (["blue", "--from", "Eb"], ExitCode.BAD_INPUT, "--all"),
        (["blue", "--all", "--tempo", "0"], ExitCode.BAD_INPUT, "20 to 400"),
        (["blue", "--all", "--tempo", "fast"], ExitCode.BAD_INPUT, "a whole number"),
        (["blue", "--all", "--loops", "0"], ExitCode.USAGE, "loops"),
    ],
)
def test_what_cannot_be(kettle, place: Path, arguments: list[str], code: int, said: str):
    """One line that says what to do; no session is begun."""
    ran = kettle("round", *arguments)
    assert ran.code == code
    assert said in ran.err
    assert "Traceback" not in ran.err
    assert rows(place, "SELECT count(*) FROM drill_session") == [(0,)]


def test_a_retired_phrase_is_not_played(three, place: Path):
    """As in a drill: nothing is rated before it is back."""
    three("retire", "blue")
    ran = three("round", "blue", keys="c\n")
    assert (ran.code, ran.out) == (ExitCode.BAD_INPUT, "")
    assert ran.err == (
        "drillbox: 'Blue stairs' is retired. Bring it back first: drillbox retire 'Blue stairs'"
        " --back\n"
    )
    assert rows(place, "SELECT count(*) FROM attempt") == [(3,)]


def test_of_a_tag_those_are_left_out_that_cannot_be_played_so(kettle):
    """Named before the first begins: none stops the others half way. New keys come with --all."""
    kettle("add", "--title", "Tin roof", "--key", "Cm", "--tempo", "120",
           "--chart", "Dm7b5 G7 | Cm6 (A7)")  # fmt: skip
    for phrase in ("blue", "tin"):
        kettle("edit", phrase, "--tag", "duo")
    ran = kettle("round", "--tag", "duo", "--all", "--from", "F", keys="q\n")
    assert [line for line in ran.out.splitlines() if " of 1: " in line] == ["1 of 1: Blue stairs"]
    assert ran.err.startswith("'Tin roof' isn't played in F: left out\n")
    ran = kettle("round", "tin", "--tag", "duo", "--from", "F")
    assert (ran.code, ran.out) == (ExitCode.BAD_INPUT, "")
    assert "'Tin roof' isn't played in F" in ran.err


def test_of_many_that_are_left_out_some_are_named(kettle):
    """A tag of many phrases fills no screen before the first of them."""
    for number in range(5):
        kettle("add", "--title", f"Tin roof {number}", "--key", "Cm", "--tempo", "120",
               "--chart", "Dm7b5 G7 | Cm6 (A7)")  # fmt: skip
        kettle("edit", f"Tin roof {number}", "--tag", "duo")
    kettle("edit", "blue", "--tag", "duo")
    ran = kettle("round", "--tag", "duo", "--all", "--from", "F", keys="q\n")
    assert ran.err.count("isn't played in F: left out") == 3
    assert "2 more phrases left out" in ran.err


def test_a_tag_plays_its_phrases_one_after_the_other(kettle):
    """Each with a key open, in turn, from the one that is named; a stop ends them all."""
    kettle("add", "--title", "Tin roof", "--key", "C", "--tempo", "120",
           "--chart", "Dm7 G7 | Cmaj7 (A7)")  # fmt: skip
    for phrase in ("blue", "tin"):
        kettle("edit", phrase, "--tag", "duo")
    assert kettle("round", "--tag", "duo").code == ExitCode.BAD_INPUT
    kettle("settings", "goes", "1")
    kettle("drill", keys="c\nc\nq\n")
    ran = kettle("round", "--tag", "duo", keys="c\nx\nc\nx\n")
    titles = [line for line in ran.out.splitlines() if " of 2: " in line]
    assert titles == ["1 of 2: Blue stairs", "2 of 2: Tin roof"]
    assert "The round is over. u undoes the last rating, q stops here" in ran.out
    for stopped in ("q\n", "c\nq\nc\n", "c\n", ""):  # the last two by the end of the input
        ran = kettle("round", "tin", "--tag", "duo", keys=stopped)
        titles = [line for line in ran.out.splitlines() if " of 2: " in line]
        assert titles == ["1 of 2: Tin roof"]
    assert kettle("round", "--tag", "none").code == ExitCode.NOT_FOUND
