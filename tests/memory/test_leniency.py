"""Who calls rough goes clean is told by how their misses come out."""

from __future__ import annotations

import pytest

from drillbox.memory.leniency import Missed, Misses, is_lenient
from drillbox.memory.recall import Recall

Goes = tuple[int, int]


def missed(slow: Goes, near: Goes, later: Goes) -> Misses:
    """Return misses by kinds, each lost and rough ones."""
    return Misses(Missed(*slow), Missed(*near), Missed(*later))


@pytest.mark.parametrize(
    ("slow", "near", "later", "lenient"),
    [
        ((30, 30), (30, 30), (30, 30), True),  # rough ones are called clean wherever they come
        ((0, 0), (30, 30), (30, 30), True),  # never slow: the others tell
        ((5, 1), (30, 30), (30, 30), True),  # too few slow ones to tell anything
        ((55, 5), (30, 30), (10, 50), False),  # what was forgotten is lost, what slips is rough
        ((55, 5), (30, 30), (30, 30), False),  # forgets within the day as well
        ((10, 50), (10, 50), (10, 50), False),  # hardly ever forgets
        ((10, 50), (30, 30), (50, 10), False),  # plays slowly, and not slowly enough
        ((0, 0), (28, 32), (11, 49), False),  # forgets overnight, and slips
        ((0, 0), (40, 60), (65, 35), False),  # often lost, but not alike
        ((3, 3), (3, 3), (3, 3), False),  # too few to tell
        ((60, 0), (60, 0), (60, 0), False),  # never says rough
        ((60, 2), (60, 2), (60, 3), False),
        ((0, 0), (0, 0), (0, 0), False),
    ],
)
def test_who_calls_rough_goes_clean(slow, near, later, lenient):
    """Told by how often misses are lost where the fingers can do it, and where memory can."""
    assert is_lenient([], missed(slow, near, later)) is lenient


@pytest.mark.parametrize(("clean", "fluent", "lenient"), [(60, 60, True), (60, 10, False)])
def test_who_hardly_says_fluent_may_mean_it_by_clean(clean, fluent, lenient):
    """Without a word above it, clean is taken as said."""
    recalls = [Recall.CLEAN] * clean + [Recall.FLUENT] * fluent
    assert is_lenient(recalls, missed((30, 30), (30, 30), (30, 30))) is lenient
