"""A chart in large letters, to be read from two metres away."""

from __future__ import annotations

from collections.abc import Sequence

from drillbox.music.charts import Bar, Chart
from drillbox.screen.bars import Sounding, span_text
from drillbox.screen.glyphs import ROWS, big, big_width
from drillbox.screen.look import Look

LEAST_WIDTH = 100
APART = 2  # cells between two chords of a bar; the strokes themselves are two cells wide


def large_lines(
    chart: Chart, look: Look, width: int, height: int, sounding: Sounding | None = None
) -> list[str] | None:
    """Return the chart in letters five rows high, with a line of beats under each row of bars.

    Below it stands an empty line where there is height enough for all of them. None where the
    chart doesn't fit into ``width`` × ``height`` cells.
    """
    needs = [_needed(bar, look) for bar in chart.bars]
    grouped = (_rows(needs, count, width) for count in (4, 2, 1))
    rows = next((found for found in grouped if found), [])
    if not rows or len(rows) * (ROWS + 1) > height:
        return None
    air = [""] if len(rows) * (ROWS + 2) <= height else []
    lines: list[str] = []
    for group, cells in rows:
        drawn = [
            _bar_rows(chart, chart.bars[index], cell, look)
            for index, cell in zip(group, cells, strict=True)
        ]
        lines += _joined(drawn, look.bar_line)
        beats = [
            _beats(sounding, index, cell, look) for index, cell in zip(group, cells, strict=True)
        ]
        lines += [("  " + "   ".join(beats)).rstrip(), *air]
    return lines


def _rows(needs: Sequence[int], count: int, width: int) -> list[tuple[range, list[int]]]:
    """Return rows of ``count`` bars with the width of each bar; none where one is too wide.

    What is left of a row is shared out, up to twice what a bar needs.
    """
    rows = []
    for first in range(0, len(needs), count):
        group = range(first, min(first + count, len(needs)))
        spare = width - 1 - sum(needs[index] + 3 for index in group)
        if spare < 0:
            return []
        share = spare // len(group)
        rows.append((group, [needs[index] + min(share, needs[index]) for index in group]))
    return rows


def _needed(bar: Bar, look: Look) -> int:
    widths = [big_width(span_text(span, look)) for span in bar.spans]
    return sum(widths) + APART * (len(widths) - 1)


def _bar_rows(chart: Chart, bar: Bar, cell: int, look: Look) -> list[str]:
    """Return a bar as five rows of ``cell`` characters, each chord at its place in time."""
    rows = [""] * ROWS
    blocks = [big(span_text(span, look), ascii=look.ascii) for span in bar.spans]
    ends = [sum(len(block[0]) + APART for block in blocks[index:]) for index in range(len(blocks))]
    for index, (span, block) in enumerate(zip(bar.spans, blocks, strict=True)):
        wanted = int(span.start / chart.meter.bar * cell)
        latest = cell + APART - ends[index]  # so that what follows still fits
        start = max(min(wanted, latest), len(rows[0]) + (APART if index else 0))
        rows = [row.ljust(start) + line for row, line in zip(rows, block, strict=True)]
    return [row.ljust(cell) for row in rows]


def _joined(bars: Sequence[Sequence[str]], mark: str) -> list[str]:
    return [
        f"{mark} " + f" {mark} ".join(bar[row] for bar in bars) + f" {mark}" for row in range(ROWS)
    ]


def _beats(sounding: Sounding | None, bar: int, cell: int, look: Look) -> str:
    """Return a bar's beats, the sounding one as a broad stroke that is seen from afar."""
    if sounding is None or sounding.bar != bar:
        return " " * cell
    stroke = ("#" if look.ascii else "█") * max(2, cell // sounding.beats // 2)
    line = ""
    for beat in range(sounding.beats):
        line = line.ljust(beat * cell // sounding.beats)
        line += stroke if beat == sounding.beat else look.dot
    return line.ljust(cell)


def large_heading(texts: Sequence[str], look: Look) -> list[str]:
    """Return a few short texts side by side in large letters: a key, a tempo, a count."""
    parts = [big(text, ascii=look.ascii) for text in texts]
    return ["        ".join(part[row] for part in parts).rstrip() for row in range(ROWS)]
