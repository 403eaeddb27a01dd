"""``drillbox drill`` through a pipe: one rating a line, each on disk, the rest said plainly."""

from __future__ import annotations

import pytest

from drillbox.errors import ExitCode


def test_a_card_shows_title_key_chords_and_tempo_and_no_notes(kettle):
    """All that a player sees: no melody, no staff, no hint that wasn't asked for."""
    ran = kettle("--ascii", "drill")
    assert ran.code == ExitCode.OK
    assert (
        "Blue stairs, key Bb, tempo 72, goal 120, first go today, 4/4, 20 minutes left" in ran.out
    )
    assert "Cm7 F7 | Bbmaj7 (G7)" in ran.out
    assert "hint 1" not in ran.out
    assert "Nothing was rated" in ran.out


def test_a_rating_is_stored_and_the_recap_says_how_it_went(kettle):
    """One clean attempt: the recap counts it and says when the card is due."""
    ran = kettle("--ascii", "drill", keys="c\n")
    assert "Blue stairs in Bb: clean." in ran.out
    assert "1 go in" in ran.out
    assert "1 clean" in ran.out
    assert "due in 2 days" in ran.out
    assert "goes 1" in kettle("--ascii", "show", "blue").out


def test_the_four_ratings_by_letter_or_word(kettle):
    """l, r, c, f and the words themselves rate; capitals do too."""
    for typed, word in (("l", "lost"), ("R", "rough"), ("clean", "clean"), ("f", "fluent")):
        ran = kettle("drill", keys=f"{typed}\nu\n")
        assert f": {word}." in ran.out


def test_a_key_that_does_not_exist_changes_nothing_but_says_so(kettle):
    """An unknown key is named; the card stays; nothing is stored."""
    ran = kettle("drill", keys="x\n7\n\nwhat\n")
    assert "'x' does nothing here" in ran.out
    assert "'7' does nothing here" in ran.out
    assert "drillbox: Line 3 is empty; it rates nothing.\n" in ran.err
    assert "'what' does nothing here" in ran.out
    assert "Nothing was rated" in ran.out


def test_undo_takes_the_rating_back_to_the_card(kettle):
    """After undo the card is as before: unopened, at its first tempo, and shown once more."""
    before = kettle("show", "blue").out
    ran = kettle("drill", keys="l\nu\n")
    assert "Rating undone" in ran.out
    assert "Nothing was rated" in ran.out
    assert kettle("show", "blue").out == before
    assert "Nothing to undo" in kettle("drill", keys="u\n").out


def test_a_lost_key_comes_back_in_the_same_session(drillbox):
    """After goes at others, slower each time, until it has come out clean."""
    for title in ("One", "Two", "Three", "Four", "Five"):
        drillbox("add", "--title", title, "--key", "C", "--tempo", "120",
                 "--chart", "Dm7 G7 | Cmaj7 (A7)")  # fmt: skip
    ran = drillbox("drill", keys="l\nc\nc\nc\nl\nc\nc\nc\nc\nc\n")
    shown = [
        line.split(", ") for line in ran.out.splitlines() if " left" in line and "tempo" in line
    ]
    back = [(place, each[2]) for place, each in enumerate(shown) if each[:2] == ["One", "key C"]]
    assert back == [(0, "tempo 72"), (4, "tempo 66"), (7, "tempo 60")]


def test_a_phrase_opens_no_other_key_before_the_last_was_clean(kettle):
    """One that stays lost is tried again and again, and no other key is begun."""
    ran = kettle("drill", keys="l\n" * 9)
    shown = [
        line.split(", ")[1] for line in ran.out.splitlines() if " left" in line and "tempo" in line
    ]
    assert set(shown) == {"key B♭"}


def test_skip_leaves_the_card_for_this_session(kettle):
    """A skipped card isn't rated, and isn't shown again before the next session."""
    ran = kettle("drill", keys="s\n")
    assert "Skipped" in ran.out
    assert "Nothing was rated" in ran.out
    assert "Blue stairs" in kettle("drill").out


def test_hints_climb_a_ladder_and_the_third_caps_the_rating(kettle):
    """Each hint is recorded with the attempt; after the third no more than rough counts."""
    ran = kettle("--ascii", "drill", keys="h\nh\nh\nf\n")
    for heading in ("hint 1 of 3", "hint 2 of 3", "hint 3 of 3"):
        assert heading in ran.out
    assert "Cm7: b3 b7" in ran.out
    assert "With all three hints the best rating is rough" in ran.out
    assert "1 rough" in ran.out


