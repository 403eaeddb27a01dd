"""``drillbox fit``: fit the memory model to the player's own attempts."""

from __future__ import annotations

from typing import Annotated

import typer

from drillbox.cli.context import asked, clock
from drillbox.output import tell


def fit(
    ctx: typer.Context,
    undo: Annotated[bool, typer.Option("--undo", help="Go back to the default weights.")] = False,
) -> None:
    """Fit the memory model to your attempts, should that be better."""
    options = asked(ctx)
    from drillbox.practice.changing import fit_weights, restore_default_weights

    with options.opened() as (store, _):
        if undo:
            fitted = restore_default_weights(store, clock())
            options.say(f"The default weights are in use{' again' if fitted else ''}.")
            return
        tell("Fitting; this takes some seconds.")
        found = fit_weights(store, clock())
    options.say(
        f"{found.attempts} attempts on separate days; on the latest {found.judged}, which the fit "
        f"hasn't seen, the log loss is {found.loss:.4f} with fitted weights and "
        f"{found.default_loss:.4f} with the defaults."
    )
    if found.weights is None:
        options.say("The fitted weights are no better; nothing is changed.")
    else:
        options.say("The fitted weights are in use; 'drillbox fit --undo' undoes that.")


def register(app: typer.Typer) -> None:
    """Add the commands of this module to the application."""
    app.command("fit")(fit)
