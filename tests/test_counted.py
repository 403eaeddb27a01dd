"""Numbers with what they count."""

from drillbox.counted import counted


def test_one_is_singular_and_no_other_number_is():
    """Nought and many take the plural."""
    assert [counted(number, "more key") for number in (0, 1, 2, 1200)] == [
        "0 more keys", "1 more key", "2 more keys", "1200 more keys",
    ]  # fmt: skip