def test_tempo_moves_by_rungs_and_never_over_goal(kettle):
    """A rung is 5 % of the goal of 120: six quarter notes a minute."""
    ran = kettle("drill", keys="+\n-\n-\n" + "+\n" * 12)
    assert "Tempo 78: rated clean, this key climbs on from here" in ran.out
    assert "Tempo 66 for this go; the key stays at 72." in ran.out
    assert "Tempo 120: rated clean, this key has reached its goal." in ran.out
    at_goal = "Tempo 120: that is the goal, and as fast as it goes."
    assert ran.out.count(at_goal) == 3
    assert "Tempo 126" not in ran.out
    slow = kettle("drill", "--key", "Eb", keys="-\n" * 12).out
    assert "Tempo 40: that is as slow as it goes." in slow


def test_the_tempo_climbs_with_each_clean_go_and_falls_after_lost(kettle):
    """By 6 at first, by more while it goes easily, each time the key comes; a lost one takes a
    step back, and the key is played again after another."""
    ran = kettle("drill", keys="c\nc\nc\nc\nl\nc\nq\n")
    shown = [
        line.split(", ")[1:5]
        for line in ran.out.splitlines()
        if " left" in line and "tempo" in line
    ]
    assert [shown[0], *shown[2::2], shown[5]] == [
        ["key B♭", "tempo 72", "goal 120", "first go today"],
        ["key B♭", "tempo 78", "goal 120", "go 2"],
        ["key A♭", "tempo 72", "goal 120", "first go today"],
        ["key A♭", "tempo 66", "goal 120", "go 2"],
        ["key B♭", "tempo 87", "goal 120", "go 3"],
    ]
    assert [each[0] for each in shown[1:4:2]] == ["key E♭", "key E♭"]
    assert "Blue stairs in A♭: lost. Next time today at 66" in ran.out
    assert "goal 120, again today, 4/4" in kettle("drill", "--key", "Bb").out


def test_only_the_first_go_of_a_day_moves_the_due_day(kettle):
    """A lost one is due tomorrow, however clean what follows; a clean one two days later."""
    lost = kettle("drill", keys="l\nf\nf\nq\n").out
    assert lost.count("due tomorrow") == 1
    clean = kettle("drill", "--key", "Bb", keys="c\nl\nq\n", now="2026-03-04T18:00:00Z").out
    assert "due tomorrow" not in clean


def test_new_keys_open_along_the_order(kettle):
    """The written key first; then the next ones, each a fourth up, once those before have had a
    second visit."""
    ran = kettle("drill", keys="f\n" * 6)
    shown = [
        line.split(",")[1].removeprefix(" key ")
        for line in ran.out.splitlines()
        if " left" in line and "tempo" in line
    ]
    assert shown == ["B♭", "E♭", "B♭", "E♭", "A♭", "D♭", "A♭"]


def test_the_session_ends_when_its_minutes_are_over(drillbox):
    """With one minute, no more is shown than a minute holds, however many lines come in."""
    for number in range(12):
        drillbox("add", "--title", f"Line {number}", "--key", "C", "--tempo", "60",
                 "--chart", "Dm7 | G7 | Cmaj7 | Cmaj7 (A7)")  # fmt: skip
    ran = drillbox("drill", "--minutes", "2", keys="c\n" * 12)
    assert 1 <= ran.out.count(": clean.") <= 3


def test_an_empty_store_says_what_to_do(drillbox):
    """Without a phrase there is nothing to drill."""
    ran = drillbox("drill")
    assert ran.code == ExitCode.OK
    assert "drillbox add" in ran.out


@pytest.mark.parametrize(
    "words",
    [("nosuch",), ("--gig", "nosuch"), ("--tag", "nosuch")],
)
def test_a_name_that_is_not_there_is_told_in_an_empty_store(drillbox, words: tuple[str, ...]):
    """Rather than hidden behind there being no phrases."""
    ran = drillbox("drill", *words)
    assert (ran.code, ran.out) == (ExitCode.NOT_FOUND, "")
    assert "'nosuch'" in ran.err


def test_after_the_third_hint_no_clean_rating_is_promised(kettle):
    """Another tempo then leads nowhere; nor does one below what was reached. At goal there is no
    climb any more."""
    ran = kettle("drill", keys="-\nh\nh\nh\n-\nq\n")
    assert "Tempo 66 for this go; the key stays at 72." in ran.out
    assert (
        "Tempo 60; with all three hints the best rating is rough, so it doesn't climb." in ran.out
    )
    ran = kettle("drill", keys="+\n" * 9 + "q\n")
    assert "Tempo 120: rated clean, this key has reached its goal." in ran.out


def test_a_fourth_hint_of_a_phrase_without_a_line_says_so(kettle):
    """There is nothing to be played."""
    ran = kettle("drill", keys="h\nh\nh\nh\nq\n")
    assert ran.out.count("That was the last hint; this phrase has no line to be played.") == 1


def test_where_nothing_is_left_out_that_is_said(kettle):
    """No session is called narrowed to all there is."""
    out = kettle("drill", "blue").out
    assert "Nothing is left out: 12 keys." in out
    assert "Narrowed" not in out
