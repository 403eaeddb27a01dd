"""The summary: what is weak and how sure that is, the grid, changes, what waits for what."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.music.keys import Spelling
from drillbox.output import counted
from drillbox.practice.rating import Agreement
from drillbox.practice.standing import Cell, Standing
from drillbox.practice.summing import Summary
from drillbox.screen import style
from drillbox.screen.advising import (
    LENIENT,
    advice_line,
    change_lines,
    empty_line,
    outlook_lines,
    present_line,
)
from drillbox.screen.look import Look, clean
from drillbox.screen.standing import grid, key_names, legend, rule_lines, standing_table
from drillbox.screen.waiting import slipping_lines, waiting_lines

if TYPE_CHECKING:
    from drillbox.practice.library import Lacking
SHOWN = 12  # rows of a table, and phrases of the grid, unless all are asked for


def summary_screen(
    summary: Summary,
    look: Look,
    spelling: Spelling,
    *,
    every: bool = False,
    heard: Agreement | None = None,
    lacking: Lacking = "phrases",
) -> RenderableType:
    """Draw the summary: what is next stands last, where the eye is.

    ``lacking`` is what there is none of where no phrase is in practice.
    """
    nothing = empty_line(summary, look, lacking)
    if nothing:
        return Text(nothing)
    rows = None if every else SHOWN
    cells = _cells_shown(summary, rows)
    tables = _tables(summary, look, rows)
    advice = advice_line(summary.advice, summary.mean, look)
    return Group(
        *tables,
        rule_lines(
            (*summary.keys, *summary.phrases), summary.mean, look, single=bool(summary.cards)
        ),
        *(() if summary.scope.key else (Text(""), grid(cells, spelling, look), legend(look))),
        *([Text(LENIENT, style.QUIET)] if summary.lenient else []),
        Text(""),
        Text(present_line(summary.present)),
        *(Text(line) for line in _changed(summary, look)),
        *(Text(line) for line in (agreement_lines(heard, look) if heard else [])),
        Text(""),
        *(Text(line) for line in waiting_lines(summary.waiting, look, summary.scope)),
        *(Text(line) for line in slipping_lines(summary.slipping, look)),
        *(Text(line) for line in outlook_lines(summary, look)),
        Text(advice, style.TITLE),
    )


def _tables(summary: Summary, look: Look, rows: int | None) -> list[RenderableType]:
    """Return the tables in scope: keys and phrases, or the cards of the one that was named."""
    scope = summary.scope
    keys = key_names(summary.keys, look)
    cards = summary.cards
    if scope.phrase:
        title = clean(scope.phrase.title, look.width, ascii=look.ascii)
        return [
            *_table("The phrase", "phrase", summary.phrases, summary, look, rows),
            *_table(f"{title}, key by key", "key", key_names(cards, look), summary, look, None),
        ]
    if scope.key:
        name = scope.key.text(ascii=look.ascii)
        return [
            *_table("The key", "key", keys, summary, look, rows),
            *_table(f"Phrases in {name}", "phrase", _weakest(cards), summary, look, rows),
        ]
    return [
        *_table("Keys, weakest first", "key", keys, summary, look, rows),
        *_table("Phrases, weakest first", "phrase", summary.phrases, summary, look, rows),
    ]


def _changed(summary: Summary, look: Look) -> list[str]:
    """Say what changed, for all phrases and keys together only."""
    if summary.scope.phrase or summary.scope.key:
        return []
    return change_lines(summary.changes, summary.today, look)


def _weakest(cards: Sequence[Standing]) -> list[Standing]:
    return sorted(cards, key=lambda each: (each.share is None, each.share or 0.0, each.now))


def _table(
    title: str,
    heading: str,
    standings: Sequence[Standing],
    summary: Summary,
    look: Look,
    rows: int | None,
) -> list[RenderableType]:
    left = len(standings) - rows if rows else 0
    more = [Text(f"  and {left} more: --all shows them.", style.QUIET)] if left > 0 else []
    return [
        Text(title, style.TITLE),
        standing_table(heading, standings[:rows], summary.mean, look),
        *more,
        Text(""),
    ]


def _cells_shown(summary: Summary, rows: int | None) -> list[Cell]:
    """Return the cells of the grid, phrases in the order of the table above it."""
    order = {each.id: place for place, each in enumerate(summary.phrases)}
    kept = [cell for cell in summary.cells if rows is None or order[cell.phrase_id] < rows]
    return sorted(kept, key=lambda cell: (order[cell.phrase_id], cell.position))


def agreement_lines(found: Agreement, look: Look) -> list[str]:
    """Say how often ratings and proposals agree, and which way they differ."""
    share = f"{found.agreed / found.heard:.0%}"
    heard = counted(found.heard, "go")
    said = f"Heard {heard}; you rated {found.agreed} of them as proposed ({share})"
    if 0 < found.lately < found.heard:
        said += f", in the last four weeks {found.agreed_lately} of {found.lately}"
    lines = [f"{said}."]
    differ = [
        f"{side} {'once' if count == 1 else f'{count} times'}"
        + (f", most in {key.text(ascii=look.ascii)}" if key else "")
        for side, count, key in (
            ("kinder", found.kinder, found.kindest),
            ("harder", found.harder, found.hardest),
        )
        if count
    ]
    if differ:
        lines.append(f"You rated yourself {'; '.join(differ)}.")
    return lines
