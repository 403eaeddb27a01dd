"""Small invented pages for the tests of notation."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

from drillbox.music.charts import Chart
from drillbox.music.phrases import LineNote, Phrase
from drillbox.music.symbols.printed import symbol_text
from drillbox.notation import Tune, read_bytes
from drillbox.notation.result import Problem

HEAD = "X:1\nT:Test\nM:4/4\nL:1/8\nQ:1/4=120\nK:C\n"


def tune(music: str, head: str = HEAD, **given: Any) -> Tune:
    """Read one ABC tune."""
    (read,) = read_bytes((head + music).encode(), "test.abc", **given).tunes
    return read


def phrase(music: str, head: str = HEAD) -> Phrase:
    """Read one ABC tune that has no problem."""
    read = tune(music, head)
    assert read.problems == ()
    assert read.phrase is not None
    return read.phrase


def problems(read: Tune) -> list[str]:
    """Return problems as sentences."""
    return [_sentence(each) for each in read.problems]


def doubts(read: Tune) -> list[str]:
    """Return doubts as sentences."""
    return [_sentence(each) for each in read.doubts]


def _sentence(found: Problem) -> str:
    """Return place and text as one line: ``line 5, column 12: …``."""
    if found.line is None:
        return found.text
    column = "" if found.column is None else f", column {found.column}"
    return f"line {found.line}{column}: {found.text}"


def notes(line: tuple[LineNote, ...]) -> str:
    """Return onset, pitch and length of each note, as ``0 C4 1/2, ...``; > marks a target."""
    return ", ".join(
        f"{note.onset} {'>' if note.target else ''}{note.pitch.text()} {note.length}"
        for note in line
    )


def chords(chart: Chart) -> str:
    """Return the chart by bars, each symbol with its length, as ``Cm7:2 F7:2 | ...``."""
    bars = []
    for bar in chart.bars:
        assert sum((span.length for span in bar.spans), Fraction(0)) == chart.meter.bar
        texts = []
        for span in bar.spans:
            text = symbol_text(span.chord)
            texts.append(f"{f'({text})' if span.turnaround else text}:{span.length}")
        bars.append(" ".join(texts))
    return " | ".join(bars)
