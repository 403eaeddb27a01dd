"""``drillbox settings``: see and set the numbers and habits that drillbox goes by."""

from __future__ import annotations

from typing import Annotated

import typer

from drillbox.cli.completing import setting_names, setting_values
from drillbox.cli.context import asked, clock, waiting
from drillbox.errors import BadInput


def settings(
    ctx: typer.Context,
    name: Annotated[
        str | None,
        typer.Argument(metavar="NAME", help="The setting to change.", autocompletion=setting_names),
    ] = None,
    value: Annotated[
        str | None,
        typer.Argument(metavar="VALUE", help="Its new value.", autocompletion=setting_values),
    ] = None,
    reset: Annotated[
        bool, typer.Option("--reset", help="Put the setting back to its default.")
    ] = False,
) -> None:
    """Show all settings with their reasons, or change one."""
    options = asked(ctx)
    from drillbox.practice.changing import change_setting
    from drillbox.practice.settings import PREFERENCES, known_setting
    from drillbox.screen.setting_list import setting_list
    from drillbox.store.setting_rows import present_name

    if reset and name is None:
        raise BadInput(
            "--reset without a setting", "Name it, as in: drillbox settings minutes --reset"
        )
    if reset and value is not None:
        raise BadInput("Both a value and --reset were given", "Use one or the other.")
    name = name and present_name(name)
    with options.opened() as (store, preferences):
        if name is None:
            options.show(setting_list(PREFERENCES, preferences.values))
        elif value is None and not reset:
            options.show(setting_list({name: known_setting(name)}, preferences.values))
        else:
            with waiting("Going over your keys") as tick:
                new = change_setting(store, name, None if reset else value, clock(), tick)
            options.say(f"{name} is now {new if new != '' else 'empty'}.")


def register(app: typer.Typer) -> None:
    """Add the commands of this module to the application."""
    # A negative number is a value and no option: what is wrong with it is the setting's to say.
    app.command("settings", context_settings={"ignore_unknown_options": True})(settings)
