"""A line bar by bar: note names, under each its degree, with signs for what it does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from rich.cells import cell_len
from rich.text import Text

from drillbox.music.analysis.roles import Role
from drillbox.music.analysis.whole import Analysis
from drillbox.music.degrees import with_signs
from drillbox.music.phrases import Phrase
from drillbox.screen import style
from drillbox.screen.lead_sheet import span_text
from drillbox.screen.look import Look

TARGET, FROM, TO, EARLY = ">", "[", "]", "~"
_LEGEND = (
    (TARGET, f"{TARGET} target"),
    (FROM, f"{FROM} {TO} enclosure"),
    (EARLY, f"{EARLY} early: heard with the next chord"),
)
_MARGIN = 4


@dataclass(frozen=True, slots=True)
class Sign:
    """One column of a bar: a note's name over its degree, or a chord symbol over nothing.

    ``of`` is the chord to come whose degree an early note is.
    """

    above: str
    below: str = ""
    of: str = ""

    @property
    def width(self) -> int:
        """Return the cells that it takes, with the blank after it."""
        return max(cell_len(self.above), cell_len(self.below)) + 1


def line_rows(phrase: Phrase, analysis: Analysis, look: Look) -> list[Text]:
    """Return the line in rows of at most the look's width, or said bar by bar where plain."""
    bars = _bars(phrase, analysis, look)
    if look.plain:
        return [Text(f"{_place(bar)}: {_said(signs_)}") for bar, signs_ in bars.items()]
    first_chord = max(cell_len(signs_[0].above) for signs_ in bars.values())
    rows = []
    for bar, (chord, *notes) in bars.items():
        signs_ = [Sign(chord.above + " " * (first_chord - cell_len(chord.above))), *notes]
        for first, part in enumerate(_parted(signs_, look.width - _MARGIN)):
            label = "" if first else str(bar) if bar > 0 else "<"
            rows += _drawn(label, part)
    shown = "".join(each.below for part in bars.values() for each in part)
    legend = [text for mark, text in _LEGEND if mark in shown]
    return [*rows, *([Text("   ".join(legend), style.QUIET)] if legend else [])]


def _bars(phrase: Phrase, analysis: Analysis, look: Look) -> dict[int, list[Sign]]:
    """Return each bar's columns, a chord symbol before the first note that begins in its span."""
    bars: dict[int, list[Sign]] = {}
    spans = phrase.chart.spans()
    under = None
    for index, note in enumerate(phrase.line):
        bar = analysis.notes[index].bar
        columns = bars.setdefault(bar, [])
        within = max(note.onset, Fraction(0)) % phrase.chart.length
        span = next(each for start, each in reversed(spans) if start <= within)
        if (bar, span) != under:
            columns.append(Sign(span_text(span, look)))
        under = (bar, span)
        name = note.pitch.name.text(ascii=look.ascii)
        coming = ""
        if _early(phrase, analysis, index):
            coming = span_text(spans[analysis.notes[index].span][1], look)
        columns.append(Sign(name, _marked(phrase, analysis, index, look), coming))
    return bars


def _marked(phrase: Phrase, analysis: Analysis, index: int, look: Look) -> str:
    """Return a note's degree with the signs for target, enclosure and early arrival."""
    facts = analysis.notes[index]
    text = with_signs(facts.degree, ascii=look.ascii) if facts.degree else look.dash
    if Role.TARGET in facts.roles:
        text = TARGET + text
    if any(each.notes[0] == index for each in analysis.enclosures):
        text = FROM + text
    if any(each.notes[-1] == index for each in analysis.enclosures):
        text += TO
    return text + EARLY * _early(phrase, analysis, index)


def _early(phrase: Phrase, analysis: Analysis, index: int) -> bool:
    """Return whether a note is heard with a chord that comes after it; a pickup always is."""
    if phrase.line[index].onset < 0:
        return False
    start, span = phrase.chart.spans()[analysis.notes[index].span]
    within = phrase.line[index].onset % phrase.chart.length
    return not start <= within < start + span.length


def _parted(columns: Sequence[Sign], width: int) -> list[list[Sign]]:
    """Part the columns of a bar into rows that fit; a chord symbol stays with its note."""
    parts: list[list[Sign]] = [[]]
    used = 0
    for at, each in enumerate(columns):
        beside = columns[at + 1].width if not each.below and at + 1 < len(columns) else 0
        if parts[-1] and used + each.width + beside > width:
            parts.append([])
            used = 0
        parts[-1].append(each)
        used += each.width
    return parts


def _drawn(label: str, columns: Sequence[Sign]) -> list[Text]:
    above, below = Text(f"{label:>2}  ", no_wrap=True), Text(" " * _MARGIN, no_wrap=True)
    for each in columns:
        weight = "" if each.below else style.CHORD
        above.append(each.above + " " * (each.width - cell_len(each.above)), weight)
        below.append(each.below + " " * (each.width - cell_len(each.below)))
    above.rstrip()
    below.rstrip()
    return [above, below]


def spoken(degree: str) -> str:
    """Return a degree as a part of a sentence: "3rd", "root", "♭7"."""
    if not degree.isdecimal():
        return degree
    return {"1": "root", "2": "2nd", "3": "3rd"}.get(degree, f"{degree}th")


def _place(bar: int) -> str:
    return f"bar {bar}" if bar > 0 else "pickup"


def _said(columns: Sequence[Sign]) -> str:
    """Return a bar in words: ``over Cm7 E♭ is ♭3, a target; A is 3 of F7, early; …``."""
    words = []
    over = ""
    for each in columns:
        if not each.below:
            over = f"over {each.above} "
            continue
        degree = each.below.strip(TARGET + FROM + TO + EARLY)
        target = ", a target" if TARGET in each.below else ""
        of, early = (f" of {each.of}", ", early") if each.of else ("", "")
        words.append(f"{over}{each.above} is {degree}{of}{target}{early}")
        over = ""
    return "; ".join(words)
