"""``drillbox gig``: the evenings that you practise for."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING, Annotated

import typer

from drillbox.cli.asking import agrees_to_delete
from drillbox.cli.completing import gig_titles, tune_tags
from drillbox.cli.context import asked, clock
from drillbox.cli.given import YES, read_coming_day
from drillbox.errors import BadInput, NotFound

if TYPE_CHECKING:
    from drillbox.store.access import Store
    from drillbox.store.values import GigRecord, TuneRecord

GIG = Annotated[
    str,
    typer.Argument(
        metavar="GIG",
        help="Its name, the beginning of it, or its number.",
        autocompletion=gig_titles,
    ),
]


def add(
    ctx: typer.Context,
    name: Annotated[str, typer.Argument(metavar="NAME", help="What you call it: 'Friday'.")],
    date_: Annotated[
        str,
        typer.Option(
            "--date",
            metavar="DATE",
            help="Its day: friday for the next one after today, or a date, YYYY-MM-DD.",
        ),
    ],
    tunes: Annotated[
        list[str] | None,
        typer.Option("--tunes", metavar="TUNES", help="Tunes by title or number, commas between."),
    ] = None,
    tag: Annotated[
        str | None,
        typer.Option(
            "--tag", metavar="TAG", help="All tunes that have this tag.", autocompletion=tune_tags
        ),
    ] = None,
) -> None:
    """Add a gig: its day, and its tunes in the order you play them."""
    options = asked(ctx)
    from drillbox.music.phrases import check_title
    from drillbox.screen.gig_outlook import gig_lines
    from drillbox.store.tune_rows import add_gig

    with options.opened() as (store, preferences):
        now = clock()
        day = read_coming_day(date_, preferences.today(now))
        title = check_title(name, "drillbox gig add Friday")
        found = named_tunes(store, tunes or [], tag)
        if not found:
            raise BadInput("A gig needs tunes", "Name them with --tunes, or by their --tag.")
        gig = add_gig(store, title, day, found, now)
        for line in gig_lines([gig], preferences.today(now), options.look):
            options.say(line)


def named_tunes(store: Store, texts: list[str], tag: str | None) -> list[TuneRecord]:
    """Return the tunes that are named, in the order in which they are, then those of a tag.

    Raises BadInput where one is named twice.
    """
    from drillbox.practice.tunes import tunes_tagged
    from drillbox.store.tune_rows import find_tune, list_tunes

    found: dict[int, TuneRecord] = {}
    for text in texts:
        for name in _names(store, text):
            record = find_tune(store, name)
            if record.id in found:
                raise BadInput(f"{record.title!r} is named twice", "Name each tune once.")
            found[record.id] = record
    for record in tunes_tagged(list_tunes(store), tag) if tag is not None else []:
        found.setdefault(record.id, record)
    return list(found.values())


def _names(store: Store, text: str) -> list[str]:
    """Return the names in a text between its commas; one of a tune may have commas itself."""
    from drillbox.store.tune_rows import name_tune

    parts, names = text.split(","), list[str]()
    while parts:
        for count in range(len(parts), 0, -1):
            name = ",".join(parts[:count]).strip()
            with suppress(NotFound):
                name_tune(store, name)
                break
        if name:
            names.append(name)
        parts = parts[count:]
    return names or [text]


def list_(ctx: typer.Context) -> None:
    """List your gigs, the coming ones first."""
    options = asked(ctx)
    from drillbox.screen.gig_outlook import gig_lines
    from drillbox.store.tune_rows import list_gigs

    with options.opened() as (store, preferences):
        for line in gig_lines(list_gigs(store), preferences.today(clock()), options.look):
            options.say(line)


def show(ctx: typer.Context, gig: GIG) -> None:
    """Show what will be ready by then, what won't, and what to leave alone."""
    options = asked(ctx)
    from drillbox.practice.gigs import gig_view
    from drillbox.screen.gig_outlook import gig_screen
    from drillbox.store.tune_rows import find_gig

    with options.opened() as (store, preferences):
        record = find_gig(store, gig)
        view = gig_view(store, preferences, record, preferences.today(clock()))
        options.show(gig_screen(view, options.look))


