"""The report's pages for tunes: each one's chart with its fits, and how ready they are."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape

from drillbox.music.tunes import Tune
from drillbox.practice.fits import Row, TuneFits, fit_in_words
from drillbox.screen.fit_places import place_marks, places_text, remark_lines
from drillbox.screen.lead_sheet import span_text
from drillbox.screen.look import Look, clean
from drillbox.screen.tune_list import form_words, section_words

_LOOK = Look(plain=True)  # a browser breaks the lines of a sentence
BARS = 4  # to a line of a chart


def tune_sections(tunes: Sequence[TuneFits]) -> str:
    """Return a section for each tune, on its own page when printed."""
    return "".join(_section(number, each) for number, each in enumerate(tunes, start=1))


def safe(text: str) -> str:
    """Return a text as it stands on the page, whatever is in it."""
    return escape(clean(text))


def _section(number: int, found: TuneFits) -> str:
    tune, ident = found.tune, f"tune-{number}"
    facts = [
        f"key {tune.key.text(ascii=False)}",
        tune.chart.meter.text(),
        f"tempo {tune.tempo}",
        *([form_words(tune)] if tune.form else []),
    ]
    said = "".join(f"<p>{safe(line)}</p>" for line in remark_lines(found, _LOOK) if line)
    return (
        f'<section class="tune" aria-labelledby="{ident}"><h2 id="{ident}">{safe(tune.title)}</h2>'
        f'<p class="note">{safe(", ".join(facts))}</p>{_chart(found)}{_rows(found)}{said}'
        "</section>\n"
    )


def _chart(found: TuneFits) -> str:
    """Return the chart as a table, four bars to a line, the places' numbers under the chords."""
    tune, marks = found.tune, place_marks(found.rows, found.tune.chart)
    lines = "".join(
        _heading(tune, name) + "".join(_line(tune, marks, at, min(at + BARS, end))
                                       for at in range(first, end, BARS))
        for name, first, end in list(tune.sections()) or [("", 0, len(tune.chart.bars))]
    )  # fmt: skip
    label = f"Chart of {clean(tune.title)}"
    return (
        f'<div class="wide" tabindex="0" role="region" aria-label="{escape(label)}">'
        f'<table class="changes"><tbody>{lines}</tbody></table></div>'
    )


def _heading(tune: Tune, name: str) -> str:
    if not name:
        return ""
    words = section_words(tune, name)
    return f'<tr><th scope="colgroup" colspan="{BARS + 1}">{safe(words)}</th></tr>'


def _line(tune: Tune, marks: Sequence[Sequence[str]], first: int, end: int) -> str:
    bars = "".join(_bar(tune, marks[index], index) for index in range(first, end))
    empty = "<td></td>" * (BARS - (end - first))
    return f'<tr><th scope="row">{first + 1}</th>{bars}{empty}</tr>'


def _bar(tune: Tune, marks: Sequence[str], index: int) -> str:
    """Return one bar: each chord with the numbers of the places that begin under it."""
    chords = "".join(
        f"<span>{escape(span_text(span, _LOOK))}{_mark(mark)}</span>"
        for span, mark in zip(tune.chart.bars[index].spans, marks, strict=True)
    )
    return f"<td>{chords}</td>"


def _mark(mark: str) -> str:
    return f'<b class="sound"><span class="sr">fits </span>{mark}</b>' if mark else ""


def _rows(found: TuneFits) -> str:
    if not found.rows:
        return ""
    heads = "".join(
        f'<th scope="col" class="word">{head}</th>'
        for head in ("Phrase", "Key", "Bars", "How it fits", "Tempo", "Ready", "Chance")
    )
    rows = "".join(_row(n, row, found) for n, row in enumerate(found.rows, start=1))
    return (
        f'<div class="wide" tabindex="0" role="region" aria-label="What fits into '
        f'{escape(clean(found.tune.title))}"><table class="phrase"><caption>What fits, by bar, '
        f'readiest first.</caption><thead><tr><th scope="col">No.</th>{heads}</tr></thead>'
        f"<tbody>{rows}</tbody></table></div>"
    )


def _row(number: int, row: Row, found: TuneFits) -> str:
    cells = "".join(f'<td class="word">{safe(text)}</td>' for text in _cells(row, found))
    return f'<tr><th scope="row">{number}</th>{cells}</tr>'


def _cells(row: Row, found: TuneFits) -> Iterator[str]:
    yield row.title
    yield row.key.text(ascii=False)
    yield places_text(row.starts, found.tune.chart)
    yield fit_in_words(row)
    yield str(row.tempo)
    yield row.ready_in_words
    yield row.ready.figures or "–"
