"""A phrase as on a lead sheet: its chart as bars of chord symbols, its facts and its doubts.

A chart's bars as a drill shows them, with beats and hints; numbered, to choose some of a tune's;
and a phrase as it was understood, in twelve keys, with the doubts about it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TYPE_CHECKING, NamedTuple

from rich.cells import cell_len
from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.music.charts import Bar, Chart, Meter, Span, beat_text, counted_beats, place
from drillbox.music.phrases import Phrase
from drillbox.music.symbols.printed import chart_text, symbol_text
from drillbox.output import counted
from drillbox.screen import style
from drillbox.screen.look import Hanging, Look, clean

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


class BarRow(NamedTuple):
    """Bars that stand side by side, counted from 0, as the lines that they take together."""

    bars: range
    lines: list[str]


def _in_time(
    spans: Sequence[Span], texts: Sequence[str], begin: Fraction, length: Fraction, cell: int
) -> str:
    """Return texts as ``cell`` characters, each at its place in time, or as near as all fit."""
    line = ""
    for index, (span, text) in enumerate(zip(spans, texts, strict=True)):
        rest = sum(cell_len(each) + 1 for each in texts[index:]) - 1
        column = min(int((span.start - begin) / length * cell), cell - rest)
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


def beat_marks(sounding: Sounding, bar: int, part: tuple[Fraction, Fraction], cell: int,
               look: Look) -> str:  # fmt: skip
    """Return the beats of a part of a bar as ``cell`` characters, the sounding one told by its
    shape; blanks where another bar sounds. ``part`` is its begin and its end, of 0 to 1."""
    marks = [" "] * cell
    begin, end = part
    for beat in range(sounding.beats if sounding.bar == bar else 0):
        at = Fraction(beat, sounding.beats)
        if begin <= at < end:
            column = int((at - begin) / (end - begin) * cell)
            marks[column] = look.beat if beat == sounding.beat else look.dot
    return "".join(marks)


def bar_lines(chart: Chart, look: Look, width: int) -> list[str]:
    """Return a chart as lines of at most ``width`` cells; see ``bar_rows``."""
    return [line for row in bar_rows(chart, look, width) for line in row.lines]


def bar_rows(
    chart: Chart,
    look: Look,
    width: int,
    below: Sequence[Sequence[str]] = (),
    sounding: Sounding | None = None,
) -> list[BarRow]:
    """Return the chart in rows of at most ``width`` cells, four bars to a row where they fit.

    ``below`` gives, for each bar, one text per span that is set under it (hints). With
    ``sounding`` a line of beats stands under each line of bars. Where a bar is wider than the
    line by itself its chords move together, and if need be it goes on in the next line; with
    texts below, which have to stay under their chords, it is let stand.
    """
    length = chart.meter.bar
    rows = [[span_text(span, look) for span in bar.spans] for bar in chart.bars]
    layers = [rows, [list(texts) for texts in below]] if below else [rows]
    cell = max(
        least_width(bar, length, layer[i]) for layer in layers for i, bar in enumerate(chart.bars)
    )
    cell = max(cell, sounding.beats * 2 if sounding else 8)
    if not below and cell + 4 > width:
        return [_broken_bar(chart, i, rows[i], max(1, width - 4), sounding, look)
                for i in range(len(chart.bars))]  # fmt: skip
    count = next((n for n in (4, 2) if n * (cell + 3) + 1 <= width), 1)
    found: list[BarRow] = []
    for first in range(0, len(chart.bars), count):
        group = range(first, min(first + count, len(chart.bars)))
        lines: list[str] = []
        for number, layer in enumerate(layers):
            mark = look.bar_line if number == 0 else " "
            bars = [chart.bars[i].spans for i in group]
            placed = [
                _in_time(spans, layer[i], Fraction(0), length, cell)
                for i, spans in zip(group, bars, strict=True)
            ]
            lines.append(_joined(placed, mark))
        if sounding:
            whole = Fraction(0), Fraction(1)
            beats = [beat_marks(sounding, i, whole, cell, look) for i in group]
            lines.append(_joined(beats, " "))
        found.append(BarRow(group, [line.rstrip() for line in lines]))
    return found


def _broken_bar(
    chart: Chart, at: int, texts: Sequence[str], cell: int, sounding: Sounding | None, look: Look
) -> BarRow:
    """Return one bar in as many lines of ``cell`` characters as its chords need."""
    spans, length = chart.bars[at].spans, chart.meter.bar
    starts = [0]
    for index in range(1, len(spans)):
        if sum(cell_len(text) + 1 for text in texts[starts[-1] : index + 1]) - 1 > cell:
            starts.append(index)
    lines: list[str] = []
    for first, last in zip(starts, [*starts[1:], len(spans)], strict=True):
        begin = spans[first].start
        end = spans[last].start if last < len(spans) else length
        drawn = _in_time(spans[first:last], texts[first:last], begin, end - begin, cell)
        left = " " if first else look.bar_line
        lines.append(f"{left} {drawn} {look.bar_line if last == len(spans) else ''}".rstrip())
        if sounding:
            part = begin / length, end / length
            lines.append(f"  {beat_marks(sounding, at, part, cell, look)}".rstrip())
    return BarRow(range(at, at + 1), lines)


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
    return [
        f"{'' if number else row.bars.start + 1:>4} {line}"
        for row in bar_rows(chart, look, look.width - 5)
        for number, line in enumerate(row.lines)
    ]


def doubts(
    phrase: Phrase,
    cautions: Sequence[Caution],
    misfits: Sequence[tuple[Key, Fit]],
    instrument: str,
    look: Look,
) -> list[Hanging]:
    """Return what there is to look at in a phrase, a line each; [] for nothing."""
    texts = caution_texts(cautions, phrase.chart, look)
    return doubt_lines([*texts, *range_texts(misfits, instrument, look)], look)


def doubt_lines(warnings: Iterable[str], look: Look) -> list[Hanging]:
    """Return each warning as a line."""
    return [Hanging("  check: ", clean(text, ascii=look.ascii), style.WEAK) for text in warnings]


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
        *([Hanging("  octave broken: ", broken)] if broken else []),
        *doubts(phrase, understood.cautions, understood.misfits, understood.instrument, look),
        Text(""),
    )


def tune_lines(
    views: Sequence[Understood], look: Look, *, doubtful: bool = False
) -> RenderableType:
    """Draw phrases a line each; those that are doubtful with what there is to look at."""
    lines: list[RenderableType] = []
    for view in views:
        phrase = view.phrase
        title = clean(phrase.title, 40, ascii=look.ascii)
        end = phrase.chart.sounding()[-1:] if phrase.chart.turnaround else []
        turn = f" {look.dot} turnaround {symbol_text(end[0], ascii=look.ascii)}" if end else ""
        lines.append(Text(f"{title}: {facts_line(phrase, look)}{turn}"))
        if doubtful:
            lines += doubts(phrase, view.cautions, view.misfits, view.instrument, look)
    return Group(*lines)


def _key_lines(versions: Sequence[Phrase], look: Look) -> list[Hanging]:
    """Return each key's chart on a line."""
    keys = [each.key.text(ascii=look.ascii) for each in versions]
    room = max(4, *map(len, keys))
    charts = (chart_text(each.chart, ascii=look.ascii) for each in versions)
    return [Hanging(f"  {key:<{room}} ", chart) for key, chart in zip(keys, charts, strict=True)]
