"""A tune's bars with their chords, numbered, to choose a phrase from."""

from __future__ import annotations

from dataclasses import replace

from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.counted import counted
from drillbox.music.charts import Chart
from drillbox.music.phrases import Phrase
from drillbox.music.symbols.printed import chart_text
from drillbox.screen import style
from drillbox.screen.bars import bar_lines
from drillbox.screen.look import Look, clean


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
