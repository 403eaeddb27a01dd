"""A phrase as on a lead sheet: its chart as bars of chord symbols, its facts and its doubts.

A chart's bars as a drill shows them, with beats and hints; numbered, to choose some of a tune's;
and a phrase as it was understood, in twelve keys, with the doubts about it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING

from rich.cells import cell_len
from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.music.charts import Bar, Chart, Meter, Span, beat_text, counted_beats, place
from drillbox.music.phrases import Phrase
from drillbox.music.symbols.printed import chart_text, symbol_text
from drillbox.output import counted
from drillbox.screen import style
from drillbox.screen.look import Look, clean

if TYPE_CHECKING:
    from drillbox.music.analysis.cautions import Caution
    from drillbox.music.keys import Key
    from drillbox.music.moving.instruments import Break, Breaks
    from drillbox.music.moving.transposition import Fit
    from drillbox.practice.adding import Understood


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


def doubts(
    phrase: Phrase,
    cautions: Sequence[Caution],
    misfits: Sequence[tuple[Key, Fit]],
    instrument: str,
    look: Look,
) -> list[Text]:
    """Return what there is to look at in a phrase, a line each; [] for nothing."""
    texts = caution_texts(cautions, phrase.chart, look)
    return doubt_lines([*texts, *range_texts(misfits, instrument, look)], look)


def doubt_lines(warnings: Iterable[str], look: Look) -> list[Text]:
    """Return each warning as a line."""
    return [Text(f"  check: {clean(text, ascii=look.ascii)}", style.WEAK) for text in warnings]


def caution_texts(cautions: Sequence[Caution], chart: Chart, look: Look) -> list[str]:
    """Return cautions as sentences; the chords without a guide tone share one."""
    from drillbox.music.analysis.cautions import CautionKind  # only where a phrase is looked into

    bare = [each.span for each in cautions if each.kind is CautionKind.NO_GUIDE_TONE]
    chords = [_placed(chart, span, look) for span in bare if span is not None]
    return [
        *([f"No 3rd or 7th among the targets: {'; '.join(chords)}."] if chords else []),
        *(each.text for each in cautions if each.kind is not CautionKind.NO_GUIDE_TONE),
    ]


def _placed(chart: Chart, index: int, look: Look) -> str:
    """Return a chord with its place: ``Dm7 in bar 2``, ``G7 in bar 2, beat 3``."""
    start, span = chart.spans()[index]
    bar, beat = place(chart.meter, start)
    where = f"bar {bar}" + (f", beat {beat_text(beat)}" if beat != 1 else "")
    return f"{span_text(span, look)} in {where}"


def range_texts(misfits: Sequence[tuple[Key, Fit]], instrument: str, look: Look) -> list[str]:
    """Say in which keys the line leaves the instrument's range, and by how many semitones."""
    keys = [f"{key.text(ascii=look.ascii)} {_how_far(fit)}" for key, fit in misfits]
    return [f"Out of range for {instrument}, by semitones: {', '.join(keys)}."] if keys else []


def break_text(found: Breaks, meter: Meter, look: Look) -> str:
    """Say where lines break the octave: "E up from bar 2, beat 1"; "" where none does."""
    return "; ".join(
        f"{key.text(ascii=look.ascii)} {places_text(places, meter)}" for key, places in found
    )


def places_text(places: Sequence[Break], meter: Meter) -> str:
    """Say where one line breaks the octave: "up from bar 2, beat 1"."""
    return ", ".join(_broken(each, meter) for each in places)


def _broken(each: Break, meter: Meter) -> str:
    bar, beat = place(meter, each.onset)
    way = "up" if each.octaves > 0 else "down"
    times = "" if abs(each.octaves) == 1 else f" {abs(each.octaves)} octaves"
    return f"{way}{times} from bar {bar}, beat {beat_text(beat)}"


def stray_text(fit: Fit, instrument: str) -> str:
    """Say that a card's line leaves the instrument's range, and by how many semitones."""
    return f"Out of range for {instrument}: {_how_far(fit)} (semitones)."


def _how_far(fit: Fit) -> str:
    ways = ((fit.over, "high"), (fit.under, "low"))
    return " and ".join(f"{amount} too {way}" for amount, way in ways if amount)


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
        *doubts(phrase, understood.cautions, understood.misfits, understood.instrument, look),
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
        end = phrase.chart.sounding()[-1:] if phrase.chart.turnaround else []
        turn = f" {look.dot} turnaround {symbol_text(end[0], ascii=look.ascii)}" if end else ""
        lines.append(Text(f"{title}: {facts_line(phrase, look)}{turn}"))
        if doubtful:
            lines += doubts(phrase, view.cautions, view.misfits, view.instrument, look)
    return Group(*lines)


def _key_lines(versions: Sequence[Phrase], look: Look) -> list[Text]:
    """Return each key's chart on a line."""
    keys = [each.key.text(ascii=look.ascii) for each in versions]
    room = max(4, *map(len, keys))
    charts = (chart_text(each.chart, ascii=look.ascii) for each in versions)
    return [Text(f"  {key:<{room}} {chart}") for key, chart in zip(keys, charts, strict=True)]
