"""``drillbox fits``: where your phrases fit into your tunes, and whether you are ready there."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Annotated

import typer

from drillbox.cli.completing import tune_titles
from drillbox.cli.context import Asked, asked, clock
from drillbox.cli.given import read_coming_day
from drillbox.errors import BadInput

if TYPE_CHECKING:
    from drillbox.practice.fits import Repertoire
    from drillbox.practice.preferences import Preferences
    from drillbox.store.access import Store


def fits(
    ctx: typer.Context,
    tune: Annotated[
        str | None,
        typer.Argument(
            metavar="TUNE",
            help="Its title, the beginning of it, or its number.",
            autocompletion=tune_titles,
        ),
    ] = None,
    whole: Annotated[
        bool,
        typer.Option(
            "--all", help="Over all tunes: which phrases fit most often, which keys they need."
        ),
    ] = False,
    parts: Annotated[
        bool, typer.Option("--parts", help="Also where only the beginning or end of one fits.")
    ] = False,
    on: Annotated[
        str | None, typer.Option("--on", metavar="DATE", help="How ready on that day, not today.")
    ] = None,
) -> None:
    """Show where your phrases fit into a tune, and how ready you are.

    It says in which key, at what tempo, and which notes would rub.
    """
    options = asked(ctx)
    if (tune is None) is not whole:
        raise BadInput(
            "Name one tune, or all of them", "As in: drillbox fits 1, drillbox fits --all"
        )
    if whole and on is not None:
        raise BadInput("Over all tunes no day changes anything", "Leave --on out, or name a tune.")
    from drillbox.practice.fits import fits_in, repertoire
    from drillbox.store.tune_rows import find_tune

    with options.opened() as (store, preferences):
        today = preferences.today(clock())
        day = read_coming_day(on, today) if on is not None else today
        record = find_tune(store, tune) if tune is not None else None
        own = repertoire(store, preferences.rules, day, parts=parts)
        if not own.phrases:
            from drillbox.practice.library import lacking
            from drillbox.screen.waiting import none_line

            options.say(none_line(lacking(store)))
        elif record is None:
            show_over_all(options, store, own, preferences)
        else:
            from drillbox.screen.fit_places import tune_page

            page = fits_in(record.tune, own, preferences)
            options.show(tune_page(page, record.tags, options.look))


def show_over_all(options: Asked, store: Store, own: Repertoire, preferences: Preferences) -> None:
    """Show what fits over all tunes: each tune as it is looked through, then what they need."""
    from drillbox.practice.serving import overview
    from drillbox.screen.fit_places import Coverage, overview_screen
    from drillbox.screen.tune_list import NO_TUNES
    from drillbox.store.tune_rows import each_tune

    titles, tunes = each_tune(store)
    if not titles:
        options.say(NO_TUNES)
        return
    coverage = Coverage(titles, options.look)
    if not options.look.plain:
        options.show(coverage.heading())

    def tell(title: str, share: float) -> None:
        options.show(coverage.row(title, share))
        sys.stdout.flush()

    found = overview((each.tune for each in tunes), own, preferences, tell)
    print()
    options.show(overview_screen(found, options.look))


def register(app: typer.Typer) -> None:
    """Add the commands of this module to the application."""
    app.command("fits")(fits)
