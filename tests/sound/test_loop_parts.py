"""Where the parts of a loop lie, and what is refused."""

from fractions import Fraction

import pytest

from drillbox.errors import BadInput
from drillbox.sound.loop_parts import Held, LoopOptions, LoopPart, lay_out
from tests.sound.parts import LONG, TWO_FIVE, WALTZ, part


def test_parts_follow_the_count_in_and_one_another() -> None:
    """Proves starts and total of a round: one bar counted in, two bars, four bars, three times."""
    layout = lay_out([TWO_FIVE, LONG], LoopOptions(120, loops=3))
    assert layout.starts == (0, 8)
    assert (layout.count_in, layout.once, layout.total) == (4, 24, 76)
    assert layout.seconds(layout.total) == 38
    assert [each.start for each in layout.held] == [0, 2, 4, 6, 8, 12, 16, 20, 22]


def test_no_chord_is_held_as_silence() -> None:
    """Proves that N.C. keeps its place."""
    held = lay_out([part("N.C. | C7")], LoopOptions(120)).held
    assert held[0] == Held(Fraction(0), Fraction(4), None)
    assert held[1].start == 4


def test_a_fast_loop_is_counted_in_for_two_bars() -> None:
    """Proves that the file counts in as the drill does."""
    assert lay_out([TWO_FIVE], LoopOptions(200)).count_in == 8
    assert lay_out([TWO_FIVE], LoopOptions(200, doubled=True)).count_in == 8


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (LoopOptions(19), "The tempo 19 is out of range"),
        (LoopOptions(401), "The tempo 401 is out of range"),
        (LoopOptions(120, loops=0), "0 loops"),
        (LoopOptions(120, loops=10_000), "would last 666:42 min at 120"),
    ],
)
def test_what_the_player_may_not_ask(options: LoopOptions, message: str) -> None:
    """Proves that each has its own message and something to do about it."""
    with pytest.raises(BadInput, match=message) as caught:
        lay_out([TWO_FIVE], options)
    assert caught.value.remedy


def test_half_an_hour_is_still_allowed() -> None:
    """Proves the bound: 449 loops of four seconds and the count-in make 1798 s; 450 go too far."""
    assert lay_out([TWO_FIVE], LoopOptions(120, loops=449)).total == 4 + 449 * 8
    with pytest.raises(BadInput):
        lay_out([TWO_FIVE], LoopOptions(120, loops=450))


@pytest.mark.parametrize("parts", [[], [TWO_FIVE, WALTZ]])
def test_parts_that_do_not_make_a_loop(parts: list[LoopPart]) -> None:
    """Proves that a caller's mistake is told at once."""
    with pytest.raises(ValueError, match="in one meter"):
        lay_out(parts, LoopOptions(120))
