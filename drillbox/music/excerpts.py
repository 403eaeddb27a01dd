"""A phrase taken out of a longer tune, by its bars."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

from drillbox.errors import BadInput
from drillbox.music.charts import Bar, Chart
from drillbox.music.phrases import LineNote, Phrase

# Longer than this is rather a tune than a phrase; a rule of thumb.
LONG_PHRASE = 16


def parse_bars(text: str) -> tuple[int, int]:
    """Read ``5-8`` or ``5``: the first and the last bar, from 1; raise BadInput if it's neither."""
    match = re.fullmatch(r"\s*([1-9]\d{0,3})\s*(?:[-–]\s*([1-9]\d{0,3}))?\s*", text)
    first, last = (int(match[1]), int(match[2] or match[1])) if match else (1, 0)
    if last < first:
        raise BadInput(
            f"{text[:20]!r} isn't a range of bars", "Write the first and the last: --bars 5-8"
        )
    return first, last


def excerpt(phrase: Phrase, first: int, last: int) -> Phrase:
    """Return the bars from ``first`` to ``last``, counted from 1, as a separate phrase.

    A note that sounds over the first bar line comes along whole, as a pickup, where it is
    shorter before it than a bar; one that sounds beyond the last is cut there. The tune's own
    pickup belongs to its first bar, its turnaround to its last. Raises BadInput where there
    are no such bars.
    """
    count = len(phrase.chart.bars)
    if last > count:
        raise BadInput(f"{phrase.title!r} has {count} bars", f"Take bars from 1 to {count}.")
    bar = phrase.chart.meter.bar
    start, end = bar * (first - 1), bar * last
    notes = (_within(note, start, end, bar) for note in phrase.line)
    bars = phrase.chart.bars[first - 1 : last]
    chart = Chart(phrase.chart.meter, bars if last == count else tuple(map(_plain, bars)))
    which = f"bars {first}-{last}" if last > first else f"bar {first}"
    return replace(
        phrase,
        title=f"{phrase.title}, {which}",
        chart=chart,
        line=tuple(note for note in notes if note is not None),
    )


def _within(note: LineNote, start: Fraction, end: Fraction, bar: Fraction) -> LineNote | None:
    """Return what a note adds to the bars between ``start`` and ``end``, counted from there."""
    onset, over = note.onset, note.onset + note.length
    if onset < start < over:
        onset = onset if start - onset < bar else start
    elif not (start <= onset < end or (start == 0 and onset < 0)):
        return None
    return replace(note, onset=onset - start, length=min(over, end) - onset)


def _plain(bar: Bar) -> Bar:
    return Bar(tuple(replace(span, turnaround=False) for span in bar.spans))
