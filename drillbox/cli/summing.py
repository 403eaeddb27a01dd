"""``drillbox summary``: which keys and phrases are weak, and on how much evidence."""

from __future__ import annotations

import typer

from drillbox.cli.context import asked, clock


def summary(ctx: typer.Context) -> None:
    """Show which keys and phrases are weak."""
    options = asked(ctx)
    from drillbox.practice.summing import summary as sum_up
    from drillbox.screen.summary import summary_screen

    with options.opened() as (store, preferences):
        options.show(summary_screen(sum_up(store, preferences, clock()), options.look))


def register(app: typer.Typer) -> None:
    """Add the commands of this module to the application."""
    app.command("summary")(summary)
