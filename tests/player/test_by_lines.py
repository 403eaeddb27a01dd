"""A drill and a round by lines: what is said once, and what ends them."""

from __future__ import annotations


def test_only_what_can_be_done_by_lines_is_offered(kettle):
    """Beat, pause and note need a terminal: they aren't named, and do nothing."""
    ran = kettle("drill", keys="space\np\nn\n")
    first = ran.out.splitlines()[0]
    assert first == (
        "Controls: l lost, r rough, c clean, f fluent, h hint, s skip, u undo, + faster, - slower, "
        "q stop."
    )
    assert ran.out.count("does nothing here") == 3


def test_a_question_mark_says_the_controls_again(kettle):
    """Nothing else changes: the card isn't said twice."""
    ran = kettle("--ascii", "drill", keys="?\n?\n")
    assert ran.out.count("Controls: l lost") == 3
    assert ran.out.count("Blue stairs, key Bb") == 1


def test_a_hint_is_said_once_and_a_change_of_tempo_does_not_repeat_it(kettle):
    """Only what is new is said."""
    ran = kettle("--ascii", "drill", keys="h\n-\n")
    assert ran.out.count("hint 1 of 3") == 1


def test_a_card_that_comes_again_is_said_again(kettle):
    """Its next go is said, and once its rating was undone the card again."""
    ran = kettle("--ascii", "drill", keys="l\nu\n")
    first, _, again = [line for line in ran.out.splitlines() if "stairs, key Bb" in line]
    assert again == first


def test_a_round_by_lines_asks_key_by_key(kettle):
    """Each key is said with the one after it; a change of tempo isn't offered without a beat."""
    ran = kettle("--ascii", "round", "blue", "--all", keys="c\n+\n")
    assert "+ faster" not in ran.out
    assert "key Bb, 1 of 12" in ran.out
    assert "key Eb, 2 of 12" in ran.out
    assert "'+' does nothing here" in ran.out


def test_by_lines_nothing_is_listened_to_and_it_says_so(kettle):
    """One line on standard error where listening was asked for; the ratings are read as ever."""
    ran = kettle("drill", "--listen", "midi", keys="c\n")
    assert "Not listening: that needs a terminal.\n" in ran.err
    assert "1 clean" in ran.out
    assert "listening" not in kettle("drill", "--listen", "off", keys="c\n").err
