"""Gigs: a list of them, and what one of them asks for until its day."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from datetime import date

from rich.console import Group, RenderableType
from rich.text import Text

from drillbox.output import counted
from drillbox.practice.gigs import LONGEST, GigView, Need, bars_to_play, tunes_again
from drillbox.screen import style
from drillbox.screen.days import days_off_text
from drillbox.screen.look import Look, clean, sentence
from drillbox.screen.table import Column, table
from drillbox.store.values import GigRecord

NO_GIGS = "No gigs. Add one: drillbox gig add 'Friday' --date friday --tunes '1, 2'"


def gig_lines(gigs: Sequence[GigRecord], today: date, look: Look) -> list[str]:
    """Return a line for each gig: its number, name, day and tunes; those to come first."""
    order = sorted(gigs, key=lambda gig: (gig.day < today, gig.day))
    return [_gig_line(each, today, look) for each in order] or [NO_GIGS]


def _gig_line(gig: GigRecord, today: date, look: Look) -> str:
    titles = ", ".join(each.title for each in gig.tunes) or "no tunes left"
    when = f"{gig.day:%a} {gig.day} ({days_off_text(gig.day, today)})"
    return clean(f"no. {gig.id}, {gig.title}, {when}: {titles}", ascii=look.ascii)


def gig_screen(view: GigView, look: Look) -> RenderableType:
    """Show a gig: the days and minutes left, its tunes, and each key that it asks for."""
    return Group(
        Text(clean(view.title, look.width, ascii=look.ascii), style.TITLE),
        *(Text(line) for line in sentence(_time_line(view), look)),
        *_tables(view, look),
        *(Text(part) for line in _verdicts(view, look)
          for part in ("", *sentence(line, look))),
    )  # fmt: skip


def _tables(view: GigView, look: Look) -> Iterator[RenderableType]:
    """Yield its tunes and the keys that they ask for, each after an empty line."""
    if view.tunes:
        yield from (Text(""), _tunes(view, look))
    if view.needs:
        yield from (
            Text(""),
            table(_COLUMNS, [_row(each, view, look) for each in view.needs], look),
        )
        if not view.over:  # else the line on top says it
            yield from (Text(line, style.QUIET) for line in sentence(_chance_line(view), look))


def _time_line(view: GigView) -> str:
    day = f"{view.day:%A} {view.day}"
    if view.over:
        return f"It was on {day}; it no longer counts in your plan. Chances are today's."
    if not view.days:
        return f"It is today, {day}."
    days = counted(view.days, "day")
    each, total = counted(view.minutes, "minute"), counted(view.days * view.minutes, "minute")
    return f"{day}, {days} of practice at {each} a day: {total} in all."


def _tunes(view: GigView, look: Look) -> RenderableType:
    columns = Column("tune", wide=True), Column("tempo", right=True), Column("bars covered")
    rows = []
    for each in view.tunes:
        covered = f"{bars_to_play(each)} of {len(each.tune.chart.bars)}"
        rows.append((each.tune.title, str(each.tune.tempo), covered))
    return table(columns, rows, look)


_COLUMNS = (
    Column("phrase", wide=True, wraps=True),
    Column("key"),
    Column("tempo", right=True),
    Column("places", right=True, least=50),
    Column("chance", right=True),
    Column("minutes", right=True, least=60),
    Column("by then", wraps=True),
)


def _row(need: Need, view: GigView, look: Look) -> tuple[str, ...]:
    row = need.row
    return (
        row.title,
        row.key.text(ascii=look.ascii),
        str(row.tempo),
        str(need.places),
        f"{row.ready.chance:.0%}" if row.ready.days else row.ready.words,
        f"{need.minutes:.0f}" if need.minutes and not view.over else look.dash,
        _by_then(need, view),
    )


def _by_then(need: Need, view: GigView) -> str:
    """Say whether a key is ready by then, or what it lacks."""
    if need.prospect != "leave":
        return "ready" if need.prospect == "ready" else "in time"
    if view.over:
        return "not ready"
    if need.visits is None:
        return f"needs over {LONGEST} days"
    return f"needs {counted(need.visits, 'day')}" if need.visits > view.days else "short of minutes"


def _chance_line(view: GigView) -> str:
    """Say what a key's chance is of."""
    if not view.days:
        return "chance: that today's first go comes out clean."
    return "chance: that a first go on the day comes out clean if the key rests until then."


_NEAREST = "Drill what is nearest"


def _verdicts(view: GigView, look: Look) -> Iterator[str]:
    """Say in a sentence each what will be ready, what won't, and what no phrase serves."""
    if not view.tunes:
        again = tunes_again(clean(view.title, ascii=look.ascii))
        yield "It has no tunes left." if view.over else f"It has no tunes left. {again}"
    elif not view.needs:
        yield "None of your phrases fits into these tunes at a tempo near its goal."
    if view.over or not view.needs:
        return
    counts = Counter(each.prospect for each in view.needs)
    yield (
        f"Keys that are ready: {counts['ready']}. Ready by then if you drill for it: "
        f"{counts['will be']}. Better left: {counts['leave']}."
        if counts["ready"] or counts["will be"]
        else "None of it is likely to be ready."
    )
    does = "Drill for it" if counts["will be"] else "Keep it up" if counts["ready"] else _NEAREST
    yield f"{does} with: drillbox drill --gig {_quoted(view.title, look)}"
    for each in view.tunes:
        title = clean(each.tune.title, ascii=look.ascii)
        if not each.rows:
            yield f"Nothing of yours fits into {title}."
        elif not bars_to_play(each):
            yield f"Nothing of yours is near the tempo of {title}."


def _quoted(title: str, look: Look) -> str:
    from shlex import quote

    return quote(clean(title, ascii=look.ascii))
