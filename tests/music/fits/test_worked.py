"""The matcher against places that were decided by hand before it was made."""

from __future__ import annotations

import pytest

from drillbox.music.charts import beat_text, place
from drillbox.music.fits import Fit, Phrases
from drillbox.music.keys import Key, conventional_key, parse_key
from drillbox.music.pitch import Interval
from drillbox.music.symbols.typed import parse_chart, parse_meter
from drillbox.music.tunes import Tune, parse_form
from tests.music.fits.worked import PHRASES, WORKED, Worked
from tests.rows import every_row


def found(tune: Tune, *, parts: bool = False) -> frozenset[str]:
    """Return what the matcher finds in a tune, in the words of the worked places."""
    index = Phrases(enumerate(PHRASES), parts=parts)
    return frozenset(words(tune, fit) for fit in index.fits(tune) if parts == (fit.part != "whole"))


def words(tune: Tune, fit: Fit) -> str:
    """Return a fit as a worked place has it."""
    phrase = PHRASES[fit.phrase]
    bar, beat = place(tune.chart.meter, fit.start)
    at = f"{bar}" if beat == 1 else f"{bar}.{beat_text(beat)}"
    tonic = phrase.key.tonic.up(Interval(0, fit.up))
    key = conventional_key(Key(tonic, phrase.key.mode)).text()
    return f"{phrase.title} {at} {key} {fit.kind.words if fit.part == 'whole' else fit.part}"


@every_row("each", WORKED)
def test_places_are_those_decided_by_hand(each: Worked):
    """Every place is found, and none is offered besides."""
    assert found(each.tune) == each.places


@pytest.mark.parametrize("each", [w for w in WORKED if w.parts is not None],
                         ids=lambda each: each.tune.title)  # fmt: skip
def test_beginnings_and_ends_are_those_decided_by_hand(each: Worked):
    """With parts asked for, the ii-Vs without their I and the like, and no others."""
    assert found(each.tune, parts=True) == each.parts


@pytest.mark.parametrize(
    ("top", "coda", "over"),
    [("Fmaj7", "Cmaj7", {False}), ("Cmaj7", "Fmaj7", {True}), ("Cmaj7", "Cmaj7", {False, True})],
)
def test_a_place_at_the_end_says_where_the_tune_goes_on(top: str, coda: str, over: set[bool]):
    """Into the coda, over the seam to the top, or both ways."""
    chart = parse_chart(f"{top} | Fmaj7 | Cmaj7 | Dm7 G7 | {coda} | {coda}", parse_meter("4/4"))
    tune = Tune("Turns", parse_key("C"), 120, chart, parse_form("A4 coda2", 6))
    ends = [fit for fit in Phrases([(1, PHRASES[1])]).fits(tune) if fit.start == 12]
    assert {fit.over_seam for fit in ends} == over
    assert len(ends) == len(over)


def test_there_are_enough_tunes_and_places():
    """A dozen tunes and sixty places, or the aim says little."""
    assert len(WORKED) >= 12
    assert sum(len(each.places) for each in WORKED) >= 60
