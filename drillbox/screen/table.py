"""Plain tables that keep to the terminal's width, and say the same line by line."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from rich.cells import cell_len
from rich.console import Group, OverflowMethod, RenderableType
from rich.table import Table
from rich.text import Text

from drillbox.screen import style
from drillbox.screen.look import Look, clean

Content = str | Text


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its heading, whether it is set to the right, and from what width it shows.

    ``wide`` marks the one that gives way where the line is too long; what ``wraps`` goes on
    in the next line instead of being cut. ``alone`` are values that, in plain lines, say all
    without the heading.
    """

    name: str
    right: bool = False
    wide: bool = False
    least: int = 0
    wraps: bool = False
    alone: tuple[str, ...] = ()


def table(
    columns: Sequence[Column], rows: Sequence[Sequence[Content]], look: Look
) -> RenderableType:
    """Draw rows under headings; columns whose ``least`` width isn't there are left out."""
    if look.plain:
        return Group(*(Text(line) for line in plain_rows(columns, rows, ascii=look.ascii)))
    kept = [index for index, column in enumerate(columns) if column.least <= look.width]
    room = _room(columns, rows, kept, look.width)
    cut: OverflowMethod = "crop" if look.ascii else "ellipsis"  # an ellipsis isn't ASCII
    drawn = Table(box=None, pad_edge=False, header_style=style.QUIET, padding=(0, 2, 0, 0))
    for column in (columns[index] for index in kept):
        side: Literal["left", "right"] = "right" if column.right else "left"
        drawn.add_column(column.name, justify=side, no_wrap=not column.wraps, overflow=cut)
    for row in rows:
        drawn.add_row(*(_cell(row[i], columns[i], room, look) for i in kept))
    return drawn


def _room(
    columns: Sequence[Column], rows: Sequence[Sequence[Content]], kept: Sequence[int], width: int
) -> int:
    """Return the cells that are left for the wide column."""
    used = 0
    for index in kept:
        if not columns[index].wide:
            heading = [cell_len(line) for line in columns[index].name.split("\n")]
            used += max([*heading, *(cell_len(_words(row[index])) for row in rows)]) + 2
    return max(8, width - used - 2)


def _cell(value: Content, column: Column, room: int, look: Look) -> Text:
    if isinstance(value, Text):
        return value
    return Text(clean(value, room if column.wide and not column.wraps else 0, ascii=look.ascii))


def _words(value: Content) -> str:
    return value.plain if isinstance(value, Text) else value


def plain_rows(
    columns: Sequence[Column], rows: Sequence[Sequence[Content]], *, ascii: bool = False
) -> list[str]:
    """Return each row as one sentence-like line: heading and value, without empty ones."""
    lines = []
    for row in rows:
        values = zip(columns, map(_words, row), strict=True)
        pairs = [(column, value) for column, value in values if value]
        said = (
            value if value in column.alone else f"{column.name} {value}" for column, value in pairs
        )
        lines.append(clean(", ".join(said), ascii=ascii))
    return lines
