"""Play order of repeats and endings."""

from __future__ import annotations

from fractions import Fraction

import pytest

from drillbox.errors import BadInput
from drillbox.notation.repeats import Mark, lasting_brackets, play_order, without_pickup
from tests.rows import every_row


def marks(text: str) -> list[Mark]:
    """Read a picture such as ``|:a |1b :|2c ||``: one letter is one measure."""
    found: list[Mark] = []
    begins, endings = False, frozenset[int]()
    for sign in text.replace("|:", "<").replace(":|", ">").replace("||", "!"):
        if sign.isalpha():
            found.append(Mark(begins=begins, endings=endings))
            begins, endings = False, frozenset()
        elif sign == "<":
            begins = True
        elif sign in ">!":
            last = found[-1]
            plays = last.plays + 1 if sign == ">" else last.plays
            found[-1] = Mark(last.begins, plays, last.endings, closes=True)
        elif sign.isdigit():
            endings = endings | {int(sign)}
    return found


def played(text: str, most: int = 100) -> str:
    """Return the letters of a picture in play order."""
    letters = [sign for sign in text if sign.isalpha()]
    return "".join(letters[index] for index in play_order(marks(text), most))


@every_row(
    ("page", "order"),
    [
        ("a b c ||", "abc"),
        ("|:a b :|", "abab"),
        ("a b :|", "abab"),
        ("a |:b :| c", "abbc"),
        ("a :| b :|", "aabb"),
        ("a || b :|", "abb"),  # back to the last double bar: ABC 2.1, section 4.8
        ("|:a || b :|", "abab"),
        ("|:a |1b :|2c ||", "abac"),
        ("|:a |1b :|2c || d :|", "abacdd"),
        ("|:a |1b c :|2d e || f", "abcadef"),
        ("|:a |1b :|2c :|3d ||", "abacad"),
        ("|:a |12b :|3c || d", "ababacd"),
        ("|:a |1b :| c", "abac"),
        ("a |:b :| |:c |1d :|2e ||", "abbcdce"),
        ("a :| :|", "aaa"),
    ],
)
def test_repeats_are_written_out(page: str, order: str) -> None:
    """Each picture is played as a reader of the page plays it, worked by hand."""
    assert played(page) == order


@pytest.mark.parametrize(
    ("page", "early"),
    [
        ("|:a |1b || c :|2d ||", (1,)),
        ("|:a |1b || c :|", (1,)),
        ("|:a |2b || c :|3d ||", (1,)),
        ("|:a |2b || c :| d ||", ()),
        ("|:a |2b || c :|", ()),
        ("|:a |1b :|2c ||", ()),
    ],
)
def test_an_early_bracket_lasts_to_its_repeat_sign(page: str, early: tuple[int, ...]) -> None:
    """That of a first ending, or of one that another follows; no other, as at the very end."""
    lasted, found = lasting_brackets(marks(page))
    assert found == early
    assert [each.closes for each in lasted] == [
        each.closes and at not in early for at, each in enumerate(marks(page))
    ]


def test_more_bars_than_the_limit_are_refused() -> None:
    """A repeat that would play more measures than allowed ends in a refusal, not in memory."""
    with pytest.raises(BadInput, match="more than 10 bars"):
        play_order([Mark(plays=1_000_000)], 10)


@pytest.mark.parametrize(("last", "begins"), [(4, True), (3, False)])
def test_a_pickup_is_repeated_only_where_it_has_room(last: int, begins: bool) -> None:
    """Where the bar before the repeat sign is full, the pickup before it isn't played again."""
    page = [Mark(), Mark(), Mark(plays=2, closes=True)]
    lengths = [Fraction(1), Fraction(4), Fraction(last)]
    assert without_pickup(page, lengths, Fraction(4))[1].begins is begins
