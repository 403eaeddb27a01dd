"""``drillbox fit``: fit the memory model to the player's own attempts."""

from __future__ import annotations

from typing import Annotated

import typer

from drillbox.cli.context import asked, clock
from drillbox.output import counted, tell


def fit(
    ctx: typer.Context,
    undo: Annotated[bool, typer.Option("--undo", help="Go back to the default weights.")] = False,
) -> None:
    """Fit the memory model to your goes, if that predicts you better."""
    options = asked(ctx)
    from drillbox.practice.changing import fit_weights, restore_default_weights

    with options.opened() as (store, _):
        if undo:
            fitted = restore_default_weights(store, clock())
            options.say(f"The default weights are in use{' again' if fitted else ''}.")
            return
        found = fit_weights(
            store, clock(), lambda: tell("Fitting the memory model; this takes some seconds.")
        )
    options.say(
        f"Fitted to {counted(found.attempts - found.judged, 'go')} on separate days, and tested"
        f" on the {found.judged:,} after them. Error in predicting those (log loss, less is"
        f" better): {found.loss:.4f} fitted to you, {found.default_loss:.4f} with the defaults."
    )
    if found.weights is None:
        options.say("That predicts you no better; nothing is changed.")
    else:
        options.say("That predicts you better, so it's in use. To undo: drillbox fit --undo")


def register(app: typer.Typer) -> None:
    """Add the commands of this module to the application."""
    app.command("fit")(fit)
