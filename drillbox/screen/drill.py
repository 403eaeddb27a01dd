"""The screen of a drill: title, key, chart, tempo and the minutes left; a hint when asked for."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from rich.cells import cell_len
from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.music.charts import Chart, Meter
from drillbox.music.keys import Key
from drillbox.music.symbols.printed import chart_text
from drillbox.output import counted
from drillbox.practice.hinting import HintView
from drillbox.screen import style
from drillbox.screen.card import (
    Card,
    Heading,
    card_lines,
    count_in_text,
    meter_line,
    tempo_text,
    title_line,
)
from drillbox.screen.footer import NO_FOOT, Foot
from drillbox.screen.lead_sheet import BarRow, Sounding, at_rest, bar_rows, places_text
from drillbox.screen.look import Look, clean, wrapped

ALL_DONE = "Every key is owned and sure: nothing more is needed today."


def hint_heading(hint: HintView) -> str:
    """Return what the hint shows and its place on the ladder."""
    return f"hint {hint.level} of 3: {hint.title}"


def under_bars(hint: HintView) -> list[list[str]]:
    """Return, for each full bar, the hint's text for each of its chords."""
    return [[" ".join(cell.texts) for cell in bar.cells] for bar in hint.bars if bar.number]


def pickup_line(hint: HintView) -> list[str]:
    """Return the pickup's notes as a line; none where there is no pickup."""
    return [
        "pickup: " + " ".join(text for cell in bar.cells for text in cell.texts)
        for bar in hint.bars
        if not bar.number
    ]


def hint_by_bars(hint: HintView, look: Look) -> list[str]:
    """Return the hint chord by chord, a bar to a line."""
    lines = []
    for bar in hint.bars:
        if bar.number:
            cells = [f"{cell.chord}: {' '.join(cell.texts) or look.dash}" for cell in bar.cells]
            lines.append(f"bar {bar.number}  " + "; ".join(cells))
    return lines


def hint_by_chords(hint: HintView, look: Look) -> list[str]:
    """Return the same after the pickup, for narrow screens and for reading out."""
    return pickup_line(hint) + hint_by_bars(hint, look)


def break_line(hint: HintView, meter: Meter) -> list[str]:
    """Return where the line breaks the octave as a line; none where it doesn't."""
    if not hint.breaks:
        return []
    return [f"octave broken: {places_text(hint.breaks, meter)}"]


def note_line(note: str, look: Look) -> list[str]:
    """Return the player's note to self as a line; none where there is none."""
    return [f"your note: {clean(note, ascii=look.ascii)}"] if note else []


@dataclass(frozen=True, slots=True)
class DrillView:
    """Everything a drill's screen shows.

    ``message`` is one line about the last key pressed; ``sounding`` the beat while it runs,
    ``count`` the beat of the count-in, from 1; 0 outside of it; ``foot`` what can be pressed;
    ``stray`` says that the line leaves the player's instrument.
    """

    title: str
    key: Key
    chart: Chart
    tempo: int
    climb: str
    double_time: bool
    minutes_left: int
    hint: HintView | None = None
    note: str = ""
    message: str = ""
    sounding: Sounding | None = None
    count: int = 0
    foot: Foot = NO_FOOT
    stray: str = ""


def drill_screen(view: DrillView, look: Look) -> RenderableType:
    """Draw one card as the player sees it, in large letters where they fit."""
    drawn = _chart_and_hint(view, look, look.width - 2)
    top = title_line(view.title, f"{view.minutes_left} min left", look)
    stray = [view.stray] if view.stray else []
    folded = drawn.folded and (drawn.folded[0], [*stray, *drawn.folded[1]])
    card = Card(
        top, _heading(view, look), view.chart, drawn.rows, [*stray, *drawn.said], view.message,
        view.foot, view.sounding, large=view.hint is None, folded=folded,
    )  # fmt: skip
    return Group(*card_lines(card, look))


def _heading(view: DrillView, look: Look) -> Heading:
    """Return key and tempo, meter and feel, and the count-in while it lasts."""
    key, counted = view.key.text(ascii=look.ascii), count_in_text(view.count, view.sounding, look)
    stated = meter_line(view.chart, view.double_time, look, f"tempo {view.tempo}", view.climb)
    small = Text.assemble((f"{key}   ", style.TITLE), f"{stated}   {counted}".rstrip())
    stated = meter_line(view.chart, view.double_time, look, view.climb)
    texts, count = (key, tempo_text(view.tempo)), str(view.count or "")
    return Heading(texts, stated, small, count=count, counted=counted)


class _Drawn(NamedTuple):
    """A chart's rows and what is said below; for a low terminal both with the hint in the rows."""

    rows: list[BarRow]
    said: list[str]
    folded: tuple[list[BarRow], list[str]] | None = None


def _chart_and_hint(view: DrillView, look: Look, width: int) -> _Drawn:
    """Return the chart's rows, a hint standing under its chords where it fits, and the rest."""
    hint = view.hint
    sounding = view.sounding or at_rest(view.chart)
    if hint is None:
        return _Drawn(bar_rows(view.chart, look, width, (), sounding), [])
    broken = break_line(hint, view.chart.meter)
    said = [hint_heading(hint), *broken, *note_line(view.note, look)]
    rows = bar_rows(view.chart, look, width, under_bars(hint), sounding)
    if max(cell_len(line) for row in rows for line in row.lines) <= width:
        return _Drawn(rows, [*pickup_line(hint), *said])
    rows = bar_rows(view.chart, look, width, (), sounding)
    told = [wrapped(line, width) for line in hint_by_bars(hint, look)]
    folded = [BarRow(bars, [*lines, *(line for at in bars for line in told[at])])
              for bars, lines in rows]  # fmt: skip
    by_chords = [*hint_by_chords(hint, look), *said]
    return _Drawn(rows, by_chords, (folded, [*pickup_line(hint), *said]))


def drill_lines(view: DrillView, look: Look) -> list[str]:
    """Say the same line by line, for a pipe or a screen reader."""
    key = view.key.text(ascii=look.ascii)
    stated = [
        clean(view.title, ascii=look.ascii),
        f"key {key}",
        f"tempo {view.tempo}",
        view.climb,
        view.chart.meter.text(),
        *(["double time"] if view.double_time else []),
        f"{counted(view.minutes_left, 'minute')} left",
    ]
    chart = f"  {chart_text(view.chart, ascii=look.ascii)}"
    return [", ".join(stated), chart, *([f"  {view.stray}"] if view.stray else [])]


def hint_lines(view: DrillView, look: Look) -> list[str]:
    """Say the hint that is shown, chord by chord, and the player's note."""
    if view.hint is None:
        return []
    broken = break_line(view.hint, view.chart.meter)
    lines = [hint_heading(view.hint), *hint_by_chords(view.hint, look)]
    return [*lines, *broken, *note_line(view.note, look)]
