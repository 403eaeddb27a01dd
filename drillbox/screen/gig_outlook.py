"""Gigs: a list of them, and what one of them asks for until its day."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.output import counted
from drillbox.practice.gigs import GigView, Need
from drillbox.screen import style
from drillbox.screen.look import Look, clean, sentence
from drillbox.screen.table import Column, table
from drillbox.store.values import GigRecord

NO_GIGS = "No gigs. Put one down: drillbox gig add 'Friday' --date 2026-12-04 --tunes '1, 2'"


def gig_lines(gigs: Sequence[GigRecord], today: date, look: Look) -> list[str]:
    """Return a line for each gig: its name, day and tunes; those to come first."""
    order = sorted(gigs, key=lambda gig: (gig.day < today, gig.day))
    return [_gig_line(each, today, look) for each in order] or [NO_GIGS]


def _gig_line(gig: GigRecord, today: date, look: Look) -> str:
    titles = ", ".join(each.title for each in gig.tunes)
    line = f"{gig.title}, {gig.day:%a} {gig.day} ({days_off_text(gig.day, today)}): {titles}"
    return clean(line, ascii=look.ascii)


def days_off_text(day: date, today: date) -> str:
    """Return how far off a day is, in words."""
    away = (day - today).days
    if away < 0:
        return "has been"
    return "today" if away == 0 else "tomorrow" if away == 1 else f"in {away} days"


def gig_screen(view: GigView, look: Look) -> RenderableType:
    """Show a gig: the days and minutes left, its tunes, and each key that it asks for."""
    return Group(
        Text(clean(view.title, look.width, ascii=look.ascii), style.TITLE),
        *(Text(line) for line in sentence(_time_line(view), look)),
        Text(""),
        _tunes(view, look),
        Text(""),
        *([table(_COLUMNS, [_row(each, look) for each in view.needs], look)]
          if view.needs else [Text("None of your phrases fits into these tunes.")]),
        *(Text(part) for line in _verdicts(view, look)
          for part in ("", *sentence(line, look))),
    )  # fmt: skip


def _time_line(view: GigView) -> str:
    day = f"{view.day:%A} {view.day}"
    if view.over:
        return f"It was on {day}; it no longer counts in your plan. Chances are today's."
    if not view.days:
        return f"It is today, {day}."
    days = counted(view.days, "day")
    total = view.days * view.minutes
    return f"{day}, {days} of practice at {view.minutes} minutes: {total} minutes in all."


def _tunes(view: GigView, look: Look) -> RenderableType:
    columns = Column("tune", wide=True), Column("tempo", right=True), Column("bars covered")
    rows = []
    for each in view.tunes:
        bars = len(each.tune.chart.bars)
        bare = sum(end - first for first, end in each.bare)
        rows.append((each.tune.title, str(each.tune.tempo), f"{bars - bare} of {bars}"))
    return table(columns, rows, look)


_COLUMNS = (
    Column("phrase", wide=True),
    Column("key"),
    Column("tempo", right=True),
    Column("places", right=True, least=50),
    Column("chance", right=True),
    Column("minutes", right=True, least=60),
    Column("by then"),
)
_WORDS = {"ready": "ready", "will be": "in time", "leave": "leave"}


def _row(need: Need, look: Look) -> tuple[str, ...]:
    return (
        need.title,
        need.key.text(ascii=look.ascii),
        str(need.tempo),
        str(need.places),
        f"{need.chance:.0%}",
        f"{need.minutes:.0f}" if need.minutes else look.dash,
        _WORDS[need.prospect],
    )


def _verdicts(view: GigView, look: Look) -> Iterator[str]:
    """Say in a sentence each what will be ready, what won't, and what no phrase serves."""
    if view.over or not view.needs:
        return
    counts = {name: sum(each.prospect == name for each in view.needs) for name in _WORDS}
    yield (
        f"Keys that are ready: {counts['ready']}. Ready by then if you drill for it: "
        f"{counts['will be']}. Better left: {counts['leave']}."
    )
    if counts["will be"]:
        yield f"Drill for it with: drillbox drill --gig {_quoted(view.title, look)}"
    for each in view.tunes:
        if len(each.bare) and each.bare[0] == (0, len(each.tune.chart.bars)):
            yield f"Nothing of yours fits into {clean(each.tune.title, ascii=look.ascii)}."


def _quoted(title: str, look: Look) -> str:
    from shlex import quote

    return quote(clean(title, ascii=look.ascii))
