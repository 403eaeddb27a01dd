"""``drillbox store``: back up, check, restore, export and import the whole log."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from drillbox.cli.context import Asked, asked, clock, waiting, warn
from drillbox.cli.given import read_place
from drillbox.errors import BadInput


def check(
    ctx: typer.Context,
    mend: Annotated[
        bool,
        typer.Option("--fix", help="Recompute every key from its ratings, after a backup."),
    ] = False,
) -> None:
    """Look for damage, and check each key against its ratings."""
    options = asked(ctx)
    from drillbox.practice import keeping
    from drillbox.screen.storing import checked_lines

    with options.opened() as (store, preferences):
        with waiting("Looking it over") as tick:
            found = (
                keeping.mend(store, preferences, clock(), tick)
                if mend
                else keeping.check(store, preferences, tick)
            )
        print_lines(options, checked_lines(found, store.name))
        if found.fault:
            raise keeping.failure_of(store, found.fault)


def backup(ctx: typer.Context) -> None:
    """Make a backup now; it stays until you delete it."""
    options = asked(ctx)
    from drillbox.practice.keeping import make_backup

    with options.opened() as (store, _):
        print_lines(options, [f"Backed up to {make_backup(store, clock()).path}"])


def backups(ctx: typer.Context) -> None:
    """List your backups, newest first."""
    options = asked(ctx)
    from drillbox.practice.keeping import room_for_backups
    from drillbox.screen.storing import backup_lines
    from drillbox.store.files import list_backups

    place = file_of(options)
    print_lines(options, backup_lines(list_backups(place), room_for_backups(place)))


def restore(
    ctx: typer.Context,
    file: Annotated[
        str,
        typer.Argument(metavar="FILE", help="A backup, by its path or as 'store list' shows it."),
    ],
) -> None:
    """Put a backup in place of the store; the present one is kept aside."""
    options = asked(ctx)
    from drillbox.practice.keeping import restore as put_back

    place = file_of(options)
    aside = put_back(place, file, clock(), warn)
    kept = f"; the former store is kept as {aside}" if aside else ""
    print_lines(options, [f"Restored {place}{kept}"])


def export(
    ctx: typer.Context,
    to: Annotated[
        Path,
        typer.Argument(
            metavar="TO", help="A folder, or a file that ends in .json.", parser=read_place
        ),
    ],
) -> None:
    """Write everything in open formats: JSON, CSV and ABC.

    The JSON comes with its schema; your goes are CSV, phrases ABC.
    """
    options = asked(ctx)
    from drillbox.notation import write_abc
    from drillbox.practice.keeping import export_store
    from drillbox.screen.storing import exported_lines

    with options.opened() as (store, _), waiting("Writing") as tick:
        done = export_store(store, to, write_abc, tick)
    print_lines(options, exported_lines(done))


def import_(
    ctx: typer.Context,
    source: Annotated[
        Path,
        typer.Argument(
            metavar="SOURCE",
            help="An export (folder or file), or another store.",
            parser=read_place,
        ),
    ],
    deleted: Annotated[
        bool,
        typer.Option("--deleted", help="Also bring back phrases, tunes and gigs you deleted here."),
    ] = False,
) -> None:
    """Add what your store lacks from an export or another store.

    Of what both have, later changes are taken.
    """
    options = asked(ctx)
    from drillbox.practice.keeping import import_export
    from drillbox.screen.storing import merged_lines, replaced_lines

    now = clock()
    with options.opened() as (store, preferences), waiting("Bringing in") as tick:
        merged = import_export(store, source, now, bring_back=deleted, tell=warn, tick=tick)
    changed = replaced_lines(merged, preferences.today(now))
    print_lines(options, [*merged_lines(merged), *changed])


def file_of(options: Asked) -> Path:
    """Return the store's file; raise BadInput where the store is on a server."""
    from drillbox.store.files import real_path

    place = options.place()
    if "://" in str(place):
        raise BadInput(
            "A store on a server has no backups of its own",
            "Write one with: drillbox store export DIR",
        )
    return real_path(place)


def print_lines(options: Asked, lines: list[str]) -> None:
    """Print lines of text."""
    for line in lines:
        options.say(line)


def register(app: typer.Typer) -> None:
    """Add the commands of this module to the application."""
    group = typer.Typer(
        help="Back up, check, restore, export and import all your work.",
        rich_markup_mode=None,
        no_args_is_help=True,
    )
    group.command("check")(check)
    group.command("backup")(backup)
    group.command("list")(backups)
    group.command("restore")(restore)
    group.command("export")(export)
    group.command("import")(import_)
    app.add_typer(group, name="store")
