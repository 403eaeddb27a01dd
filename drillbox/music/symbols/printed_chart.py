"""The one printed form of a chart, in ASCII and in Unicode."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import lcm

from drillbox.music.charts import Bar, Chart
from drillbox.music.symbols.printed import symbol_text


def chart_text(chart: Chart, *, ascii: bool = True) -> str:
    """Print a chart so that ``parse_chart`` reads an equal one.

    Each bar has the fewest equal parts that hold its chords. Where that number doesn't
    divide the beats (chords that change off the beat, from a file), only
    ``parse_chart(..., finer=True)`` reads it back. Symbols are in their simplest form.
    """
    return " | ".join(_bar_text(bar, chart.meter.bar, ascii) for bar in chart.bars)


def grouped(cells: Sequence[tuple[str, bool]]) -> str:
    """Join a bar's symbols and slashes, with parentheses round those that are the turnaround."""
    marked = sum(turnaround for _, turnaround in cells)
    words = [text for text, _ in cells]
    plain, inside = words[: len(words) - marked], words[len(words) - marked :]
    return " ".join(plain + ([f"({' '.join(inside)})"] if inside else []))


def _bar_text(bar: Bar, length: Fraction, ascii: bool) -> str:
    parts = lcm(*((span.start / length).denominator for span in bar.spans))
    cells: list[tuple[str, bool]] = []
    for span in bar.spans:
        holds = int(span.length / length * parts) - 1
        symbol = symbol_text(span.chord, ascii=ascii)
        cells += [(each, span.turnaround) for each in (symbol, *["/"] * holds)]
    return grouped(cells)
