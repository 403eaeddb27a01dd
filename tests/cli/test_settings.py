"""``drillbox settings``: a former name is understood; one that never was is refused."""

from __future__ import annotations

import pytest

from drillbox.errors import ExitCode


def test_a_former_name_sets_and_shows_the_present_one(drillbox) -> None:
    """The answer says how it is called now."""
    assert drillbox("settings", "rung", "0.1").out == "tempo_step is now 0.1.\n"
    assert drillbox("settings", "start_share").out.startswith("start_tempo = 0.6\n")
    listed = drillbox("settings").out
    assert "tempo_step = 0.1 (default 0.05)" in listed
    assert "rung" not in listed
    assert drillbox("settings", "rung", "--reset").out == "tempo_step is now 0.05.\n"
    for name, typed, value in (("tempo_step", "7", "7"), ("minutes", "9" * 400, "9" * 40)):
        refused = drillbox("settings", name, typed)
        assert refused.code == ExitCode.BAD_INPUT
        assert f"{value!r} can't be set as {name}" in refused.err


def test_a_name_that_is_gone_is_refused(drillbox) -> None:
    """In one line, with the way to those there are."""
    refused = drillbox("settings", "new_a_day", "3")
    assert refused.code == ExitCode.BAD_INPUT
    assert refused.err == (
        "drillbox: There is no setting 'new_a_day'. 'drillbox settings' lists them all.\n"
    )


def test_a_setting_says_what_it_may_be(drillbox):
    """The names it is one of, where it is; a pedal's two."""
    assert drillbox("settings", "backing").out.splitlines()[2:] == [
        "    one of off, bass, bass-and-chords"
    ]
    assert "two of start, clean, rough, lost, fluent, next" in drillbox("settings", "pedal").out
    assert "one of" not in drillbox("settings", "minutes").out


def test_a_negative_number_is_refused_by_the_setting(drillbox):
    """It is a value, and no option that there isn't."""
    ran = drillbox("settings", "next_after", "-1")
    assert ran.code == ExitCode.BAD_INPUT
    assert ran.err.startswith("drillbox: '-1' can't be set as next_after. Use a whole number of")


@pytest.mark.parametrize("words", [("--reset",), ("minutes", "30", "--reset")])
def test_a_reset_that_says_too_little_or_too_much_is_refused(drillbox, words: tuple[str, ...]):
    """In one line, and no setting is another than before."""
    drillbox("settings", "minutes", "25")
    refused = drillbox("settings", *words)
    assert refused.code == ExitCode.BAD_INPUT
    assert refused.err.count("\n") == 1
    assert refused.out == ""
    assert "minutes = 25 " in drillbox("settings", "minutes").out
