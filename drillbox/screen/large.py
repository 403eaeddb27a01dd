"""A chart in large letters, to be read from two metres away."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Literal

from drillbox.music.charts import Bar, Chart
from drillbox.screen.lead_sheet import Sounding, span_text
from drillbox.screen.letters import Alphabet
from drillbox.screen.look import Look

Row = tuple[list[int], list[int]]
"""Which bars stand side by side, and the width of each."""
EDGE = 3  # columns beside a chord: its bar line or what stands for it, and a blank on either side
Laying = Literal["airy", "dense", "broken"]
"""How rows of bars are laid: over a line of beats each; row on row; or that, bars being broken."""


def large_lines(
    chart: Chart,
    letters: Alphabet,
    look: Look,
    width: int,
    height: int,
    sounding: Sounding | None = None,
    laying: Laying = "airy",
) -> list[str] | None:
    """Return the chart in large letters, with a line of beats under each row of bars.

    Below it stands an empty line where there is height enough for all of them. ``dense`` puts
    row on row, a stroke before the bar that sounds and one line of beats below all; ``broken``
    lets a bar go on in the next row as well. None where the chart doesn't fit into ``width`` ×
    ``height`` cells.
    """
    if laying == "broken":
        return _broken_lines(chart, letters, look, width, height, sounding)
    dense = laying == "dense"
    needs = [_needed(bar, letters, look) for bar in chart.bars]
    each, end = (letters.lines, 1) if dense else (letters.lines + 1, 0)
    rows = next((way for way in _ways(needs, width) if len(way) * each + end <= height), [])
    if not rows:
        return None
    air = [""] if not dense and len(rows) * (each + 1) <= height else []
    lines: list[str] = []
    for group, cells in rows:
        placed = list(zip(group, cells, strict=True))
        drawn = [_bar_rows(chart, chart.bars[at], letters, cell, look) for at, cell in placed]
        if dense:
            lines += _joined(drawn, look, [sounding and sounding.bar == at for at in group])
            continue
        beats = "   ".join(_beats(sounding, at, cell, look) for at, cell in placed)
        lines += [*_joined(drawn, look), f"  {beats}".rstrip(), *air]
    return [*lines, *([_beats_below(sounding, width, look)] if dense else [])]


def _beats_below(sounding: Sounding | None, width: int, look: Look) -> str:
    return f"  {_beats(sounding, sounding.bar if sounding else 0, width - 4, look)}".rstrip()


def _broken_lines(
    chart: Chart, letters: Alphabet, look: Look, width: int, height: int, sounding: Sounding | None
) -> list[str] | None:
    """Return the chart in rows in which bars go on, as few of them as the height allows."""
    ways = (_flowing(chart, letters, look, width, whole=whole) for whole in (True, False))
    rows = next((way for way in ways if way and len(way) * letters.lines < height), None)
    if rows is None:
        return None
    sounds = sounding.bar if sounding else -1
    lines = [line for row in rows for line in _flowed(chart, row, letters, look, sounds)]
    return [*lines, _beats_below(sounding, width, look)]


def _flowing(
    chart: Chart, letters: Alphabet, look: Look, width: int, *, whole: bool
) -> list[list[tuple[int, int]]]:
    """Return rows of chords, each as its bar and its place there; none where one is too wide.

    ``whole`` lets a bar begin a row where it would have to be broken otherwise.
    """
    rows: list[list[tuple[int, int]]] = [[]]
    full = free = width - 1
    for at, bar in enumerate(chart.bars):
        needs = [letters.width(span_text(span, look)) + EDGE for span in bar.spans]
        if max(needs) > full:
            return []
        if whole and free < sum(needs) <= full:
            rows, free = [*rows, []], full
        for index, need in enumerate(needs):
            if need > free:
                rows, free = [*rows, []], full
            rows[-1].append((at, index))
            free -= need
    return [row for row in rows if row]


def _flowed(
    chart: Chart, row: Sequence[tuple[int, int]], letters: Alphabet, look: Look, sounds: int
) -> list[str]:
    """Return a row of chords, with bar lines only where a bar begins or ends."""
    stroke = "#" if look.ascii else "█"
    lines = [""] * letters.lines
    for at, chords in groupby(row, key=lambda chord: chord[0]):
        for number, (_, index) in enumerate(chords):
            begins = look.bar_line if index == 0 else " "
            mark = stroke if number == 0 and at == sounds else begins
            block = letters.draw(span_text(chart.bars[at].spans[index], look), ascii=look.ascii)
            lines = [f"{line}{mark} {part} " for line, part in zip(lines, block, strict=True)]
    at, index = row[-1]
    ends = index == len(chart.bars[at].spans) - 1
    return [f"{line}{look.bar_line}" if ends else line.rstrip() for line in lines]


def _ways(needs: Sequence[int], width: int) -> Iterator[list[Row]]:
    """Yield the ways to lay bars in rows: four, two, one to a row, as many as fit in each.

    A way in which a row is too wide is left out. What is left of a row is shared out, up to
    twice what a bar needs.
    """
    for count in (4, 2, 1):
        starts = range(0, len(needs), count)
        groups = [list(range(start, min(start + count, len(needs)))) for start in starts]
        if all(_wide(needs, group) <= width for group in groups):
            yield [_row(needs, group, width) for group in groups]
    packed: list[list[int]] = []
    for index in range(len(needs)):
        if packed and _wide(needs, [*packed[-1], index]) <= width:
            packed[-1].append(index)
        else:
            packed.append([index])
    if all(_wide(needs, group) <= width for group in packed):
        yield [_row(needs, group, width) for group in packed]


def _wide(needs: Sequence[int], group: Sequence[int]) -> int:
    """Return how wide bars are side by side, with their bar lines."""
    return 1 + sum(needs[index] + 3 for index in group)


def _row(needs: Sequence[int], group: list[int], width: int) -> Row:
    share = (width - _wide(needs, group)) // len(group)
    return group, [needs[index] + min(share, needs[index]) for index in group]


def _needed(bar: Bar, letters: Alphabet, look: Look) -> int:
    widths = [letters.width(span_text(span, look)) for span in bar.spans]
    return sum(widths) + letters.apart * (len(widths) - 1)


def _bar_rows(chart: Chart, bar: Bar, letters: Alphabet, cell: int, look: Look) -> list[str]:
    """Return a bar as lines of ``cell`` characters, each chord at its place in time."""
    apart = letters.apart
    rows = [""] * letters.lines
    blocks = [letters.draw(span_text(span, look), ascii=look.ascii) for span in bar.spans]
    ends = [sum(len(block[0]) + apart for block in blocks[index:]) for index in range(len(blocks))]
    for index, (span, block) in enumerate(zip(bar.spans, blocks, strict=True)):
        wanted = int(span.start / chart.meter.bar * cell)
        latest = cell + apart - ends[index]  # so that what follows still fits
        start = max(min(wanted, latest), len(rows[0]) + (apart if index else 0))
        rows = [row.ljust(start) + line for row, line in zip(rows, block, strict=True)]
    return [row.ljust(cell) for row in rows]


def _joined(bars: Sequence[Sequence[str]], look: Look, sounds: Sequence[object] = ()) -> list[str]:
    """Return bars side by side, a stroke for the bar line before one that sounds."""
    stroke = "#" if look.ascii else "█"
    marks = [stroke if sounding else look.bar_line for sounding in sounds or [False] * len(bars)]
    rows = zip(*bars, strict=True)
    joined = ("".join(f"{m} {bar} " for m, bar in zip(marks, row, strict=True)) for row in rows)
    return [line + look.bar_line for line in joined]


def _beats(sounding: Sounding | None, bar: int, cell: int, look: Look) -> str:
    """Return a bar's beats, the sounding one as a broad stroke that is seen from afar."""
    if sounding is None or sounding.bar != bar or bar < 0:
        return " " * cell
    stroke = ("#" if look.ascii else "█") * max(2, cell // sounding.beats // 2)
    line = ""
    for beat in range(sounding.beats):
        line = line.ljust(beat * cell // sounding.beats)
        line += stroke if beat == sounding.beat else look.dot
    return line.ljust(cell)


def large_heading(texts: Sequence[str], letters: Alphabet, look: Look) -> list[str]:
    """Return a few short texts side by side in large letters: a key, a tempo, a count."""
    parts = [letters.draw(text, ascii=look.ascii) for text in texts]
    gap = " " * (2 * letters.lines - 2)
    return [gap.join(row).rstrip() for row in zip(*parts, strict=True)]
