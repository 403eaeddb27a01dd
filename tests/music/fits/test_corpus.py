"""Fits in tunes by other hands, out of music21's corpus: all files that have chord symbols."""

from __future__ import annotations

from dataclasses import replace

import pytest

from drillbox.music.fits import Kind, Phrases
from drillbox.music.moving.transposition import chart_to
from drillbox.music.pitch import Interval
from tests.bench.fits_corpus import lines, read


@pytest.mark.slow
def test_tunes_by_other_hands_take_phrases_in_every_key():
    """A dozen and more are read; each keeps its fits a semitone up; the kinds are plausible.

    Most of those files are hymns, rags and dances in plain triads: what is exact there by chance
    would be a fault, as the phrases have sevenths.
    """
    tunes, _ = read()
    index = Phrases(enumerate(lines()))
    up = Interval(1, 1)
    kinds = set()
    assert len(tunes) > 12
    for tune in tunes:
        key = replace(tune.key, tonic=tune.key.tonic.up(up))
        moved = replace(tune, key=key, chart=chart_to(tune.chart, up))
        here, there = index.fits(tune), index.fits(moved)
        assert [f._replace(up=(f.up + 1) % 12) for f in here] == there
        kinds |= {fit.kind for fit in here}
    assert Kind.TENSIONS in kinds
    assert Kind.BACKDOOR not in kinds
