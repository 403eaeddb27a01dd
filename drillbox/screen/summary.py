"""The summary: weak keys and weak phrases, each with the evidence behind it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.practice.summing import Standing, Summary
from drillbox.screen import style
from drillbox.screen.look import Look
from drillbox.screen.recap import day_text
from drillbox.screen.table import Column, table

RULE = (
    "recalled: attempts rated clean or fluent, with the range in which the true share lies "
    "(Wilson, 95 %). now: the chance of recall today. tempo: share of the goal."
)


def summary_screen(summary: Summary, look: Look) -> RenderableType:
    """Draw keys and phrases, the least recalled first."""
    if not summary.attempts:
        return Text("Nothing was rated yet. Play a first session with 'drillbox drill'.")
    return Group(
        Text("Keys, least recalled first", style.TITLE),
        _standings("key", summary.keys, summary.today, look),
        Text(""),
        Text("Phrases, least recalled first", style.TITLE),
        _standings("phrase", summary.phrases, summary.today, look),
        Text(""),
        Text(RULE, style.QUIET),
    )


def _standings(
    heading: str, standings: Sequence[Standing], today: date, look: Look
) -> RenderableType:
    columns = [
        Column(heading, wide=True),
        Column("recalled", right=True),
        Column("range", right=True, least=50),
        Column("attempts", right=True),
        Column("now", right=True),
        Column("tempo", right=True, least=60),
        Column("due", right=True, least=70),
    ]
    span = "-" if look.ascii else "–"
    rows = [
        (
            each.name,
            f"{each.share:.0%}",
            f"{each.low:.0%}{span}{each.high:.0%}",
            str(each.attempts),
            f"{each.now:.0%}",
            f"{each.tempo:.0%}",
            day_text(each.due, today) if each.due else look.dash,
        )
        for each in standings
    ]
    return table(columns, rows, look)
