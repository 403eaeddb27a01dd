"""Of several places of one phrase that overlap, the one that asks least and holds most stays."""

from __future__ import annotations

import pytest

from drillbox.music.fits.fit import Fit, without_rivals
from drillbox.music.fits.kinds import Kind

PART = Fit(0, 0, 12, 0, Kind.TRITONE, part="beginning")


@pytest.mark.parametrize(
    ("stays", "goes"),
    [
        (PART._replace(part="whole"), PART._replace(kind=Kind.EXACT)),
        (PART._replace(kind=Kind.EXACT, ends=6), PART),
        (PART._replace(begins=8, ends=24), PART),
        (PART, PART._replace(begins=6, ends=12)),
    ],
    ids=["whole", "kind", "longer, later", "longer, earlier"],
)
def test_of_two_that_overlap_one_stays(stays: Fit, goes: Fit) -> None:
    """The whole phrase before a part, then what asks less of the ear, then the longer."""
    assert without_rivals([stays, goes]) == without_rivals([goes, stays]) == [stays]


def test_what_does_not_overlap_stays() -> None:
    """Side by side, in another key or of another phrase there is no rival."""
    beside = [PART, PART._replace(begins=12, ends=24), PART._replace(up=3), PART._replace(phrase=1)]
    assert sorted(without_rivals(beside)) == sorted(beside)
