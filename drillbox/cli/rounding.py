"""``drillbox round``: a phrase through its keys without a stop."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Annotated

import typer

from drillbox.cli.context import Asked, asked, clock
from drillbox.cli.drilling import show_recap
from drillbox.cli.phrases import PHRASE

if TYPE_CHECKING:
    from drillbox.practice.rounds import Round

ORDER = Annotated[
    str | None,
    typer.Option("--order", metavar="NAME", help="The order of the keys, instead of their own."),
]


def play_round(
    ctx: typer.Context,
    phrase: PHRASE,
    order: ORDER = None,
    start: Annotated[
        str | None, typer.Option("--from", metavar="KEY", help="The key to begin in.")
    ] = None,
    whole: Annotated[
        bool, typer.Option("--all", help="All twelve keys, not only those that are open.")
    ] = False,
    tempo: Annotated[
        str | None, typer.Option(metavar="N", help="The tempo, instead of the slowest of its keys.")
    ] = None,
    loops: Annotated[
        int, typer.Option(metavar="N", min=1, max=16, help="Times through each key.")
    ] = 1,
) -> None:
    """Play one phrase through its keys without a stop, each leading into the next."""
    options = asked(ctx)
    from drillbox.practice.intake import check_tempo
    from drillbox.practice.ordering import round_cards
    from drillbox.practice.rounds import Round
    from drillbox.store.phrases import find_phrase

    speed = check_tempo(tempo) if tempo is not None else None
    with options.opened() as (store, preferences):
        record = find_phrase(store, phrase)
        cards = round_cards(store, preferences, record, order=order, start=start, whole=whole)
        session = Round(store, preferences, cards, tempo=speed, loops=loops, now=clock())
        if session.others_open:
            print("Another drill session is open on this store; both are kept.", file=sys.stderr)
        play(options, session)
        show_recap(options, session)


def play(options: Asked, session: Round) -> None:
    """Run the round to its end: on the whole screen, in words, or by the lines of a pipe."""
    if options.terminal.interactive and not options.look.plain:
        from drillbox.cli.round_screen import play_on_screen

        play_on_screen(options, session)
    elif options.terminal.interactive:
        from drillbox.cli.round_words import play_in_words

        play_in_words(options, session)
    else:
        from drillbox.cli.round_lines import play_by_lines

        play_by_lines(options, session)


def register(app: typer.Typer) -> None:
    """Add the commands of this module to the application."""
    app.command("round")(play_round)
