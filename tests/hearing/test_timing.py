"""How far a line drifts from a click: notes at hand-made times, each slope worked by hand."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from drillbox.hearing.takes import Beat
from drillbox.hearing.timing import Timing, timing_of

BEAT = Beat(2.0, 0.5)  # a click at 120 from the second second on


def to_the_click(onsets: Sequence[float], late: Sequence[float], smallest: float = 1.0) -> Timing:
    """Return how notes lay that came so many quarters late."""
    starts = [
        BEAT.start + BEAT.quarter * (on + behind) for on, behind in zip(onsets, late, strict=True)
    ]
    return timing_of(onsets, starts, BEAT, smallest, own=False)


@pytest.mark.parametrize("share", [0.04, -0.04])
def test_a_steady_drift_is_found_to_the_last_place(share: float):
    """Two bars of quarters, a tenth late at first, each as much later as the one before:
    the drift is that share, the beginning that tenth, and nothing is left that is uneven."""
    onsets = [float(each) for each in range(8)]
    found = to_the_click(onsets, [0.1 + share * on for on in onsets])
    assert found.drift == pytest.approx(share)
    assert found.offset == pytest.approx(0.1)
    assert found.uneven == pytest.approx(0.0, abs=1e-9)
    assert found.jumps == ()


def test_one_note_that_was_late_alone_bends_no_drift():
    """Of the pairs that count most lie apart from that note, so the median slope is theirs."""
    onsets = [float(each) for each in range(9)]
    late = [0.03 * on for on in onsets]
    late[4] += 0.25
    assert to_the_click(onsets, late).drift == pytest.approx(0.03)


def test_only_notes_a_third_of_the_line_apart_are_compared():
    """Four notes on the beat, four a fifth of a quarter behind it. Of the 15 pairs three quarters
    or more apart the eighth slope of the order is 0.2 / 5 = 0.04; of all 28 it would be 0.033."""
    onsets = [float(each) for each in range(8)]
    assert to_the_click(onsets, [0.0] * 4 + [0.2] * 4).drift == pytest.approx(0.2 / 5)


def test_notes_just_so_far_apart_are_compared():
    """Four notes over three quarters, so that neighbours are a third apart: slopes of 0, 0, 0,
    0.25 / 3, 0.25 / 2 and 0.25, and half way between the third and the fourth."""
    found = to_the_click([0.0, 1.0, 2.0, 3.0], [0.0, 0.25, 0.25, 0.25])
    assert found.drift == pytest.approx(0.25 / 6)


@pytest.mark.parametrize(("share", "drift"), [(0.06, 0.0), (0.08, 0.08), (-0.06, 0.0)])
def test_a_few_quick_notes_tell_of_a_drift_only_where_it_is_large(share: float, drift: float):
    """Four eighths, each later by a share of the time between: 15 ms are 0.03 quarters here, so
    that twice the slope's standard error is 2 * 0.03 * (12 / 4) ** 0.5 / 1.5 = 0.069. Over eight
    quarters the same share is a drift."""
    eighths, quarters = [0.0, 0.5, 1.0, 1.5], [float(each) for each in range(8)]
    assert to_the_click(eighths, [share * on for on in eighths], 0.5).drift == pytest.approx(drift)
    assert to_the_click(quarters, [share * on for on in quarters]).drift == pytest.approx(share)


def test_a_few_quick_notes_dont_tell_how_the_tempo_changed():
    """Eight eighths in the player's own time, the second half 0.04 * 3.5 = .14 slower: 15 ms may
    feign 2 * 0.03 * (180 / 8) ** 0.5 / 3.5 = .08 at 120, and twice that at 240."""
    onsets = [each / 2 for each in range(8)]
    drift = {
        quarter: timing_of(
            onsets, [quarter * (on + 0.04 * on**2) for on in onsets],
            Beat(0.0, quarter), 0.5, own=True,
        ).drift
        for quarter in (0.5, 0.25)
    }  # fmt: skip
    assert drift == {0.5: pytest.approx(0.14, abs=0.003), 0.25: 0.0}


def test_a_line_shorter_than_a_quarter_tells_of_no_drift():
    """Four sixteenths, each later than the one before: less than a quarter lies between any two."""
    found = to_the_click([0.0, 0.25, 0.5, 0.75], [0.0, 0.0, 0.05, 0.05], smallest=0.25)
    assert found.drift == 0.0


@pytest.mark.parametrize(
    ("late", "swing"),
    [(0.2, 0.2), (0.25, 0.25), (0.28, 0.28), (0.33, 0.0), (-0.04, -0.04), (-0.08, 0.0)],
)
def test_swing_goes_beyond_three_to_one(late: float, swing: float):
    """Off-beat eighths that lie later by a share of their pair than that, or clearly early, aren't
    swung: they are uneven."""
    onsets = [each / 2 for each in range(16)]
    found = to_the_click(onsets, [late * (on % 1 > 0) for on in onsets], smallest=0.5)
    assert found.swing == pytest.approx(swing, abs=1e-9)
    assert (found.uneven > 0.03) is not bool(swing)


def test_a_tempo_that_changes_evenly_is_told_from_uneven_notes():
    """Sixteen quarters, each other one a hundredth late. Where each is .004 later than the one
    before by more than that one was, the second half is some .06 slower; else nothing is."""
    onsets = [float(each) for each in range(16)]
    uneven = [0.01 * (each % 2) for each in range(16)]
    starts = {
        bend: [BEAT.start + BEAT.quarter * (on + bend * on**2 + late)
               for on, late in zip(onsets, uneven, strict=True)]
        for bend in (0.0, 0.004)
    }  # fmt: skip
    drift = {bend: timing_of(onsets, at, BEAT, 1.0, own=True).drift for bend, at in starts.items()}
    assert drift[0.0] == 0.0
    assert drift[0.004] == pytest.approx(0.06, abs=0.003)


@pytest.mark.parametrize("onsets", [[0.0] * 6 + [0.33], [0.0] * 4 + [1.0] * 4, [0.0] * 7])
def test_chords_of_many_notes_are_no_line_that_bends(onsets: list[float]):
    """On one or two onsets no tempo changes evenly, and no library warns of it."""
    starts = [1.0 + on / 2 for on in onsets]
    assert timing_of(onsets, starts, BEAT, 1 / 3, own=True).drift == 0.0
