"""The screen of a drill: title, key, chart, tempo and the minutes left, and nothing else."""

from __future__ import annotations

from dataclasses import dataclass
from textwrap import wrap

from rich.cells import cell_len
from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.music.charts import Chart
from drillbox.music.keys import Key
from drillbox.music.printed_chart import chart_text
from drillbox.practice.hinting import HintView
from drillbox.screen import style
from drillbox.screen.bars import Sounding, bar_lines
from drillbox.screen.drill_keys import footer, short_footer
from drillbox.screen.hints import heading, listed, note_line, pickup_line, under_bars
from drillbox.screen.large import LEAST_WIDTH, large_heading, large_lines
from drillbox.screen.look import Look, clean


@dataclass(frozen=True, slots=True)
class DrillView:
    """All that a drill's screen says.

    ``message`` is one line about the last key pressed; ``sounding`` the beat while it runs,
    ``count`` the beat of the count-in, from 1; 0 outside of it.
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


def drill_screen(view: DrillView, look: Look) -> RenderableType:
    """Draw one card as the player sees it, in large letters where they fit."""
    body = (look.width >= LEAST_WIDTH and _large(view, look)) or _compact(view, look)
    return Group(*_fitted([_head(view, look), _rule(look)], body, look))


def _head(view: DrillView, look: Look) -> Text:
    width = look.width - 2
    left = f"{view.minutes_left} min left"
    title = clean(view.title, max(8, width - cell_len(left) - 2), ascii=look.ascii)
    gap = " " * max(2, width - cell_len(title) - cell_len(left))
    return _indented(Text.assemble((title, style.TITLE), gap, left))


def _rule(look: Look) -> Text:
    return Text(look.rule * look.width, style.QUIET)


def _facts(view: DrillView, look: Look, *first: str) -> str:
    feel = ["double time"] if view.double_time else []
    return f" {look.dot} ".join([*first, view.chart.meter.text(), *feel])


@dataclass(frozen=True, slots=True)
class _Body:
    """What stands between the head and the keys: the chart with its facts, and what is said."""

    chart: list[Text]
    said: list[Text]


def _compact(view: DrillView, look: Look) -> _Body:
    chart, said = _chart_and_hint(view, look, look.width - 2)
    lines = [
        _facts_line(view, look),
        Text(""),
        *(Text(line, style.CHORD, no_wrap=True) for line in chart),
        Text(""),
    ]
    return _body(lines, said, look)


def _body(lines: list[Text], said: list[str], look: Look) -> _Body:
    wrapped = [part for line in said for part in wrap(line, look.width - 2)]
    return _Body([_indented(line) for line in lines], [_indented(Text(line)) for line in wrapped])


def _facts_line(view: DrillView, look: Look) -> Text:
    """Return key, tempo, meter and feel on one line, and the count-in while it lasts."""
    key = view.key.text(ascii=look.ascii)
    facts = _facts(view, look, f"tempo {view.tempo}")
    return Text.assemble((f"{key}   ", style.TITLE), facts, _counting(view, look))


def _counting(view: DrillView, look: Look) -> str:
    """Return the count-in so far, ``1 2 3 ·``, or nothing."""
    if not view.count or view.sounding is None:
        return ""
    beats = range(1, view.sounding.beats + 1)
    return "   " + " ".join(str(n) if n <= view.count else look.dot for n in beats)


def _large(view: DrillView, look: Look) -> _Body | None:
    """Return the body in large letters; None where they don't fit, and for hints.

    Where only the chart fits in large letters, key and tempo stand on a line above it.
    """
    if view.hint is not None:
        return None
    said = [clean(view.message, ascii=look.ascii)] if view.message else []
    room = look.height - len(footer(look)) - 2 * len(said) - 4
    key = view.key.text(ascii=look.ascii)
    heading_lines = [
        Text(_facts(view, look), style.QUIET),
        *(Text(line, style.TITLE) for line in large_heading(key, view.tempo, view.count, look)),
        Text(""),
    ]
    for above in (heading_lines, [_facts_line(view, look)]):
        height = room - len(above)
        chart = large_lines(view.chart, look, look.width - 2, height, view.sounding)
        if chart is not None:
            lines = [*above, *(Text(line, style.CHORD, no_wrap=True) for line in chart)]
            return _body(lines, said, look)
    return None


def _fitted(head: list[Text], body: _Body, look: Look) -> list[Text]:
    """Return the screen's lines; on a low terminal the ratings stay and the rest gives way."""
    foot = footer(look)
    said = [*body.said, Text("")] if body.said else []
    if len(head) + len(body.chart) + len(said) + len(foot) > look.height:
        foot = short_footer(look)
    room = look.height - len(head) - len(foot)
    lines = [*body.chart, *said]
    if len(lines) > room:
        lines = [line for line in lines if line.plain.strip()][:room]
    return [*head, *lines, *foot]


def _chart_and_hint(view: DrillView, look: Look, width: int) -> tuple[list[str], list[str]]:
    """Return the chart's lines, a hint standing under its chords where it fits, and the rest."""
    message = [clean(view.message, ascii=look.ascii)] if view.message else []
    hint = view.hint
    if hint is None:
        return bar_lines(view.chart, look, width, (), view.sounding), message
    said = [heading(hint), *note_line(view.note, look), *message]
    lines = bar_lines(view.chart, look, width, under_bars(hint), view.sounding)
    if max(cell_len(line) for line in lines) <= width:
        return lines, [*pickup_line(hint), *said]
    lines = bar_lines(view.chart, look, width, (), view.sounding)
    return lines, [*listed(hint, look), *said]


def _indented(text: Text) -> Text:
    return Text(" ", no_wrap=True).append_text(text)


def drill_lines(view: DrillView, look: Look) -> list[str]:
    """Say the same line by line, for a pipe or a screen reader."""
    key = view.key.text(ascii=look.ascii)
    facts = [
        clean(view.title, ascii=look.ascii),
        f"key {key}",
        f"tempo {view.tempo}",
        view.chart.meter.text(),
        *(["double time"] if view.double_time else []),
        f"{view.minutes_left} minutes left",
    ]
    return [", ".join(facts), f"  {chart_text(view.chart, ascii=look.ascii)}"]


def hint_lines(view: DrillView, look: Look) -> list[str]:
    """Say the hint that is shown, chord by chord, and the player's note."""
    if view.hint is None:
        return []
    return [heading(view.hint), *listed(view.hint, look), *note_line(view.note, look)]
