"""Lists of tunes, and one tune as a chart in the sections of its form."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.music.tunes import Tune
from drillbox.output import counted
from drillbox.screen import style
from drillbox.screen.lead_sheet import bar_rows
from drillbox.screen.look import Look, clean
from drillbox.screen.table import Column, table

NO_TUNES = (
    "No tunes yet. Bring one in with 'drillbox tune add', or look at invented ones: "
    "drillbox --demo tune list"
)
Listed = tuple[int, Tune, tuple[str, ...]]


def tune_list(tunes: Sequence[Listed], look: Look) -> RenderableType:
    """List tunes: number, title, key, tempo, bars, form and tags."""
    if not tunes:
        return Text(NO_TUNES)
    columns = [
        Column("no.", right=True),
        Column("tune", wide=True),
        Column("key"),
        Column("tempo", right=True),
        Column("bars", right=True, least=50),
        Column("form", least=70),
        Column("tags", least=60),
    ]
    rows = [
        (
            str(number),
            tune.title,
            tune.key.text(ascii=look.ascii),
            str(tune.tempo),
            str(len(tune.chart.bars)),
            form_words(tune),
            ", ".join(tags),
        )
        for number, tune, tags in tunes
    ]
    return table(columns, rows, look)


def form_words(tune: Tune) -> str:
    """Return the form as players say it: ``AABA``; what is played once in small letters."""
    names = [section.name for section in tune.form]
    letters = [name if len(name) == 1 else f" {name} " for name in names]
    return " ".join("".join(letters).split())


def tune_screen(tune: Tune, tags: Sequence[str], look: Look) -> RenderableType:
    """Show one tune: its facts and its chart."""
    return Group(*tune_heading(tune, tags, look), Text(""), *chart_lines(tune, look))


def tune_heading(tune: Tune, tags: Sequence[str], look: Look) -> list[Text]:
    """Return the title, and key, meter, tempo, bars, form and tags on a line."""
    bars = len(tune.chart.bars)
    facts = [
        f"key {tune.key.text(ascii=look.ascii)}",
        tune.chart.meter.text(),
        f"tempo {tune.tempo}",
        counted(bars, "bar"),
        *([form_words(tune)] if tune.form else []),
        *([clean(", ".join(tags), ascii=look.ascii)] if tags else []),
    ]
    title = clean(tune.title, look.width, ascii=look.ascii)
    return [Text(title, style.TITLE), Text(f" {look.dot} ".join(facts))]


def chart_lines(tune: Tune, look: Look, below: Sequence[Sequence[str]] = ()) -> Iterator[Text]:
    """Yield the chart line by line, section by section, the bar's number before each line.

    ``below`` gives for each bar one text per span, set under it.
    """
    margin = 4
    for name, first, end in list(tune.sections()) or [("", 0, len(tune.chart.bars))]:
        if name:
            yield Text(section_words(tune, name), style.QUIET)
        part = replace(tune.chart, bars=tune.chart.bars[first:end])
        under = below[first:end]
        for bars, lines in bar_rows(part, look, look.width - margin, under):
            for layer, line in enumerate(lines):
                number = "" if layer else str(first + bars.start + 1)
                shape = style.SOUND if layer and under else style.CHORD
                if layer == 0 or line.strip():
                    yield Text.assemble((f"{number:>3} ", style.QUIET), (line, shape), no_wrap=True)


def section_words(tune: Tune, name: str) -> str:
    """Return a section's name; the bridge is called so."""
    return f"{name} (bridge)" if name == tune.bridge else name
