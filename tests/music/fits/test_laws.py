"""What holds for every tune: fits move with the key, and no bar line or repeat loses one."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from drillbox.music.charts import Bar, Chart, Meter
from drillbox.music.fits import Fit, Kind, Phrases, ticks
from drillbox.music.keys import MAJOR, Key, parse_key
from drillbox.music.moving.transposition import chart_to
from drillbox.music.phrases import Phrase
from drillbox.music.symbols.typed import parse_chart, parse_meter
from drillbox.music.tunes import Tune
from tests.music.fits.worked import OVER_TURNAROUND, PHRASES

# Bars in C out of which tunes are put together, each piece in a key of its own.
PIECES = (
    "Dm7 | G7 | Cmaj7 | %", "Dm7 G7 | Cmaj7", "Dm7b5 | G7b9 | Cm6 | %", "Dm7b5 G7 | Cm7",
    "Cmaj7 A7 | Dm7 G7", "Em7 A7 | Dm7 G7", "D7 | % | G7 | %", "Dm7 Db7 | C6", "Fm7 Bb7 | C",
    "Dm9 G13 | Cmaj9", "G7sus4 G7 | C6", "Dm7 | Bdim7 | Cmaj7 A7", "Dm7 | % | % | %", "N.C. | C7",
    "Dm7 / / G7 | C", "Cm(maj7) | F/G | Dm7/G",
)  # fmt: skip
COMMON = parse_meter("4/4")
C = parse_key("C")


def piece(text: str, key: Key) -> tuple[Bar, ...]:
    """Return a piece's bars in a key."""
    return chart_to(parse_chart(text, COMMON), C.interval_to(key)).bars


pieces = st.builds(piece, st.sampled_from(PIECES), st.sampled_from(MAJOR))
charts = st.lists(pieces, min_size=1, max_size=5).map(
    lambda found: Chart(COMMON, tuple(bar for bars in found for bar in bars))
)
tunes = st.builds(Tune, st.just("Made up"), st.sampled_from(MAJOR), st.just(140), charts)
INDEX = Phrases(enumerate((*PHRASES, OVER_TURNAROUND)), parts=True)


def places(fits: list[Fit]) -> set[tuple]:
    """Return what of fits is to be the same."""
    return {(f.phrase, f.start, f.length, f.up, f.kind, f.part, f.clashes) for f in fits}


@given(tunes, st.sampled_from(MAJOR))
def test_a_tune_in_another_key_has_the_same_fits_there(tune: Tune, key: Key):
    """Transposing a tune moves every fit and changes none."""
    way = C.interval_to(key)
    moved = replace(
        tune, key=replace(tune.key, tonic=tune.key.tonic.up(way)), chart=chart_to(tune.chart, way)
    )
    expected = [f._replace(up=(f.up + way.semitones) % 12) for f in INDEX.fits(tune)]
    assert places(INDEX.fits(moved)) == places(expected)


def halved(bar: Bar) -> tuple[Bar, Bar]:
    """Return a bar of 4/4 as two of 2/4."""
    first, second = [], []
    for span in bar.spans:
        end, middle = span.start + span.length, Fraction(2)
        if span.start < middle:
            first.append(replace(span, length=min(end, middle) - span.start))
        if end > middle:
            start = max(span.start, middle)
            second.append(replace(span, start=start - middle, length=end - start))
    return Bar(tuple(first)), Bar(tuple(second))


@given(tunes)
def test_more_bar_lines_lose_no_fit(tune: Tune):
    """The same chords in twice as many bars of 2/4 take the same phrases at the same times."""
    bars = tuple(half for bar in tune.chart.bars for half in halved(bar))
    split = replace(tune, chart=Chart(Meter(2, 4), bars))
    whole = [f for f in INDEX.fits(tune) if f.part == "whole"]
    assert places(whole) <= places(INDEX.fits(split))


@given(tunes)
def test_a_repeated_form_loses_no_fit(tune: Tune):
    """Written out twice a tune has every fit that it had, the first time or the second."""
    twice = replace(tune, chart=replace(tune.chart, bars=tune.chart.bars * 2))
    length = tune.chart.length
    there = places(INDEX.fits(twice))
    for fit in INDEX.fits(tune):
        later = ticks(length)
        again = fit._replace(begins=fit.begins + later, ends=fit.ends + later)
        assert places([fit]) & there or places([again]) & there


@settings(max_examples=30)
@given(charts, st.sampled_from(MAJOR))
def test_a_phrase_fits_its_own_chart_in_every_key(chart: Chart, key: Key):
    """Whatever its chords, in all twelve keys, at its first bar."""
    if not chart.sounding():
        return
    phrase = Phrase("Itself", C, 120, chart)
    tune = Tune("Itself", key, 120, chart_to(chart, C.interval_to(key)))
    first = next(at for at, span in chart.spans() if span.chord)
    up = C.interval_to(key).semitones % 12
    fits = Phrases([(0, phrase)]).fits(tune)
    assert any(f.start == first and f.up == up and f.kind is Kind.EXACT for f in fits)
