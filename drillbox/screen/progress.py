"""Progress by week: six small plots, then the numbers."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.practice.progress import Week
from drillbox.screen import style
from drillbox.screen.look import Look
from drillbox.screen.plots import minutes_text, plot, top_of
from drillbox.screen.table import Column, table

NOTHING = (
    "Nothing was rated yet. Play a first session with 'drillbox drill', or look at invented"
    " weeks: drillbox --demo progress"
)
_SIDE_BY_SIDE = 72
_GAP = 4


def progress_screen(weeks: Sequence[Week], look: Look) -> RenderableType:
    """Draw the weeks, oldest first."""
    if not weeks:
        return Text(NOTHING)
    if look.plain:
        return _numbers(weeks, look)
    return Group(*_plots(weeks, look), _numbers(weeks, look), _notes())


def _plots(weeks: Sequence[Week], look: Look) -> list[Text]:
    beside = look.width >= _SIDE_BY_SIDE
    room = min(48, (look.width - _GAP) // 2 if beside else look.width)
    drawn = [
        plot(title, values, top, highest, [week.monday for week in weeks], look, room)
        for title, values, top, highest in _series(weeks)
    ]
    if not beside:
        return [line for lines in drawn for line in (*lines, Text(""))]
    lines = []
    for left, right in zip(drawn[::2], drawn[1::2], strict=True):
        lines += [
            Text.assemble(one, " " * _GAP, other) for one, other in zip(left, right, strict=True)
        ]
        lines.append(Text(""))
    return lines


def _series(weeks: Sequence[Week]) -> list[tuple[str, list[float | None], str, float]]:
    """Return title, values, the label of the highest value, and that value, for each plot."""
    minutes = max(week.minutes for week in weeks)
    goes = max(week.attempts for week in weeks)
    tempo = top_of([week.tempo for week in weeks])
    started = max(week.started for week in weeks)
    return [
        ("minutes", [week.minutes for week in weeks], minutes_text(minutes), minutes),
        ("goes", [week.attempts for week in weeks], str(goes), goes),
        ("recalled", [week.share for week in weeks], "100%", 1.0),
        ("tempo played, share of goal", [week.tempo for week in weeks], f"{tempo:.0%}", tempo),
        ("keys started", [week.started for week in weeks], str(started), started),
        ("keys owned, on the same scale", [week.owned for week in weeks], str(started), started),
    ]


def _numbers(weeks: Sequence[Week], look: Look) -> RenderableType:
    columns = [
        Column("week of"),
        Column("minutes", right=True),
        Column("goes", right=True, least=56),
        Column("recalled", right=True),
        Column("tempo", right=True, least=56),
        Column("started", right=True, least=44),
        Column("owned", right=True),
    ]
    rows = [
        (
            week.monday.isoformat(),
            minutes_text(week.minutes),
            str(week.attempts),
            look.dash if week.share is None else f"{week.share:.0%}",
            look.dash if week.tempo is None else f"{week.tempo:.0%}",
            str(week.started),
            str(week.owned),
        )
        for week in weeks
    ]
    return table(columns, rows, look)


def _notes() -> Text:
    return Text(
        "recalled: share of each day's first goes that were clean or fluent. owned: clean at"
        " goal tempo in two first goes in a row, with a memory that lasts for weeks.",
        style.QUIET,
    )
