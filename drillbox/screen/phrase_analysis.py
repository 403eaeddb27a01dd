"""What is in a phrase: its chords, its line bar by bar or note by note, what to mind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from rich.console import RenderableType
from rich.text import Text

from drillbox.music.analysis.implied import Implied
from drillbox.music.analysis.motion import Enclosure
from drillbox.music.analysis.roles import Role
from drillbox.music.analysis.targets import arrival_text
from drillbox.music.analysis.whole import Analysis, NoteFacts, function_text, role_text, scale_text
from drillbox.music.charts import Chart, Span, beat_text
from drillbox.music.degrees import with_signs
from drillbox.music.heard import heard_as
from drillbox.music.symbols.printed import symbol_text
from drillbox.practice.library import AnalysisView
from drillbox.screen.lead_sheet import break_text, doubts, span_text
from drillbox.screen.line import line_rows, spoken
from drillbox.screen.look import Hanging, Look
from drillbox.screen.table import Column, table

_NARROW = 64


def analysis_screen(view: AnalysisView, look: Look, *, notes: bool) -> list[RenderableType]:
    """Draw what is in a phrase: chords, line and enclosures, and the warnings.

    With ``notes`` every note stands in its own row instead of in its bar.
    """
    warnings = doubts(view.phrase, view.analysis.cautions, view.misfits, view.instrument, look)
    broken = break_text(view.breaks, view.phrase.chart.meter, look)
    return [
        _chords(view, look),
        Text(""),
        *(_line(view, look, notes=notes) if view.phrase.line else []),
        *([Hanging("  octave broken: ", broken)] if broken else []),
        *warnings,
        *([Text("")] if warnings or broken else []),
    ]


def _chords(view: AnalysisView, look: Look) -> RenderableType:
    """Draw each chord with its place, function, targets and scale; held ones but once."""
    chart, analysis = view.phrase.chart, view.analysis
    aimed = _targets(analysis, look)
    columns = [
        Column("bar", right=True),
        Column("beat"),
        Column("chord"),
        Column("function", wraps=True),
        *([Column("targets", wraps=True)] if view.phrase.line else []),
        Column("scale", wraps=True),
    ]
    rows = []
    for at, ((_, span), facts) in enumerate(zip(chart.spans(), analysis.chords, strict=True)):
        if not facts.begins:
            continue
        targets = [*aimed.get(at, []), *(_held(at, analysis, aimed))]
        rows.append(
            (
                str(facts.bar),
                beat_text(facts.beat),
                span_text(span, look),
                _cell(function_text(facts, view.phrase.key, ascii=look.ascii), look),
                *([_cell(", ".join(targets), look)] if view.phrase.line else []),
                _cell(scale_text(facts, ascii=look.ascii), look),
            )
        )
    return _listed(columns, rows, look)


def _listed(
    columns: Sequence[Column], rows: Sequence[tuple[str, ...]], look: Look
) -> RenderableType:
    """Draw a table, or say it row by row where its words would be cut."""
    return table(columns, rows, replace(look, plain=look.plain or look.width < _NARROW))


def _held(at: int, analysis: Analysis, aimed: dict[int, list[str]]) -> list[str]:
    """Return the targets of the spans that hold the chord begun in a span."""
    found: list[str] = []
    for later in range(at + 1, len(analysis.chords)):
        if analysis.chords[later].begins:
            break
        found += aimed.get(later, [])
    return found


def _targets(analysis: Analysis, look: Look) -> dict[int, list[str]]:
    """Return for each span its targets as degrees, with how early or late they arrive."""
    found: dict[int, list[str]] = {}
    for facts in analysis.notes:
        if Role.TARGET in facts.roles:
            text = _degree(facts, look)
            if facts.arrival:
                text += f" ({arrival_text(facts.arrival, analysis.subdivision)})"
            found.setdefault(facts.span, []).append(text)
    return found


def _line(view: AnalysisView, look: Look, *, notes: bool) -> list[RenderableType]:
    if notes:
        return [_note_table(view, look), Text("")]
    said = [(each.notes, _enclosure(each, view, look)) for each in view.analysis.enclosures]
    said += [(each.notes, _implied(each, view, look)) for each in view.analysis.implied]
    return [
        *line_rows(view.phrase, view.analysis, look),
        *([Text("")] if said else []),
        *(Hanging("  ", text) for _, text in sorted(said)),
        Text(""),
    ]


def _note_table(view: AnalysisView, look: Look) -> RenderableType:
    chart, analysis = view.phrase.chart, view.analysis
    columns = [
        Column("bar", right=True),
        Column("beat"),
        Column("chord"),
        Column("note"),
        Column("degree"),
        Column("role", wraps=True),
    ]
    rows = [
        (
            str(facts.bar),
            beat_text(facts.beat),
            span_text(_span(chart, facts.span), look),
            note.pitch.name.text(ascii=look.ascii),
            _degree(facts, look),
            _cell(with_signs(_what(analysis, index), ascii=look.ascii), look),
        )
        for index, (note, facts) in enumerate(zip(view.phrase.line, analysis.notes, strict=True))
    ]
    return _listed(columns, rows, look)


def _what(analysis: Analysis, index: int) -> str:
    """Return what a note is, early or late in note values."""
    what, _, arrives = role_text(analysis, index).partition("; ")
    arrival = analysis.notes[index].arrival
    if not (arrives and arrival):
        return what
    return f"{what}; {arrival_text(arrival, analysis.subdivision)}"


def _enclosure(enclosure: Enclosure, view: AnalysisView, look: Look) -> str:
    """Say where an enclosure stands and what it lands on."""
    first, landing = (view.analysis.notes[i] for i in (enclosure.notes[0], enclosure.landing))
    chord = span_text(_span(view.phrase.chart, landing.span), look)
    around = f"{enclosure.text()} around the {spoken(_degree(landing, look))} of {chord}"
    return f"{_where(first)}: {around}"


def _implied(stated: Implied, view: AnalysisView, look: Look) -> str:
    """Say where the line implies a harmony, over which chord, and where a dominant resolves."""
    chart, notes = view.phrase.chart, view.analysis.notes
    over = _span(chart, stated.span)
    end = None if stated.resolution is None else notes[stated.resolution]
    goal = over if end is None else _span(chart, end.span)
    made = symbol_text(stated.chord(heard_as(goal.chord)) if goal.chord else None, ascii=look.ascii)
    name = with_signs(stated.text(), ascii=look.ascii)
    text = f"{_where(notes[stated.notes[0]])}: {made} ({name}) implied over {span_text(over, look)}"
    if end is None:
        return text
    return f"{text}, resolving to the {spoken(_degree(end, look))} of {span_text(goal, look)}"


def _where(facts: NoteFacts) -> str:
    bar = "in the pickup" if facts.bar < 1 else f"bar {facts.bar}"
    return f"{bar}, beat {beat_text(facts.beat)}"


def _span(chart: Chart, index: int) -> Span:
    return chart.spans()[index][1]


def _degree(facts: NoteFacts, look: Look) -> str:
    return with_signs(facts.degree, ascii=look.ascii) if facts.degree else look.dash


def _cell(text: str, look: Look) -> str:
    return text or look.dash
