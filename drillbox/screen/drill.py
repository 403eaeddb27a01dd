"""The screen of a drill: title, key, chart, tempo and the minutes left, and nothing else."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from rich.cells import cell_len
from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.music.charts import Chart
from drillbox.music.keys import Key
from drillbox.music.printed_chart import chart_text
from drillbox.practice.drilling import HintView
from drillbox.screen import style
from drillbox.screen.bars import Sounding, bar_lines
from drillbox.screen.hints import heading, listed, note_line, pickup_line, under_bars
from drillbox.screen.look import Look, clean

REST = "25 minutes played: rest five, stop on pain, mind the volume. p pauses."
OVER_LINE = "No card is left in this session. u takes the last rating back, any other key ends it."
HELP = (
    ("space", "count in and start the beat; once more stops it"),
    ("l r c f", "rate: lost, rough, clean, fluent; the next card follows"),
    ("u", "take the last rating back, as often as you like"),
    ("h", "hint: target notes, then all degrees, then note names"),
    ("s", "skip this card for the session"),
    ("+ -", "a rung faster or slower, for this attempt"),
    ("n", "a note to self, shown with the hints"),
    ("p", "pause: the minutes stand still"),
    ("q", "stop; all that was rated is kept"),
)
RATINGS = (("l", "lost"), ("r", "rough"), ("c", "clean"), ("f", "fluent"))
OTHERS = (
    ("h", "hint"),
    ("s", "skip"),
    ("u", "undo"),
    ("+", "faster"),
    ("-", "slower"),
    ("n", "note"),
    ("p", "pause"),
    ("q", "stop"),
)


@dataclass(frozen=True, slots=True)
class DrillView:
    """All that a drill's screen says.

    ``message`` is one line about the last key pressed; ``sounding`` the beat while it runs,
    ``counting`` the count-in.
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
    counting: str = ""


def drill_screen(view: DrillView, look: Look) -> RenderableType:
    """Draw one card as the player sees it."""
    width = look.width - 2
    left = f"{view.minutes_left} min left"
    title = clean(view.title, max(8, width - cell_len(left) - 2), ascii=look.ascii)
    head = Text.assemble(
        (title, style.TITLE), " " * max(2, width - cell_len(title) - cell_len(left)), left
    )
    facts = f" {look.dot} ".join(
        [
            f"tempo {view.tempo}",
            view.chart.meter.text(),
            *(["double time"] if view.double_time else []),
        ]
    )
    key = view.key.text(ascii=look.ascii)
    chart, said = _chart_and_hint(view, look, width)
    return Group(
        _indented(head),
        Text(look.rule * look.width, style.QUIET),
        _indented(Text.assemble((f"{key}   ", style.TITLE), facts, f"   {view.counting}")),
        Text(""),
        *(_indented(Text(line, style.CHORD, no_wrap=True)) for line in chart),
        Text(""),
        *(_indented(Text(line)) for line in said),
        *([Text("")] if said else []),
        *footer(look),
    )


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


def footer(look: Look) -> list[Text]:
    """Return the keys, as many to a line as fit."""
    return [
        *_keys_lines(RATINGS, look, style.CHORD),
        *_keys_lines((("space", "start"), *OTHERS, ("?", "keys")), look, ""),
    ]


def _keys_lines(keys: Sequence[tuple[str, str]], look: Look, weight: str) -> list[Text]:
    lines: list[Text] = []
    current = Text()
    for key, word in keys:
        item = Text.assemble((key, style.CHORD), " ", (word, weight or style.QUIET))
        if current and cell_len(current.plain) + cell_len(item.plain) + 4 > look.width:
            lines.append(current)
            current = Text()
        current.append("  " if current else " ").append_text(item)
    return [*lines, current]


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


def keys_line() -> str:
    """Say the keys on one line."""
    pairs = [f"{key} {word}" for key, word in (*RATINGS, *OTHERS[:5], OTHERS[-1])]
    return f"Keys: {', '.join(pairs)}."


def help_screen(look: Look) -> RenderableType:
    """Draw the keys with what each does."""
    lines = [
        Text.assemble(" ", (f"{key:<8}", style.CHORD), clean(what, look.width - 10))
        for key, what in HELP
    ]
    return Group(
        Text(" Keys", style.TITLE),
        Text(look.rule * look.width, style.QUIET),
        *lines,
        Text(""),
        Text(" After the third hint no more than rough counts."),
        Text(" Any key goes back.", style.QUIET),
    )


def over_screen(look: Look, message: str) -> RenderableType:
    """Draw the end of the session, where the last rating can still be taken back."""
    return Group(
        Text(" That was the last card", style.TITLE),
        Text(look.rule * look.width, style.QUIET),
        Text(f" {clean(message, ascii=look.ascii)}"),
        Text(""),
        Text(" u takes the last rating back, any other key ends the session.", style.QUIET),
    )


def paused_screen(look: Look) -> RenderableType:
    """Draw the pause."""
    return Group(
        Text(" Paused", style.TITLE),
        Text(look.rule * look.width, style.QUIET),
        Text(" The minutes stand still. Any key goes on.", style.QUIET),
    )


def counting_text(beat: int, beats: int, look: Look) -> str:
    """Return the count-in so far: ``1 2 3 ·``."""
    return " ".join(str(n + 1) if n <= beat else look.dot for n in range(beats))
