"""What a press says of itself."""

from drillbox.terminal.presses import END, ENTER, SPACE, UNKNOWN, Press


def test_a_reason_does_not_make_another_press() -> None:
    """Proves that callers can compare with END whatever ended the session."""
    assert Press("end", "the terminal was closed") == END
    assert Press("end", "x").reason == "x"


def test_only_keys_that_print_have_a_character() -> None:
    """Proves that text can be typed from presses: letters and the space bar, nothing else."""
    assert [each.character for each in (Press("é"), SPACE, ENTER, UNKNOWN)] == ["é", " ", "", ""]
