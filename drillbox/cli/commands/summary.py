"""``summary``, ``progress``, ``upcoming`` and ``report``: how the player stands and what comes."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from drillbox.cli.completing import key_names, phrase_titles
from drillbox.cli.context import asked, clock, waiting
from drillbox.cli.given import read_day, read_out
from drillbox.errors import BadInput

if TYPE_CHECKING:
    from drillbox.practice.library import Lacking
    from drillbox.store.access import Store


def summary(
    ctx: typer.Context,
    phrase: Annotated[
        str | None,
        typer.Option(
            metavar="PHRASE", help="One phrase, key by key.", autocompletion=phrase_titles
        ),
    ] = None,
    key: Annotated[
        str | None,
        typer.Option(metavar="KEY", help="One key, by phrases.", autocompletion=key_names),
    ] = None,
    since: Annotated[
        str | None, typer.Option(metavar="DATE", help="Only goes since this day: 2026-03-01.")
    ] = None,
    every: Annotated[bool, typer.Option("--all", help="Show every row.")] = False,
    as_json: Annotated[
        bool, typer.Option("--json", help="Print JSON for other programs instead.")
    ] = False,
) -> None:
    """Show which keys and phrases are weak, and how sure that is."""
    one_thread()
    options = asked(ctx)
    from drillbox.music.keys import parse_key
    from drillbox.practice.summing import Scope
    from drillbox.practice.summing import summary as sum_up
    from drillbox.store.phrase_rows import find_phrase

    with options.opened() as (store, preferences):
        scope = Scope(
            find_phrase(store, phrase) if phrase is not None else None,
            parse_key(key) if key is not None else None,
            read_day(since) if since is not None else None,
        )
        found = sum_up(store, preferences, clock(), scope)
        if as_json:
            from drillbox.screen.summary_json import summary_document

            print(json.dumps(summary_document(found), indent=1))
            return
        from drillbox.practice.rating import agreement
        from drillbox.screen.summary import summary_screen

        options.show(
            summary_screen(
                found,
                options.look,
                preferences.spelling,
                every=every,
                heard=agreement(store, preferences, found.today),
                lacking=lacking_for(store, found.present.phrases),
            )
        )


def progress(
    ctx: typer.Context,
    weeks: Annotated[
        int, typer.Option(metavar="N", min=1, max=520, help="How many weeks to look at.")
    ] = 12,
) -> None:
    """Show your weeks: minutes, share recalled, keys, tempo.

    Of the keys it says how many were started and owned.
    """
    options = asked(ctx)
    from drillbox.practice.progress import progress as by_week
    from drillbox.screen.progress import progress_screen

    with options.opened() as (store, preferences):
        with waiting("Replaying your log") as tick:
            found = by_week(store, preferences, clock(), weeks, tick)
        options.show(progress_screen(found, options.look))


def upcoming(
    ctx: typer.Context,
    days: Annotated[
        int, typer.Option(metavar="N", min=1, max=366, help="How many days to look at.")
    ] = 14,
    adding: Annotated[
        int,
        typer.Option(
            metavar="N", min=0, max=100, help="Show what this many more phrases would add."
        ),
    ] = 5,
) -> None:
    """Show what your minutes will bring in the days ahead.

    It also says what more phrases would add.
    """
    options = asked(ctx)
    from drillbox.practice.coming import coming
    from drillbox.screen.upcoming import upcoming_screen

    with options.opened() as (store, preferences):
        with waiting("Looking ahead") as tick:
            found = coming(store, preferences, clock(), days, adding, tick)
        why = lacking_for(store, found.cards)
        options.show(upcoming_screen(found, options.look, lacking=why))


def report(
    ctx: typer.Context,
    out: Annotated[
        Path,
        typer.Option(metavar="FILE.html", help="Where to write the page.", parser=read_out),
    ],
    weeks: Annotated[
        int, typer.Option(metavar="N", min=1, max=520, help="How many weeks to draw.")
    ] = 26,
    force: Annotated[bool, typer.Option("--force", help="Overwrite a file.")] = False,
) -> None:
    """Write a page to look at, to print or to hand to a teacher.

    It has tables, the circle of keys and your weeks.
    """
    one_thread()
    options = asked(ctx)
    from drillbox.practice.summing import report_of
    from drillbox.screen.report import report_page
    from drillbox.store.files import check_place, write_whole

    check_place(out, example="report.html", force=force)
    if out.suffix.lower() not in {".html", ".htm"}:
        raise BadInput(f"The page can't be named {out.name!r}", "End its name in .html.")
    with options.opened() as (store, preferences), waiting("Replaying your log") as tick:
        found = report_of(store, preferences, clock(), weeks, tick)
        lacks = lacking_for(store, found.summary.present.phrases)
    page = report_page(found, preferences.spelling, lacking=lacks)
    write_whole(out, page.encode())
    options.say(f"Written to {out}. Open it in a browser, or print it from there.")


def lacking_for(store: Store, there: int) -> Lacking:
    """Return what there is none of, where nothing is ``there`` to be shown."""
    if there:
        return "phrases"
    from drillbox.practice.library import lacking  # brings the analysis along

    return lacking(store)


def one_thread() -> None:
    """Keep numpy's linear algebra to one thread: these matrices are small, and more only wait."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def register(app: typer.Typer) -> None:
    """Add the commands of this module to the application."""
    for command in (summary, progress, upcoming, report):
        app.command(command.__name__)(command)
