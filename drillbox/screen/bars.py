"""Draw a chart as bars of chord symbols, as on a lead sheet; or its bars numbered."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from rich.cells import cell_len
from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.music.charts import Bar, Chart, Span, counted_beats
from drillbox.music.phrases import Phrase
from drillbox.music.symbols.printed import chart_text, symbol_text
from drillbox.output import counted
from drillbox.screen import style
from drillbox.screen.look import Look, clean


@dataclass(frozen=True, slots=True)
class Sounding:
    """The beat that sounds: its bar and its place in it, counted from 0; -1 while counting in."""

    bar: int
    beat: int
    beats: int


def at_rest(chart: Chart) -> Sounding:
    """Return no beat at all, so that the beats' lines keep their places before they are needed."""
    return Sounding(-1, 0, counted_beats(chart.meter))


def span_text(span: Span, look: Look) -> str:
    """Return a span's symbol, in parentheses where it is the turnaround."""
    text = symbol_text(span.chord, ascii=look.ascii)
    return f"({text})" if span.turnaround else text


def bar_with_texts(bar: Bar, length: Fraction, cell: int, texts: Sequence[str]) -> str:
    """Return one bar as ``cell`` characters, each text at its place in time where it fits."""
    line = ""
    for span, text in zip(bar.spans, texts, strict=True):
        column = int(span.start / length * cell)
        start = max(column, cell_len(line) + (1 if line else 0))
        line += " " * (start - cell_len(line)) + text
    return line + " " * (cell - cell_len(line))


def least_width(bar: Bar, length: Fraction, texts: Sequence[str]) -> int:
    """Return the least width at which each symbol of a bar stands at its place in time."""
    width = sum(cell_len(text) + 1 for text in texts)
    for index, span in enumerate(bar.spans):
        size = cell_len(texts[index]) + 1
        width = max(width, -int(-size * length // span.length))
    return width


def beat_marks(beats: int, sounding: int | None, cell: int, look: Look) -> str:
    """Return a bar's beats as ``cell`` characters, the sounding one told by its shape."""
    if sounding is None:
        return " " * cell
    marks = [" "] * cell
    for beat in range(beats):
        marks[beat * cell // beats] = look.beat if beat == sounding else look.dot
    return "".join(marks)


def bar_lines(
    chart: Chart,
    look: Look,
    width: int,
    below: Sequence[Sequence[str]] = (),
    sounding: Sounding | None = None,
) -> list[str]:
    """Return the chart as lines of at most ``width`` cells, four bars to a line where they fit.

    ``below`` gives, for each bar, one text per span that is set under it (hints). With
    ``sounding`` a line of beats stands under each line of bars. A bar that is wider than the
    line by itself is let stand.
    """
    length = chart.meter.bar
    rows = [[span_text(span, look) for span in bar.spans] for bar in chart.bars]
    layers = [rows, [list(texts) for texts in below]] if below else [rows]
    cell = max(
        least_width(bar, length, layer[i]) for layer in layers for i, bar in enumerate(chart.bars)
    )
    cell = max(cell, sounding.beats * 2 if sounding else 8)
    count = next((n for n in (4, 2) if n * (cell + 3) + 1 <= width), 1)
    lines: list[str] = []
    for first in range(0, len(chart.bars), count):
        group = range(first, min(first + count, len(chart.bars)))
        for number, layer in enumerate(layers):
            mark = look.bar_line if number == 0 else " "
            lines.append(
                _joined(
                    [bar_with_texts(chart.bars[i], length, cell, layer[i]) for i in group], mark
                )
            )
        if sounding:
            beats = [
                beat_marks(sounding.beats, sounding.beat if i == sounding.bar else None, cell, look)
                for i in group
            ]
            lines.append(_joined(beats, " "))
    return [line.rstrip() for line in lines]


def _joined(cells: Sequence[str], mark: str) -> str:
    return f"{mark} " + f" {mark} ".join(cells) + f" {mark}"


def listing_screen(number: int, phrase: Phrase, look: Look) -> RenderableType:
    """Draw a tune's bars in rows, each with the number of its first; in plain a line a bar."""
    title = clean(phrase.title, look.width - 6, ascii=look.ascii)
    count = len(phrase.chart.bars)
    facts = (
        f"key {phrase.key.text(ascii=look.ascii)}",
        phrase.chart.meter.text(),
        f"{counted(count, 'bar')} as played",
    )
    return Group(
        Text(f"{number}  {title}", style.TITLE),
        Text(f" {look.dot} ".join(facts)),
        *(Text(line, style.CHORD, no_wrap=True) for line in _rows(phrase.chart, look)),
        Text(""),
    )


def _rows(chart: Chart, look: Look) -> list[str]:
    if look.plain:
        return [
            f"bar {index}: {chart_text(replace(chart, bars=(bar,)), ascii=look.ascii)}"
            for index, bar in enumerate(chart.bars, start=1)
        ]
    lines = bar_lines(chart, look, look.width - 5)
    bars_a_line = next(n for n in (4, 2, 1) if -(-len(chart.bars) // n) == len(lines))
    return [f"{1 + bars_a_line * row:>4} {line}" for row, line in enumerate(lines)]
