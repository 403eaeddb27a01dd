"""The command line: one typer application, its commands and the options before them."""

from __future__ import annotations

import os
from functools import cache
from typing import Annotated

import typer
from typer.core import TyperGroup
from typer.main import get_group

from drillbox.cli.completing import COMPLETING, offer_completion
from drillbox.cli.context import Asked
from drillbox.cli.ctrl_c import break_off

OVERVIEW = """Keep your lines alive in all twelve keys.

Bring a phrase in with 'add', play what 'drill' shows and rate it with one press,
see what is weak with 'summary'.
"""


def _version(wanted: bool) -> None:
    if wanted:
        from importlib.metadata import version

        print(f"drillbox {version('drillbox')}")
        raise typer.Exit


def before_commands(
    ctx: typer.Context,
    store: Annotated[
        str | None,
        typer.Option(metavar="PATH", help="Use this store instead of DRILLBOX_STORE or your own."),
    ] = None,
    demo: Annotated[
        bool, typer.Option("--demo", help="Use invented data in a temporary place.")
    ] = False,
    ascii: Annotated[bool, typer.Option("--ascii", help="Write b and # for flat and sharp.")] = (
        False
    ),
    plain: Annotated[bool, typer.Option("--plain", help="Plain text, one line at a time.")] = False,
    _: Annotated[
        bool,
        typer.Option("--version", callback=_version, is_eager=True, help="Show the version."),
    ] = False,
) -> None:
    """Keep the options that stand before the command; alone, show the help."""
    break_off()
    ctx.obj = Asked(store, demo, ascii, plain)
    if ctx.invoked_subcommand is None:
        print(ctx.get_help())


def build() -> TyperGroup:
    """Return the command line with all its commands."""
    if os.environ.get(COMPLETING):
        offer_completion()
    return _made()


@cache
def _made() -> TyperGroup:
    """Make the command line, once, as that takes .05 s."""
    from drillbox.cli import completing
    from drillbox.cli.commands import (
        add,
        drill,
        edit,
        fit,
        fits,
        gig,
        listen,
        loop,
        phrases,
        round,
        settings,
        store,
        summary,
        tune,
    )  # fmt: skip

    app = typer.Typer(
        help=OVERVIEW,
        rich_markup_mode=None,
        add_completion=False,
        context_settings={"help_option_names": ["-h", "--help"]},
    )
    app.callback(invoke_without_command=True, help=OVERVIEW)(before_commands)
    modules = (
        add, drill, round, loop, listen, summary, phrases, edit, settings, store, tune, fits, gig,
        fit, completing,
    )  # fmt: skip
    for module in modules:
        module.register(app)
    return get_group(app)
