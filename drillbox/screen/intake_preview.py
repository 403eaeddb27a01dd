"""What was understood of a phrase that comes in: its facts and its chart in twelve keys."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.counted import counted
from drillbox.music.phrases import Phrase
from drillbox.music.symbols.printed import chart_text, symbol_text
from drillbox.music.turnarounds import turnaround_chord
from drillbox.practice.adding import Understood
from drillbox.screen import style
from drillbox.screen.bars import bar_lines
from drillbox.screen.doubts import break_text, caution_texts, doubt_lines, range_texts
from drillbox.screen.look import Look, clean


def facts_line(phrase: Phrase, look: Look) -> str:
    """Return key, meter, goal tempo and feel on one line."""
    facts = [
        f"key {phrase.key.text(ascii=look.ascii)}",
        phrase.chart.meter.text(),
        f"goal {phrase.tempo}",
        *(["double time"] if phrase.double_time else []),
        _notes(phrase),
    ]
    return f" {look.dot} ".join(facts)


def _notes(phrase: Phrase) -> str:
    count = len(phrase.line)
    return counted(count, "note") if count else "chart only"


def understood_screen(understood: Understood, look: Look) -> RenderableType:
    """Draw a phrase as it was understood, in its written key and then in all twelve."""
    phrase = understood.phrase
    title = clean(phrase.title, look.width - 2, ascii=look.ascii)
    lines = bar_lines(phrase.chart, look, look.width - 2)
    keys = _key_lines(understood.versions, look)
    warnings = [
        *caution_texts(understood.cautions, phrase.chart, look),
        *range_texts(understood.misfits, understood.instrument, look),
    ]
    broken = break_text(understood.breaks, phrase.chart.meter, look)
    return Group(
        Text(title, style.TITLE),
        Text(facts_line(phrase, look)),
        Text(""),
        *(Text(f"  {line}", style.CHORD, no_wrap=True) for line in lines),
        Text(""),
        Text("In twelve keys, in the order they start", style.QUIET),
        *keys,
        *([Text(f"  octave broken: {broken}")] if broken else []),
        *doubt_lines(warnings, look),
        Text(""),
    )


def tune_lines(
    views: Sequence[Understood], look: Look, *, doubtful: bool = False
) -> RenderableType:
    """Draw phrases a line each; those that are doubtful with what there is to look at."""
    lines = []
    for view in views:
        phrase = view.phrase
        title = clean(phrase.title, 40, ascii=look.ascii)
        end = phrase.chart.sounding()[-1:] if turnaround_chord(phrase.chart) else []
        turn = f" {look.dot} turnaround {symbol_text(end[0], ascii=look.ascii)}" if end else ""
        lines.append(Text(f"{title}: {facts_line(phrase, look)}{turn}"))
        if doubtful:
            warnings = [
                *caution_texts(view.cautions, phrase.chart, look),
                *range_texts(view.misfits, view.instrument, look),
            ]
            lines += doubt_lines(warnings, look)
    return Group(*lines)


def _key_lines(versions: Sequence[Phrase], look: Look) -> list[Text]:
    """Return each key's chart on a line."""
    keys = [each.key.text(ascii=look.ascii) for each in versions]
    room = max(4, *map(len, keys))
    charts = (chart_text(each.chart, ascii=look.ascii) for each in versions)
    return [Text(f"  {key:<{room}} {chart}") for key, chart in zip(keys, charts, strict=True)]
