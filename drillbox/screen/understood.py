"""What was understood of a phrase: its facts, its chart in twelve keys, what one may change."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.music.analysis.cautions import Caution, CautionKind
from drillbox.music.charts import Chart, Meter, beat_text, place
from drillbox.music.keys import Key
from drillbox.music.moving.instruments import Break, Breaks
from drillbox.music.moving.transposition import Fit
from drillbox.music.phrases import Phrase
from drillbox.music.symbols.printed import chart_text, symbol_text
from drillbox.output import counted
from drillbox.practice.adding import Understood
from drillbox.screen import style
from drillbox.screen.bars import bar_lines, span_text
from drillbox.screen.look import Look, clean


def doubt_lines(warnings: Iterable[str], look: Look) -> list[Text]:
    """Return each warning as a line."""
    return [Text(f"  check: {clean(text, ascii=look.ascii)}", style.WEAK) for text in warnings]


def caution_texts(cautions: Sequence[Caution], chart: Chart, look: Look) -> list[str]:
    """Return cautions as sentences; the chords without a guide tone share one."""
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
        end = phrase.chart.sounding()[-1:] if phrase.chart.turnaround else []
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
