"""``drillbox round``: a phrase through its keys without a stop."""

from __future__ import annotations

from typing import Annotated

import typer

from drillbox.cli.context import asked, clock
from drillbox.cli.drilling import show_recap
from drillbox.cli.phrases import PHRASE
from drillbox.output import tell

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
    backing: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="Under the beat: off, bass or bass-and-chords."),
    ] = None,
) -> None:
    """Play one phrase through its keys without a stop, each leading into the next."""
    options = asked(ctx)
    from drillbox.player.in_round import InRound
    from drillbox.player.playing import play
    from drillbox.practice.intake import check_tempo
    from drillbox.practice.ordering import round_cards
    from drillbox.practice.rounds import Round
    from drillbox.store.phrases import find_phrase

    speed = check_tempo(tempo) if tempo is not None else None
    with options.opened() as (store, stored):
        preferences = stored.with_backing(backing)
        record = find_phrase(store, phrase)
        cards = round_cards(store, preferences, record, order=order, start=start, whole=whole)
        session = Round(store, preferences, cards, tempo=speed, loops=loops, now=clock())
        if session.others_open:
            tell("Another drill session is open on this store; both are kept.")
        timed = options.terminal.interactive
        play(InRound(session, clock, ascii=options.look.ascii, timed=timed), options)
        show_recap(options, session)


def register(app: typer.Typer) -> None:
    """Add the commands of this module to the application."""
    app.command("round")(play_round)
