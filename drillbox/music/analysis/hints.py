"""The ladder of three hints in a drill: degrees and names in bars, never staff notation.

1. the targets as degrees under each chord;
2. all degrees;
3. the note names in this key. After this one a rating can't be better than rough.

Where a phrase has a chart and no line, the three are the chords' guide tones as degrees,
their tones as degrees, and the same tones by name: those that are played.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from typing import Literal

from drillbox.music.analysis.roles import Role
from drillbox.music.analysis.whole import Analysis
from drillbox.music.charts import Chart, Span, place
from drillbox.music.chords import degree_text, guide_degrees, played_degrees, tone_name
from drillbox.music.degrees import with_signs
from drillbox.music.heard import heard_as
from drillbox.music.phrases import LineNote
from drillbox.music.symbols.printed import symbol_text

Level = Literal[1, 2, 3]
LAST: Level = 3
NO_CHORD = "-"
"""What stands for the degree of a note over no chord."""
_TITLES = {
    True: ("targets as degrees", "all degrees", "note names"),
    False: ("guide tones as degrees", "chord tones as degrees", "chord tones by name"),
}


@dataclass(frozen=True, slots=True)
class HintCell:
    """One chord as printed, the beat it begins on (from 1), and what the hint says of it."""

    chord: str
    beat: Fraction
    texts: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class HintBar:
    """One bar of a hint; bars count from 1, a pickup is bar 0."""

    number: int
    cells: tuple[HintCell, ...]


def hint_title(level: Level, *, has_line: bool) -> str:
    """Return what a hint shows, in words."""
    return _TITLES[has_line][level - 1]


def hint(
    level: Level,
    chart: Chart,
    line: Sequence[LineNote],
    analysis: Analysis,
    *,
    ascii: bool = True,
) -> tuple[HintBar, ...]:
    """Return a hint for a card: bars of chords, each with its degrees or names in order.

    ``chart`` and ``line`` are the card's, ``analysis`` the phrase's, made in any key. A note
    stands under the chord that it's heard with, so an early arrival under the coming chord;
    a pickup has its own bar, under the first chord.
    Only level 3 reads the line's names.
    """
    per_span: list[list[str]] = [[] for _ in chart.spans()]
    if not line:
        per_span = [_chord_hint(level, span, ascii) for _, span in chart.spans()]
        return _bars(chart, per_span, ascii)
    pickup: list[str] = []
    for index in _in_order(chart, line, analysis):
        text = _note_hint(level, line[index], analysis, index, ascii)
        if line[index].onset < 0 and not _arrives_early(chart, line, analysis, index):
            pickup += text
        else:
            per_span[min(analysis.notes[index].span, len(per_span) - 1)] += text
    return _pickup_bar(chart, line[0].onset, pickup, ascii) + _bars(chart, per_span, ascii)


def _in_order(chart: Chart, line: Sequence[LineNote], analysis: Analysis) -> list[int]:
    """Return the notes in the order heard, those of the next pass's first chord at its head."""
    early = [i for i in range(len(line)) if _arrives_early(chart, line, analysis, i)]
    return [*early, *(i for i in range(len(line)) if i not in early)]


def _arrives_early(chart: Chart, line: Sequence[LineNote], analysis: Analysis, index: int) -> bool:
    """Return whether a note at the loop's end belongs to the first chord, or a pickup is held
    into it."""
    note, first = line[index], chart.bars[0].spans[0].length
    if note.onset < 0:
        return note.onset + note.length > 0
    return analysis.notes[index].span == 0 and note.onset % chart.length >= first


def _chord_hint(level: Level, span: Span, ascii: bool) -> list[str]:
    if span.chord is None:
        return []
    chord = heard_as(span.chord)
    degrees = guide_degrees(chord) if level == 1 else played_degrees(chord)
    if level == LAST:
        return [tone_name(chord, *each).text(ascii=ascii) for each in degrees]
    return [degree_text(*each, ascii=ascii) for each in degrees]


def _note_hint(
    level: Level, note: LineNote, analysis: Analysis, index: int, ascii: bool
) -> list[str]:
    facts = analysis.notes[index]
    if level == 1 and Role.TARGET not in facts.roles:
        return []
    if level == LAST:
        return [note.pitch.name.text(ascii=ascii)]
    return [with_signs(facts.degree or NO_CHORD, ascii=ascii)]


def _cell(chart: Chart, start: Fraction, span: Span, texts: list[str], ascii: bool) -> HintCell:
    chord = symbol_text(span.chord, ascii=ascii)
    shown = f"({chord})" if span.turnaround else chord
    return HintCell(shown, place(chart.meter, start)[1], tuple(texts))


def _bars(chart: Chart, texts: list[list[str]], ascii: bool) -> tuple[HintBar, ...]:
    cells = (
        (place(chart.meter, start)[0], _cell(chart, start, span, each, ascii))
        for (start, span), each in zip(chart.spans(), texts, strict=True)
    )
    return tuple(
        HintBar(number, tuple(cell for _, cell in group))
        for number, group in groupby(cells, key=lambda each: each[0])
    )


def _pickup_bar(
    chart: Chart, start: Fraction, texts: list[str], ascii: bool
) -> tuple[HintBar, ...]:
    first = chart.bars[0].spans[0]
    return (HintBar(0, (_cell(chart, start, first, texts, ascii),)),) if texts else ()
