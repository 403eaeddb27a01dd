"""Tables whose rows are one test: none is passed over, and each that fails is told."""

from __future__ import annotations

import pytest

from tests.rows import every_row


def test_each_row_is_run_and_each_that_fails_is_told():
    """Also behind one that failed, and where an error was expected and didn't come."""
    run = []

    @every_row(("text", "number"), [("1", 1), ("2", 3), ("x", 4), ("y", 0), ("5", 0)])
    def is_read_or_refused(text: str, number: int):
        """So many."""
        run.append(text)
        if number:
            assert int(text) == number
        else:
            with pytest.raises(ValueError, match="invalid"):
                int(text)

    with pytest.raises(BaseExceptionGroup, match="in 3 of 5 rows") as caught:
        is_read_or_refused()
    assert run == ["1", "2", "x", "y", "5"]
    assert [(type(each).__name__, each.__notes__) for each in caught.value.exceptions] == [
        ("AssertionError", ["in the row ('2', 3)"]),
        ("ValueError", ["in the row ('x', 4)"]),
        ("Failed", ["in the row ('5', 0)"]),
    ]


@pytest.mark.parametrize("names", ["name", ("name",)])
def test_a_row_of_one_name_is_bare_as_parametrize_has_it(names):
    """A text isn't taken apart; a tuple of one name has rows of one value."""
    seen = []
    rows = ["ab", "cd"] if names == "name" else [("ab",), ("cd",)]

    @every_row(names, rows)
    def is_seen(name: str):
        """So it is."""
        seen.append(name)

    is_seen()
    assert seen == ["ab", "cd"]


def test_a_table_without_rows_is_refused():
    """A list that a changed name has emptied would pass for ever."""
    with pytest.raises(ValueError, match="without rows"):
        every_row("name", [])
