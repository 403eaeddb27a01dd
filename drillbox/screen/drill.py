"""The screen of a drill: title, key, chart, tempo and the minutes left, and nothing else."""

from __future__ import annotations

from dataclasses import dataclass

from rich.cells import cell_len
from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.music.charts import Chart
from drillbox.music.keys import Key
from drillbox.music.printed_chart import chart_text
from drillbox.practice.hinting import HintView
from drillbox.screen import style
from drillbox.screen.bars import Sounding, at_rest, bar_lines
from drillbox.screen.card import Body, body, chords, counting, facts, fitted, head, large_body
from drillbox.screen.footer import NO_FOOT, Foot, footer, short_footer
from drillbox.screen.hints import heading, listed, note_line, pickup_line, under_bars
from drillbox.screen.large import LEAST_WIDTH, large_heading
from drillbox.screen.look import Look, clean


@dataclass(frozen=True, slots=True)
class DrillView:
    """All that a drill's screen says.

    ``message`` is one line about the last key pressed; ``sounding`` the beat while it runs,
    ``count`` the beat of the count-in, from 1; 0 outside of it; ``foot`` what can be pressed.
    """

    title: str
    key: Key
    chart: Chart
    tempo: int
    double_time: bool
    minutes_left: int
    hint: HintView | None = None
    note: str = ""
    message: str = ""
    sounding: Sounding | None = None
    count: int = 0
    foot: Foot = NO_FOOT


def drill_screen(view: DrillView, look: Look) -> RenderableType:
    """Draw one card as the player sees it, in large letters where they fit."""
    middle = (look.width >= LEAST_WIDTH and _large(view, look)) or _compact(view, look)
    top = head(view.title, f"{view.minutes_left} min left", look)
    return Group(*fitted(top, middle, footer(view.foot, look), short_footer(view.foot, look), look))


def _compact(view: DrillView, look: Look) -> Body:
    chart, said = _chart_and_hint(view, look, look.width - 2)
    return body([_facts_line(view, look), Text(""), *chords(chart), Text("")], said, look)


def _facts_line(view: DrillView, look: Look) -> Text:
    """Return key, tempo, meter and feel on one line, and the count-in while it lasts."""
    key = view.key.text(ascii=look.ascii)
    stated = facts(view.chart, view.double_time, look, f"tempo {view.tempo}")
    return Text.assemble(
        (f"{key}   ", style.TITLE), stated, counting(view.count, view.sounding, look)
    )


def _large(view: DrillView, look: Look) -> Body | None:
    """Return the body in large letters; None where they don't fit, and for hints.

    Where only the chart fits in large letters, key and tempo stand on a line above it.
    """
    if view.hint is not None:
        return None
    said = [clean(view.message, ascii=look.ascii)] if view.message else []
    texts = [view.key.text(ascii=look.ascii), str(view.tempo)]
    heading_lines = [
        Text(facts(view.chart, view.double_time, look), style.QUIET),
        *(
            Text(line, style.TITLE)
            for line in large_heading([*texts, *([str(view.count)] if view.count else [])], look)
        ),
        Text(""),
    ]
    headings = (heading_lines, [_facts_line(view, look)])
    return large_body(view.chart, headings, said, footer(view.foot, look), look, view.sounding)


def _chart_and_hint(view: DrillView, look: Look, width: int) -> tuple[list[str], list[str]]:
    """Return the chart's lines, a hint standing under its chords where it fits, and the rest."""
    message = [clean(view.message, ascii=look.ascii)] if view.message else []
    hint = view.hint
    sounding = view.sounding or at_rest(view.chart)
    if hint is None:
        return bar_lines(view.chart, look, width, (), sounding), message
    said = [heading(hint), *note_line(view.note, look), *message]
    lines = bar_lines(view.chart, look, width, under_bars(hint), sounding)
    if max(cell_len(line) for line in lines) <= width:
        return lines, [*pickup_line(hint), *said]
    lines = bar_lines(view.chart, look, width, (), sounding)
    return lines, [*listed(hint, look), *said]


def drill_lines(view: DrillView, look: Look) -> list[str]:
    """Say the same line by line, for a pipe or a screen reader."""
    key = view.key.text(ascii=look.ascii)
    stated = [
        clean(view.title, ascii=look.ascii),
        f"key {key}",
        f"tempo {view.tempo}",
        view.chart.meter.text(),
        *(["double time"] if view.double_time else []),
        f"{view.minutes_left} minutes left",
    ]
    return [", ".join(stated), f"  {chart_text(view.chart, ascii=look.ascii)}"]


def hint_lines(view: DrillView, look: Look) -> list[str]:
    """Say the hint that is shown, chord by chord, and the player's note."""
    if view.hint is None:
        return []
    return [heading(view.hint), *listed(view.hint, look), *note_line(view.note, look)]