def edit(
    ctx: typer.Context,
    gig: GIG,
    name: Annotated[str | None, typer.Option(metavar="NAME", help="Another name.")] = None,
    date_: Annotated[
        str | None,
        typer.Option("--date", metavar="DATE", help="Another day: friday, or YYYY-MM-DD."),
    ] = None,
    tunes: Annotated[
        list[str] | None,
        typer.Option(
            "--tunes",
            metavar="TUNES",
            help="Its tunes from now on, in their order, commas between.",
        ),
    ] = None,
    adding: Annotated[
        list[str] | None,
        typer.Option("--add", metavar="TUNES", help="Tunes to add at the end."),
    ] = None,
    dropping: Annotated[
        list[str] | None,
        typer.Option("--drop", metavar="TUNES", help="Tunes to take out."),
    ] = None,
) -> None:
    """Change a gig's day, name or tunes; tempos change by 'drillbox tune edit'."""
    options = asked(ctx)
    if all(each is None for each in (name, date_, tunes, adding, dropping)):
        raise BadInput(
            "Nothing to change", "Say what, as in: --date saturday. See: drillbox gig edit --help"
        )
    from drillbox.music.phrases import check_title
    from drillbox.practice.changing import change_gig
    from drillbox.screen.gig_outlook import gig_lines
    from drillbox.store.tune_rows import find_gig

    with options.opened() as (store, preferences):
        now = clock()
        record, today = find_gig(store, gig), preferences.today(now)
        wanted = (
            record.title if name is None else check_title(name, "--name Friday"),
            record.day if date_ is None else read_coming_day(date_, today),
            tunes_of(store, record, tunes, adding, dropping),
        )
        if wanted == (record.title, record.day, record.tunes):
            options.say("It is like that already; nothing is changed.")
            return
        changed = change_gig(store, record, *wanted, now)
        for line in gig_lines([changed], today, options.look):
            options.say(line)
    options.say(f"{changed.title!r} is changed.")


def tunes_of(
    store: Store,
    gig: GigRecord,
    tunes: list[str] | None,
    adding: list[str] | None,
    dropping: list[str] | None,
) -> tuple[TuneRecord, ...]:
    """Return a gig's tunes, or those that are to take their place, without some and with more.

    Raises BadInput for what isn't among them, what is already, and where none is left.
    """
    if tunes is None and adding is None and dropping is None:
        return gig.tunes
    found = list(gig.tunes) if tunes is None else named_tunes(store, tunes, None)
    for each in named_tunes(store, dropping or [], None):
        if each not in found:
            raise BadInput(
                f"{each.title!r} isn't among the tunes of {gig.title!r}",
                "See them with: drillbox gig list",
            )
        found.remove(each)
    for each in named_tunes(store, adding or [], None):
        if each in found:
            raise BadInput(
                f"{each.title!r} is among the tunes of {gig.title!r} already",
                "Name each tune once.",
            )
        found.append(each)
    if not found:
        raise BadInput("A gig needs tunes", "Leave one, or delete it: drillbox gig delete")
    return tuple(found)


def delete(ctx: typer.Context, gig: GIG, yes: YES = False) -> None:
    """Delete a gig after a backup; its tunes stay."""
    options = asked(ctx)
    from drillbox.practice.deleting import delete_gig
    from drillbox.store.tune_rows import name_gig

    with options.opened() as (store, _):
        record = name_gig(store, gig)
        if not agrees_to_delete(options, record.title, yes):
            print("Nothing is deleted.")
            return
        delete_gig(store, record, clock())
    options.say(f"{record.title!r} is deleted.")


def register(app: typer.Typer) -> None:
    """Add the commands of this module to the application."""
    group = typer.Typer(
        help="Keep the gigs that you practise for.", rich_markup_mode=None, no_args_is_help=True
    )
    group.command("add")(add)
    group.command("list")(list_)
    group.command("show")(show)
    group.command("edit")(edit)
    group.command("delete")(delete)
    app.add_typer(group, name="gig")
